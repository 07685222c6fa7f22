#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/core/material.hpp"
#include "daemon/toml_text/fault.hpp"

namespace setwell::sheets {

/// One table with the key it stands under and what it tells.
struct Named {
  std::string key;
  const std::optional<core::TimeTable>* table;
  std::string_view tells;
};

/// How strictly one moment must come before another.
enum class Order {
  surely,    ///< the whole span before: an opening and its closing
  possibly,  ///< some of the span before: stages of one cure
};

enum class End { low, high };

/// The stated time in hours at a temperature the table covers, between rows along the straight line of ln t
/// over 1/T; nothing outside it, or where it has no limit.
[[nodiscard]] std::optional<double> hours_at(const core::TimeTable& table, quantity::Celsius at, End end);

/// Warns of rows that matter cannot well do: times that rise with heat, fall too steeply, or are a slip of
/// the unit.
void check_table(const Named& named, toml_text::Report& report);

/// Warns once, at the coldest temperature where `first` does not come before `second`.
void expect_order(const Named& first, const Named& second, Order order, toml_text::Report& report);

}  // namespace setwell::sheets
