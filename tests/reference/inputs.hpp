#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/temperature_path.hpp"

/// Reading the inputs of reference vectors.
namespace setwell::reference {

[[nodiscard]] inline double number(const boost::json::value& value) {
  return value.to_number<double>();
}

[[nodiscard]] inline double number(const boost::json::object& inputs, std::string_view key) {
  return number(inputs.at(key));
}

/// Nothing for a missing key or null.
[[nodiscard]] inline std::optional<double> maybe(const boost::json::object& inputs, std::string_view key) {
  const boost::json::value* value = inputs.if_contains(key);
  if (value == nullptr || value->is_null()) return std::nullopt;
  return number(*value);
}

[[nodiscard]] inline boost::json::value or_null(const std::optional<double>& value) {
  return value ? boost::json::value(*value) : boost::json::value(nullptr);
}

/// `[[seconds, °C], …]`, each shifted by `offset_k`.
[[nodiscard]] inline std::vector<core::PathPoint> path_of(const boost::json::value& samples,
                                                          double offset_k = 0) {
  std::vector<core::PathPoint> path;
  for (const boost::json::value& sample : samples.as_array()) {
    const boost::json::array& pair = sample.as_array();
    path.push_back({number(pair.at(0)), number(pair.at(1)) + offset_k});
  }
  return path;
}

[[nodiscard]] inline core::EnergyRange energies_of(const boost::json::object& inputs) {
  return {number(inputs, "Ea_lo_kJ_mol"), number(inputs, "Ea_hi_kJ_mol")};
}

}  // namespace setwell::reference
