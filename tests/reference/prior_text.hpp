#pragma once

#include <string>
#include <string_view>

#include "tests/reference/table_score.hpp"

namespace setwell::reference {

/// What tells one set of tables from another: FNV-1a, 64 bits, of the file's text, as hexadecimal digits.
[[nodiscard]] std::string fingerprint_of(std::string_view tables_text);

/// The text of daemon/core/data/priors.inc: the fit, each line with what it rests on and how it did on
/// sheets that were left out.
[[nodiscard]] std::string priors_text(const FittedPriors& fitted, const TableScore& score,
                                      std::string_view fingerprint);

}  // namespace setwell::reference
