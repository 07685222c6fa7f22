#pragma once

#include <optional>

#include "daemon/core/air_history.hpp"

/// Full cure's temperature qualification: a film that hardens too cool stiffens before it has wholly reacted,
/// and the rest never comes however long one waits.
namespace setwell::core {

/// What is shown instead of a date.
inline constexpr const char* kNotReachedHere = "not reached at this temperature";

/// The mean air of the last 7 days, of one reading for each hour that has one; nothing with less than a day
/// of them. °C.
[[nodiscard]] std::optional<double> week_mean_c(const AirHistory& air, quantity::Instant now);

}  // namespace setwell::core
