#include <algorithm>

#include <fmt/format.h>

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

}  // namespace

Answered<api::LoggedAnswer> defect(Workshop& workshop, const api::DefectParams& params, Instant now) {
  const auto piece = piece_ever(workshop, params.piece);
  if (!piece) return piece.error();
  auto seen = defect_seen(**piece, params);
  if (!seen) return seen.error();
  const auto at = time_said(workshop, params.at, now);
  if (!at) return at.error();
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
  return store(workshop, std::move(entries), now,
               {fmt::format("`setwell review {}` looks back over it.", (*piece)->id.text())});
}

}  // namespace setwell::service
