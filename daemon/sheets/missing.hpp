#pragma once

#include "daemon/core/material.hpp"
#include "daemon/toml_text/fault.hpp"

namespace setwell::sheets {

/// Warns of what a sheet of this family usually states and this one does not, so that whoever copies a
/// datasheet looks again. Says nothing while the sheet has faults.
void warn_of_missing(const core::Material& material, toml_text::Report& report);

}  // namespace setwell::sheets
