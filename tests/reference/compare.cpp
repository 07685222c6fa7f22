#include "tests/reference/compare.hpp"

#include <cmath>

#include <boost/json/array.hpp>

namespace setwell::reference {
namespace json = boost::json;

namespace {

std::string_view class_of(std::string_view key) {
  if (key == "ln_evidence") return key;
  return key.starts_with("post_") ? "moments" : "quantiles";
}

bool numbers_match(double got, double want, Tolerance tolerance) {
  if (std::fabs(want) < kResidueOfZero) want = 0.0;
  return std::fabs(got - want) <= tolerance.absolute + tolerance.relative * std::fabs(want);
}

bool arrays_match(const json::array& got, const json::array& want, Tolerance tolerance) {
  if (got.size() != want.size()) return false;
  for (std::size_t i = 0; i < want.size(); ++i) {
    if (!matches(got[i], want[i], tolerance)) return false;
  }
  return true;
}

}  // namespace

Tolerance stated_tolerance(const json::object& vector, std::string_view key) {
  Tolerance tolerance;
  if (const json::value* relative = vector.if_contains("rel_tol")) {
    tolerance.relative = relative->to_number<double>();
  }
  const json::value* absolute = vector.if_contains("abs_tol");
  if (absolute != nullptr && absolute->is_object())
    absolute = absolute->as_object().if_contains(class_of(key));
  if (absolute != nullptr) tolerance.absolute = absolute->to_number<double>();
  return tolerance;
}

bool matches(const json::value& got, const json::value& want, Tolerance tolerance) {
  if (want.is_array()) return got.is_array() && arrays_match(got.as_array(), want.as_array(), tolerance);
  if (!want.is_number()) return got == want;
  return got.is_number() && numbers_match(got.to_number<double>(), want.to_number<double>(), tolerance);
}

bool all_match(const json::object& got, const json::object& vector, ToleranceOf tolerance_of) {
  const json::object& expected = vector.at("expected").as_object();
  for (const auto& member : expected) {
    const json::value* mine = got.if_contains(member.key());
    if (mine == nullptr) return false;
    if (!matches(*mine, member.value(), tolerance_of(vector, member.key()))) return false;
  }
  return !expected.empty();
}

}  // namespace setwell::reference
