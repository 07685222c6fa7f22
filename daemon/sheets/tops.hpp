#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/material.hpp"
#include "daemon/toml_text/fault.hpp"

namespace setwell::sheets {

/// The ids of the sheets that lie beside one another; nothing where that is not known.
using KnownSheets = std::optional<std::vector<std::string>>;

/// Warns of recoat rules for a top that is no `self`, no `any`, no family and none of the known sheets: such
/// a rule would never count. Where the sheets are not known, only of what looks like a slip of a family's
/// word.
void warn_of_unknown_tops(const core::Material& material, const KnownSheets& known,
                          toml_text::Report& report);

}  // namespace setwell::sheets
