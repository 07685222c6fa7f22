#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "daemon/cases/account.hpp"
#include "daemon/core/review.hpp"

/// Accounts of coats that went wrong, and twins made of them.
namespace setwell::test_support {

struct AccountText {
  std::string name;
  std::string toml;
  std::filesystem::path folder;  ///< what it names is found from here
};
/// Every account of a folder, by name.
[[nodiscard]] std::vector<AccountText> accounts_in(const std::filesystem::path& folder);

/// Without the fact that decides it: lines that end in `# deciding` go, `# removed: ` lines come in.
[[nodiscard]] AccountText without_the_fact(const AccountText& account);
/// With that fact turned round; an account without `# reversed: ` lines gives the same text as
/// `without_the_fact`.
[[nodiscard]] AccountText turned_round(const AccountText& account);
[[nodiscard]] bool can_be_turned_round(const AccountText& account);
/// Other names, another year, other units; the same story.
[[nodiscard]] AccountText retold(const AccountText& account);

/// Ends the test with every fault when it cannot be read.
[[nodiscard]] cases::Account read(const AccountText& account);
/// The review of the coat it is about, by its own signs.
[[nodiscard]] core::Review reviewed(const cases::Account& account,
                                    std::span<const core::CauseRatio> ratios = core::cause_ratios());

}  // namespace setwell::test_support
