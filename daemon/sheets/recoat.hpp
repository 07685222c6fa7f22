#pragma once

#include <vector>

#include "daemon/core/material.hpp"
#include "daemon/toml_text/reader.hpp"

namespace setwell::sheets {

/// Reads all `[[recoat]]` rules of the sheet, in the order of the file. Each kind says which times it needs
/// and which have no place in it; both are faults.
[[nodiscard]] std::vector<core::RecoatRule> read_recoat(toml_text::Table& sheet, quantity::Celsius reference);

/// The most particular rule first: a sheet's id, `self`, a family, `any`.
void most_particular_first(std::vector<core::RecoatRule>& rules);

}  // namespace setwell::sheets
