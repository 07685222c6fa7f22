#include "daemon/core/notice.hpp"

#include <algorithm>
#include <iterator>

namespace setwell::core {
namespace {

struct KindWord {
  NoticeKind kind;
  std::string_view word;
};
constexpr KindWord kWords[] = {
    {NoticeKind::pot_life_ending, "pot-life-ending"},
    {NoticeKind::touch_test, "touch-test"},
    {NoticeKind::safe_to_recoat, "safe-to-recoat"},
    {NoticeKind::last_start, "last-start"},
    {NoticeKind::closed, "closed"},
    {NoticeKind::closed_not_sandable, "closed-not-sandable"},
    {NoticeKind::gap_begins, "gap-begins"},
    {NoticeKind::too_cold, "too-cold"},
    {NoticeKind::dew_margin_lost, "dew-margin-lost"},
    {NoticeKind::trouble_ahead, "trouble-ahead"},
    {NoticeKind::sandable, "sandable"},
    {NoticeKind::handling, "handling"},
    {NoticeKind::packing, "packing"},
    {NoticeKind::full_cure, "full-cure"},
    {NoticeKind::full_strength, "full-strength"},
    {NoticeKind::sensor_silent, "sensor-silent"},
    {NoticeKind::sensor_stuck, "sensor-stuck"},
    {NoticeKind::sensor_implausible, "sensor-implausible"},
    {NoticeKind::battery_low, "battery-low"},
    {NoticeKind::broker_away, "broker-away"},
    {NoticeKind::disk_filling, "disk-filling"},
    {NoticeKind::morning_list, "morning-list"},
    {NoticeKind::not_logged, "not-logged"},
};
static_assert(std::size(kWords) == kNoticeKinds.size());

constexpr std::string_view kPhases[] = {"idle", "holding", "told", "over", "withdrawn"};

}  // namespace

std::string_view word(NoticeKind kind) {
  const auto* found = std::find_if(std::begin(kWords), std::end(kWords),
                                   [&](const KindWord& each) { return each.kind == kind; });
  return found == std::end(kWords) ? "" : found->word;
}

std::optional<NoticeKind> notice_kind_from(std::string_view word) {
  const auto* found = std::find_if(std::begin(kWords), std::end(kWords),
                                   [&](const KindWord& each) { return each.word == word; });
  if (found == std::end(kWords)) return std::nullopt;
  return found->kind;
}

std::string_view word(NoticePhase phase) {
  return kPhases[static_cast<std::size_t>(phase)];
}

std::optional<NoticePhase> notice_phase_from(std::string_view word) {
  const auto* found = std::find(std::begin(kPhases), std::end(kPhases), word);
  if (found == std::end(kPhases)) return std::nullopt;
  return static_cast<NoticePhase>(found - std::begin(kPhases));
}

}  // namespace setwell::core
