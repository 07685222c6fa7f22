#pragma once

#include <string_view>

#include <boost/json/object.hpp>
#include <boost/json/value.hpp>

/// Whether a computed answer matches an expected one: |got - want| <= abs + rel·|want| for every number, and
/// null, booleans and lengths alike.
namespace setwell::reference {

struct Tolerance {
  double absolute = 0;
  double relative = 0;
};

/// Expected values smaller than this are what is left of a zero in forty-digit arithmetic and count as 0.
inline constexpr double kResidueOfZero = 1e-30;

/// The tolerance of one top-level key of `expected`.
using ToleranceOf = Tolerance (*)(const boost::json::object& vector, std::string_view key);

/// `abs_tol` and `rel_tol` of the vector; where `abs_tol` names classes (moments, quantiles, ln_evidence) the
/// key's class decides.
[[nodiscard]] Tolerance stated_tolerance(const boost::json::object& vector, std::string_view key);

[[nodiscard]] bool matches(const boost::json::value& got, const boost::json::value& want,
                           Tolerance tolerance);

/// Whether `got` has every key of the vector's `expected`, each matching.
[[nodiscard]] bool all_match(const boost::json::object& got, const boost::json::object& vector,
                             ToleranceOf tolerance_of);

}  // namespace setwell::reference
