#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/core/material.hpp"
#include "daemon/sheets/tops.hpp"
#include "daemon/toml_text/fault.hpp"
#include "daemon/toml_text/reader.hpp"

namespace setwell::sheets {

using toml_text::describe;
using toml_text::Fault;

/// What became of one sheet's text.
struct SheetReading {
  std::optional<core::Material> material;  ///< only when there are no faults
  std::vector<Fault> faults;               ///< each keeps the sheet from being used
  std::vector<Fault> warnings;             ///< contradictory, odd or missing; taken as it stands all the same
};

/// Reads a material's sheet. All faults come in one run, in the order of the file; nothing is corrected or
/// guessed. `file_name` only names the file in the messages. Never throws on any text; pure.
///
/// A sheet holds `id name document edition date family`, `[reference] temperature humidity film pot_mass`,
/// `[mix]`, `[milestones]`, `[[recoat]]`, `[application]` and `[cure]` with `advised` and `limit` inside,
/// `[[loaded]]`, `[[caution]]`. Every figure carries its unit, and every table takes `where`: the place in
/// the datasheet. Times are one text (then at the reference temperature) or a list of `{at, time, where}`.
/// `known` are the sheets that lie beside it, so that a rule for a top that nobody knows is told.
[[nodiscard]] SheetReading read_sheet(std::string_view toml, std::string_view file_name,
                                      const KnownSheets& known = std::nullopt);

/// The id a sheet's text gives itself, whatever else is wrong with it; nothing where it has none.
[[nodiscard]] std::optional<std::string> sheet_id(std::string_view toml);

/// The same of a sheet that stands as a table in another file. Faults and warnings go to the table's report;
/// nothing when there were any faults in it.
[[nodiscard]] std::optional<core::Material> read_sheet_table(toml_text::Table& sheet);

}  // namespace setwell::sheets
