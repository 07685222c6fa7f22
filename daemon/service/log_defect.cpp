#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/review_facts.hpp"
#include "daemon/core/review_words.hpp"
#include "daemon/service/logging.hpp"

/// What went wrong, as the maker sees it. It may show after a piece has left.
namespace setwell::service {

using core::Entry;
using quantity::Instant;
using quantity::invalid;
using quantity::Result;

namespace {

std::string sign_list() {
  std::string list;
  for (const auto sign : core::all_signs())
    list += (list.empty() ? "" : " ") + std::string(core::word(sign));
  return list;
}

Result<core::DefectSeen> defect_seen(const core::Piece& piece, const api::DefectParams& params) {
  core::DefectSeen seen{{}, params.coat, params.where, params.photo};
  for (const auto& word : params.signs) {
    if (!core::sign_from(word)) return invalid(fmt::format("“{}” is no sign; signs: {}", word, sign_list()));
    if (std::find(seen.signs.begin(), seen.signs.end(), word) == seen.signs.end()) seen.signs.push_back(word);
  }
  if (seen.signs.empty()) return invalid("what is seen? Signs: " + sign_list());
  if (piece.coats.empty())
    return quantity::refused(piece.id.text() + " has no coat yet that could have gone wrong");
  const int coats = static_cast<int>(piece.coats.size());
  if (params.coat && (*params.coat < 1 || *params.coat > coats))
    return quantity::not_found(
        fmt::format("{} has no coat {}; it has {}", piece.id.text(), *params.coat, coats));
  return seen;
}

/// Said at once, while it can still be put right: nothing is refused for it.
std::vector<std::string> remarks(const core::Piece& piece, const core::DefectSeen& seen) {
  std::vector<core::Sign> signs;
  for (const auto& word : seen.signs) {
    if (const auto sign = core::sign_from(word)) signs.push_back(*sign);
  }
  const auto index = static_cast<std::size_t>(seen.coat.value_or(static_cast<int>(piece.coats.size())) - 1);
  std::vector<std::string> said;
  if (auto odd = core::contradiction(signs, piece, piece.coats[index]); !odd.empty())
    said.push_back(std::move(odd));
  said.push_back(fmt::format("`setwell review {}` looks back over it.", piece.id.text()));
  return said;
}

}  // namespace

Answered<api::LoggedAnswer> defect(Workshop& workshop, const api::DefectParams& params, Instant now) {
  const auto piece = piece_ever(workshop, params.piece);
  if (!piece) return piece.error();
  auto seen = defect_seen(**piece, params);
  if (!seen) return seen.error();
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
  auto said = remarks(**piece, *seen);
  std::vector<Entry> entries;
  for (const auto& word : params.saw) {
    if (!core::noticed_from(word))
      return invalid(fmt::format(
          "“{}” is no observation; setwell-case(5) lists them, with not- before those looked for in vain",
          word));
    core::StepDone noted;
    noted.kind = word;
    noted.text = word;
    entries.push_back(entry_of((*piece)->id, now, *at, std::move(noted)));
  }
  entries.push_back(entry_of((*piece)->id, now, *at, std::move(*seen)));
  return store(workshop, std::move(entries), now, std::move(said));
}

}  // namespace setwell::service
