#pragma once

#include "daemon/core/material.hpp"
#include "daemon/toml_text/fault.hpp"

namespace setwell::sheets {

/// Faults of the sheet as a whole: a rule that rests on something the sheet does not state.
void check_rules(const core::Material& material, toml_text::Report& report);

/// Warns of figures that contradict each other or that matter cannot well do. Datasheets do this; the figures
/// are taken as they stand all the same. Tables are compared at every temperature that both cover, between
/// rows along the straight line of ln t over 1/T.
void warn_of_contradictions(const core::Material& material, toml_text::Report& report);

}  // namespace setwell::sheets
