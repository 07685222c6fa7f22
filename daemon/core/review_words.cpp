#include "daemon/core/review_words.hpp"

#include <algorithm>
#include <array>

namespace setwell::core {
namespace {

template <typename Kind>
struct Term {
  Kind kind;
  std::string_view word;
  std::string_view meaning;
};

constexpr std::array kSigns = std::to_array<Term<Sign>>({
#include "daemon/core/data/signs.inc"
});
constexpr std::array kObserved = std::to_array<Term<Observed>>({
#include "daemon/core/data/observed.inc"
});
constexpr std::array kCauses = std::to_array<Term<Cause>>({
#include "daemon/core/data/cause_words.inc"
});

struct FindingTerm {
  Finding kind;
  std::string_view word;
  std::string_view question;
  std::string_view trial;
};
constexpr std::array kFindings = std::to_array<FindingTerm>({
#include "daemon/core/data/findings.inc"
});

/// Each table holds every enumerator once, in order, so that it can be indexed.
template <typename Table>
constexpr bool in_order(const Table& table) {
  for (std::size_t i = 0; i < table.size(); ++i) {
    if (static_cast<std::size_t>(table[i].kind) != i) return false;
  }
  return true;
}
static_assert(in_order(kSigns) && in_order(kObserved) && in_order(kCauses) && in_order(kFindings));
static_assert(kFindings.size() == kFindingCount);

template <typename Table, typename Kind>
constexpr const auto& term(const Table& table, Kind kind) {
  return table[static_cast<std::size_t>(kind)];
}

template <typename Kind, typename Table>
std::optional<Kind> kind_from(const Table& table, std::string_view word) {
  for (const auto& term : table) {
    if (term.word == word) return term.kind;
  }
  return std::nullopt;
}

template <typename Kind, std::size_t N>
constexpr std::array<Kind, N> kinds_of(const std::array<Term<Kind>, N>& table) {
  std::array<Kind, N> kinds{};
  for (std::size_t i = 0; i < N; ++i)
    kinds[i] = table[i].kind;
  return kinds;
}
constexpr auto kAllSigns = kinds_of(kSigns);
constexpr auto kAllObserved = kinds_of(kObserved);
constexpr auto kAllCauses = kinds_of(kCauses);

}  // namespace

std::string_view word(Sign sign) {
  return term(kSigns, sign).word;
}
std::string_view meaning(Sign sign) {
  return term(kSigns, sign).meaning;
}
std::optional<Sign> sign_from(std::string_view word) {
  return kind_from<Sign>(kSigns, word);
}
std::span<const Sign> all_signs() {
  return kAllSigns;
}

std::string_view word(Observed observed) {
  return term(kObserved, observed).word;
}
std::string_view meaning(Observed observed) {
  return term(kObserved, observed).meaning;
}
std::span<const Observed> all_observed() {
  return kAllObserved;
}
std::optional<Noticed> noticed_from(std::string_view word) {
  constexpr std::string_view kNot = "not-";
  const bool so = !word.starts_with(kNot);
  const auto what = kind_from<Observed>(kObserved, so ? word : word.substr(kNot.size()));
  if (!what) return std::nullopt;
  return Noticed{*what, so};
}

std::string_view word(Cause cause) {
  return term(kCauses, cause).word;
}
std::string_view meaning(Cause cause) {
  return term(kCauses, cause).meaning;
}
std::span<const Cause> all_causes() {
  return kAllCauses;
}
bool is_weather(Cause cause) {
  constexpr std::array kWeather{Cause::cold_cure, Cause::too_hot, Cause::blush,
                                Cause::moisture,  Cause::too_dry, Cause::outgassing};
  return std::find(kWeather.begin(), kWeather.end(), cause) != kWeather.end();
}

std::string_view word(Finding finding) {
  return term(kFindings, finding).word;
}
std::string_view question(Finding finding) {
  return term(kFindings, finding).question;
}
std::string_view trial(Finding finding) {
  return term(kFindings, finding).trial;
}

}  // namespace setwell::core
