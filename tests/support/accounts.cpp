#include "tests/support/accounts.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <regex>
#include <set>
#include <sstream>

#include <fmt/format.h>

#include "daemon/core/review_mates.hpp"

namespace setwell::test_support {
namespace {

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

AccountText turned(const AccountText& account, const std::string& marker) {
  AccountText twin = account;
  twin.toml.clear();
  std::istringstream lines(account.toml);
  const std::string comment = "# " + marker + ": ";
  for (std::string line; std::getline(lines, line);) {
    if (line.ends_with("# deciding")) continue;
    if (line.starts_with(comment)) line.erase(0, comment.size());
    twin.toml += line + "\n";
  }
  return twin;
}

/// Every match of `what` replaced by what `with` makes of it.
template <typename With>
std::string replaced(const std::string& text, const std::regex& what, With with) {
  std::string out;
  auto end = text.cbegin();
  for (std::sregex_iterator match(text.begin(), text.end(), what), last; match != last; ++match) {
    out.append(end, text.cbegin() + match->position());
    out += with(*match);
    end = text.cbegin() + match->position() + match->length();
  }
  return out.append(end, text.cend());
}

std::string quoted(double value, const char* unit) {
  return fmt::format("\"{:.6g} {}\"", value, unit);
}

}  // namespace

std::vector<AccountText> accounts_in(const std::filesystem::path& folder) {
  std::vector<AccountText> all;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".toml")
      all.push_back({entry.path().stem().string(), text_of(entry.path()), folder});
  }
  std::sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.name < b.name; });
  return all;
}

AccountText without_the_fact(const AccountText& account) {
  return turned(account, "removed");
}
AccountText turned_round(const AccountText& account) {
  return turned(account, "reversed");
}
bool can_be_turned_round(const AccountText& account) {
  return account.toml.find("# reversed: ") != std::string::npos;
}

AccountText retold(const AccountText& account) {
  AccountText twin = account;
  auto& text = twin.toml;
  const auto number = [](const std::smatch& match) { return std::stod(match[1]); };
  text = replaced(text, std::regex(R"("(-?[\d.]+) C")"),
                  [&](const auto& m) { return quoted(number(m) * 1.8 + 32, "F"); });
  text = replaced(text, std::regex(R"("(-?[\d.]+) h")"),
                  [&](const auto& m) { return quoted(number(m) * 60, "min"); });
  text = replaced(text, std::regex(R"("([\d.]+) mm")"),
                  [&](const auto& m) { return quoted(number(m) * 1000, "um"); });
  text = replaced(text, std::regex(R"("([\d.]+) g")"),
                  [&](const auto& m) { return quoted(number(m) / 1000, "kg"); });
  text = replaced(text, std::regex("2031-"), [](const auto&) { return "2044-"; });
  std::set<std::string> names;
  const std::regex id(R"re((?:^|\n)(?:id|zone) = "([^"]+)")re");
  for (std::sregex_iterator match(text.begin(), text.end(), id), last; match != last; ++match)
    names.insert((*match)[1]);
  for (const auto& name : names)
    text =
        replaced(text, std::regex("\"" + name + "\""), [&](const auto&) { return "\"other-" + name + "\""; });
  return twin;
}

cases::Account read(const AccountText& account) {
  const auto files = [&](const std::string& name) -> quantity::Result<std::string> {
    auto text = text_of(account.folder / name);
    if (text.empty()) return quantity::not_found("there is no file " + name);
    return text;
  };
  auto reading = cases::read_account(account.toml, account.name, files);
  std::string faults;
  for (const auto& fault : reading.faults)
    faults += toml_text::describe(fault) + "\n";
  if (!reading.account) throw std::runtime_error(faults);
  return std::move(*reading.account);
}

core::Review reviewed(const cases::Account& account, std::span<const core::CauseRatio> ratios) {
  const auto subject = core::subject_of(*account.subject(), account.coat);
  if (!subject) throw std::runtime_error(subject.error().detail);
  const auto& piece = *subject->piece;
  return core::review(account.file, *subject, core::signs_on(piece, piece.coats[subject->coat]), ratios);
}

}  // namespace setwell::test_support
