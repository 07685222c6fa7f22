#pragma once

#include "daemon/core/material.hpp"
#include "daemon/toml_text/reader.hpp"

namespace setwell::sheets {

/// Reads `advised`, `limit`, `lasts` and `where` of `[application]` or `[cure]`; the caller reads the rest of
/// the table and closes it. A range is `"18-25 C"`, `"at least 18 C"` or `"at most 70 %"`.
[[nodiscard]] core::PhaseConditions read_phase(toml_text::Table& table);

}  // namespace setwell::sheets
