#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/review_case.hpp"
#include "daemon/core/review_words.hpp"
#include "daemon/toml_text/fault.hpp"
#include "sensors/quantity/error.hpp"

/// An account of a coat that went wrong, written down in one TOML file, as the core reviews it.
namespace setwell::cases {

/// The text of a file that an account names (a recorded room, a sheet), the name as written there.
using FileText = std::function<quantity::Result<std::string>(const std::string& name)>;

/// What is known to be true of an account, for trying the review out.
struct Expectation {
  std::vector<core::Cause> causes;     ///< any of these first
  std::optional<bool> settled;         ///< nothing: either will do
  std::optional<std::string> weather;  ///< cleared, suspect, unknown
};

struct Account {
  core::CaseFile file;
  quantity::PieceId piece;
  std::optional<int> coat;
  std::optional<Expectation> expected;
  /// Null when the piece asked for is not in the account; the reader has said so then.
  [[nodiscard]] const core::Piece* subject() const;
};

struct AccountReading {
  std::optional<Account> account;  ///< only without faults
  std::vector<toml_text::Fault> faults;
};

/// Reads an account; its form is described in setwell-case(5). All faults come in one run, each with line,
/// key and what would be right. Never throws on any text; pure but for `files`.
[[nodiscard]] AccountReading read_account(std::string_view toml, std::string_view file_name,
                                          const FileText& files);

}  // namespace setwell::cases
