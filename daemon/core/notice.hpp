#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/show.hpp"
#include "daemon/core/waking.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"

/// What is told to the maker, when, and in which words. Pure: a function of stored state, facts and now.
///
/// A *fact* is the present truth about one subject and kind ("coat 41: safe to recoat, since 06:10"). For
/// each pair of subject and kind there is one stored *state*: idle → holding → told → over, or withdrawn when
/// the past changed so that what was told was not true. What was never told goes back to idle. A generation
/// counts how often the pair was told; it is part of the idempotency id.
namespace setwell::core {

enum class NoticeKind {
  pot_life_ending,      ///< at 70 % of the fast clock; only `instant` routes, dropped when late
  touch_test,           ///< worth a touch test
  safe_to_recoat,       ///< the sure window is open
  last_start,           ///< last start in 30 minutes
  closed,               ///< closed: wash, sand, wipe, recoat
  closed_not_sandable,  ///< closed and not yet sandable
  gap_begins,           ///< do not coat until …
  too_cold,             ///< under the floor before tack-free
  dew_margin_lost,      ///< before tack-free
  trouble_ahead,        ///< the forecast threatens one of these two
  sandable,
  handling,
  packing,
  full_cure,
  full_strength,
  sensor_silent,
  sensor_stuck,
  sensor_implausible,  ///< it sends, and nothing it says is believed
  battery_low,
  broker_away,
  disk_filling,
  morning_list,  ///< one message at waking: each piece, act, from–until
  not_logged,    ///< a window passed and nothing was entered: one question at day's end
};
inline constexpr std::array kNoticeKinds{
    NoticeKind::pot_life_ending, NoticeKind::touch_test,   NoticeKind::safe_to_recoat,
    NoticeKind::last_start,      NoticeKind::closed,       NoticeKind::closed_not_sandable,
    NoticeKind::gap_begins,      NoticeKind::too_cold,     NoticeKind::dew_margin_lost,
    NoticeKind::trouble_ahead,   NoticeKind::sandable,     NoticeKind::handling,
    NoticeKind::packing,         NoticeKind::full_cure,    NoticeKind::full_strength,
    NoticeKind::sensor_silent,   NoticeKind::sensor_stuck, NoticeKind::sensor_implausible,
    NoticeKind::battery_low,     NoticeKind::broker_away,  NoticeKind::disk_filling,
    NoticeKind::morning_list,    NoticeKind::not_logged};
/// `pot-life-ending`, `safe-to-recoat`, … as in settings, topics and `--json`.
[[nodiscard]] std::string_view word(NoticeKind kind);
[[nodiscard]] std::optional<NoticeKind> notice_kind_from(std::string_view word);

/// What threatens a coat that is not tack-free.
enum class Threat { none, cold, damp };

/// One line of the morning list: pieces alike, what they are for, and when.
struct ListedAct {
  std::vector<quantity::PieceId> pieces;
  std::string act;  ///< in the trade's words, without times
  std::optional<quantity::Instant> from;
  std::optional<quantity::Instant> until;
  friend bool operator==(const ListedAct&, const ListedAct&) = default;
};

/// What a text of any kind may need; each kind uses what is its own.
struct NoticeContent {
  std::vector<quantity::PieceId> pieces;  ///< one per fact; several after grouping
  std::vector<int> coats;                 ///< the coat number of each piece
  std::string sheet_name;                 ///< of the coat (or batch)
  std::string top_name;                   ///< what goes on next
  std::string zone;
  std::string batch;
  std::string channel;
  std::optional<quantity::Instant> from;
  std::optional<quantity::Instant> until;
  std::optional<quantity::Instant> usable_from;  ///< the part in waking hours
  std::optional<quantity::Instant> usable_until;
  std::optional<quantity::Instant> mix_by;  ///< start mixing by: until minus stirring and the maker's minutes
  std::optional<quantity::Instant> sand_from;
  std::optional<quantity::Celsius>
      coldest;  ///< of the zone while the coat lay there, with its time: why it moved
  std::optional<quantity::Instant> coldest_at;
  std::optional<double>
      value;  ///< °C for too_cold, K for dew_margin_lost, % for disk_filling; as told for battery_low
  std::optional<double> limit;
  std::optional<double> chance;               ///< of trouble_ahead, 0 to 1
  Threat threat = Threat::none;               ///< of trouble_ahead
  std::vector<ListedAct> list;                ///< of the morning list and of the question what was not logged
  std::optional<quantity::Span> rotator_for;  ///< on a rotator: how long the next coat needs it at least
  /// Which limits the present air breaks for the next coat, in words; empty when none.
  std::string unfit_air;
  bool washes = false;  ///< amine epoxy: wash before sanding
  bool sprayed_isocyanate = false;
  bool flammable = false;  ///< solvent-borne or aerosol: the flame caution belongs to the act
  bool by_touch = false;
  bool sure = true;
  bool too_late = false;     ///< sandable: its recoat window has closed, sanding opens it again
  bool asleep = false;       ///< the whole window lies outside waking hours
  bool without_end = false;  ///< the window, or what was reached, has no end
  friend bool operator==(const NoticeContent&, const NoticeContent&) = default;
};

/// How a fact stands now.
enum class Standing {
  holds,
  wavers,   ///< between the limit to begin at and the one to end at: what was told stays told, nothing begins
  over,     ///< it was so, or never will be, and nothing that was told is untrue (a window closed, a coat was
            ///< covered)
  not_yet,  ///< not reached by the record; if it was told, the past changed and the telling is taken back
};

/// The present truth about one subject and kind. A fact left out counts as `over`.
struct NoticeFact {
  std::string subject;  ///< `coat/41`, `batch/b-0304-1`, `channel/…`, `broker`, `disk`
  NoticeKind kind = NoticeKind::safe_to_recoat;
  Standing standing = Standing::over;
  quantity::Instant since;                         ///< when it became true by the record
  std::optional<quantity::Instant> due;            ///< when it is expected to become true, while `not_yet`
  std::optional<quantity::Instant> useless_after;  ///< telling later helps nobody
  NoticeContent content;
  friend bool operator==(const NoticeFact&, const NoticeFact&) = default;
};

enum class NoticePhase { idle, holding, told, over, withdrawn };
[[nodiscard]] std::string_view word(NoticePhase phase);
[[nodiscard]] std::optional<NoticePhase> notice_phase_from(std::string_view word);

/// What is stored per subject and kind.
struct NoticeState {
  std::string subject;
  NoticeKind kind = NoticeKind::safe_to_recoat;
  NoticePhase phase = NoticePhase::idle;
  quantity::Instant since;  ///< of the present phase's fact
  std::optional<quantity::Instant> last_told;
  std::int64_t generation = 0;
  friend bool operator==(const NoticeState&, const NoticeState&) = default;
};

/// How telling is governed.
struct NoticePolicy {
  quantity::TimeZone zone;
  WakingHours waking;
  QuietHours quiet;
  std::set<NoticeKind> cannot_wait{NoticeKind::pot_life_ending, NoticeKind::too_cold,
                                   NoticeKind::dew_margin_lost, NoticeKind::sensor_silent,
                                   NoticeKind::sensor_implausible};
  quantity::Span least_interval{std::chrono::minutes(30)};  ///< per subject and kind
};

/// One message to be sent: the first telling, or the taking back of one.
struct Telling {
  NoticeFact fact;  ///< of several grouped facts: the first one's subject, all their pieces
  bool withdrawal = false;
  std::vector<std::string> subjects;  ///< every subject it speaks of
  std::int64_t generation = 0;
  bool held_by_quiet = false;  ///< it became true in quiet hours and waited for their end
  /// The tellings that waited through the night and are told as lines of this one, the morning list.
  std::vector<Telling> with;
  friend bool operator==(const Telling&, const Telling&) = default;
};

struct NoticeRound {
  std::vector<NoticeState> changed;           ///< states to store
  std::vector<Telling> tell;                  ///< in the order to send, alike ones grouped
  std::optional<quantity::Instant> next_due;  ///< when to ask again though nothing changes
  friend bool operator==(const NoticeRound&, const NoticeRound&) = default;
};

/// One round: all facts against all stored states. Deterministic
/// and idempotent: with the returned states stored and the same facts, a second round tells nothing. At most
/// one state and one fact per subject and kind, in any order. Taking back waits for the end of quiet hours as
/// telling does. Alike tellings (same kind, words and zone, times within 10 min) become one, with the part of
/// their windows that all pieces share; pot life is never grouped, questions what was not logged always are.
/// What waited for the end of quiet hours is told as part of the morning list where that is due at the same
/// time.
[[nodiscard]] NoticeRound decide_notices(std::span<const NoticeState> states,
                                         std::span<const NoticeFact> facts, quantity::Instant now,
                                         const NoticePolicy& policy);

/// As a maker reads it on a phone.
struct NoticeText {
  std::string title;  ///< one line, at most 160 characters: piece, act, from–until
  std::string body;   ///< the rest: mix by, why it moved, what if missed, cautions
  friend bool operator==(const NoticeText&, const NoticeText&) = default;
};
[[nodiscard]] NoticeText notice_text(const Telling& telling, quantity::Instant now, const Display& display);

}  // namespace setwell::core
