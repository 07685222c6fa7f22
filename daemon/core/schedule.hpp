#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/core/entry.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/measure.hpp"

/// The finishing schedule of a piece: the coats and steps it is to get, in order.
namespace setwell::core {

struct PlannedCoat {
  quantity::SheetId sheet;
  int passes = 1;
  Load load = Load::none;
  std::optional<quantity::Micrometres> film;
  std::string note;
  friend bool operator==(const PlannedCoat&, const PlannedCoat&) = default;
};

struct PlannedStep {
  Step step = Step::noted;
  std::optional<std::string> with;         ///< water, alcohol
  std::optional<std::string> kind;         ///< vinyl, water-slide
  std::optional<quantity::SheetId> sheet;  ///< a step with a clock of its own
  std::string note;
  friend bool operator==(const PlannedStep&, const PlannedStep&) = default;
};

using ScheduleItem = std::variant<PlannedCoat, PlannedStep>;

struct Schedule {
  quantity::ScheduleId id;
  std::string name;
  std::vector<ScheduleItem> items;  ///< at least one, in the order of the work
  friend bool operator==(const Schedule&, const Schedule&) = default;
};

}  // namespace setwell::core
