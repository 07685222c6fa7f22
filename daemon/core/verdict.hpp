#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/core/fold.hpp"
#include "daemon/core/outlook.hpp"

/// From clocks and evidence to one word: the table of (rule, region, evidence).
namespace setwell::core {

/// What a coat is good for now, strongest first.
enum class Verdict { no_readings, do_not_coat, recoat, touch_test, sand_first, cured, wait };
/// `no-readings`, `do-not-coat`, …
[[nodiscard]] std::string_view word(Verdict verdict);

/// Where the clocks of one rule stand.
enum class Region {
  before_opening,   ///< even the chance of a touch test is too small
  worth_a_test,     ///< from test_from on; not surely open
  surely_open,      ///< slow opening reached, fast closing (or gap) not
  may_have_closed,  ///< while tacky, no closing stated: fast tack-free reached, slow not: a touch must tell
  closed_unsanded,  ///< fast closing reached; not surely sandable
  closed_sandable,  ///< fast closing reached; slow sandable reached
  in_gap,           ///< fast clock past gap-begins, slow not past gap-ends
  never,            ///< no rule of the sheet can open it (after full cure, not yet cured: before_opening)
};
[[nodiscard]] std::string_view word(Region region);

/// What the maker's hands add to the clocks, since the coat was made.
struct Evidence {
  /// When the coat was finished; windows that open at once open then.
  std::optional<quantity::Instant> coated;
  /// The latest touch that says something under this rule, if any. One that would open, felt before a test
  /// was worth while or during flash-off, says nothing; of a witness only "not yet" is heard.
  std::optional<Touch> touch;
  std::optional<quantity::Instant> touched;
  /// That touch was felt less than a tenth of the coat's age ago (at least 5 min): testing again tells
  /// little.
  bool tested_lately = false;
  /// That touch said "not yet" though the sure opening had come: no recoat until a touch says otherwise.
  bool held_back = false;
  /// From here the closing (or the gap) counts as reached: `firm` under a while-tacky rule, or one felt
  /// earlier than such a piece should be firm.
  std::optional<quantity::Instant> closed_by_touch;
  bool washed = false;           ///< after the coat (and before sanding, for epoxy)
  bool sanded = false;           ///< after the slow sandable clock and not longer ago than sanded_lasts
  bool sanded_unwashed = false;  ///< sanded, but an amine epoxy was not washed first
  bool sanded_early = false;  ///< the newest sanding came before the slow sandable clock and does not count
  std::optional<quantity::Instant> sanded_at;     ///< of the sanding that counts
  std::optional<quantity::Instant> sanded_until;  ///< until when it keeps the coat open
  bool silent = false;  ///< a clock that decides the next act has nothing trusted to run on
  /// A limit of the sheet was passed while this coat was put on or cured: its times are not vouched for any
  /// more, so no verdict is ever `recoat` again.
  bool outside_limit = false;
  bool air_unfit = false;      ///< the present air breaks a limit of what goes on next: not `recoat` now
  bool schedule_done = false;  ///< no coat left in the schedule
  bool cured = false;          ///< slow full cure reached
  friend bool operator==(const Evidence&, const Evidence&) = default;
};

/// One window of a rule, in time order where a rule has two. Words for `otherwise`: sand-first, wait,
/// do-not-coat.
struct Window {
  std::string top;  ///< the sheet id this is about, or `any`
  std::optional<quantity::Instant> test_from;
  std::optional<quantity::Instant> from;
  std::optional<quantity::Instant> until;
  bool sure = true;       ///< false when the closing comes before the sure opening
  bool by_touch = false;  ///< opened by the maker's touch, before the sure time
  std::string otherwise = "sand-first";
  friend bool operator==(const Window&, const Window&) = default;
};

struct Judgement {
  Verdict verdict = Verdict::wait;
  Region region = Region::before_opening;
  std::vector<Window> windows;  ///< those of the rule asked about
  /// One line: the next act in the trade's words, without times (`recoat`, `wash, sand, wipe, recoat`, …).
  std::string next;
  /// Why it is not simply open: `closed and not yet sandable`, `no sure window: …`; empty when plain.
  std::string remark;
  friend bool operator==(const Judgement&, const Judgement&) = default;
};

/// The table itself. Pure; every (kind, region, evidence) has exactly one answer.
[[nodiscard]] Verdict verdict_for(RuleKind kind, Region region, const Evidence& evidence, bool touch_opens);

/// Where a rule's clocks stand at `outlook.now`. `rule` is the index into material.recoat; with any other
/// number the sheet states no rule, and the answer is `never`.
[[nodiscard]] Region region_of(const Material& material, int rule, const Outlook& outlook);
/// The same, with a closing by touch taken into account.
[[nodiscard]] Region region_of(const Material& material, int rule, const Outlook& outlook,
                               const Evidence& evidence);

/// The evidence a piece's record holds for one coat (the newest, as a rule) under one rule. `witness` holds
/// the touches on the batch's witness; `sanded_lasts` is the workshop's setting (24 h unless set). Entries
/// after `outlook.now` or after the next coat are not looked at. `schedule_done` is left false: the caller
/// knows it.
[[nodiscard]] Evidence evidence_of(const Material& material, int rule, const Piece& piece, const Coat& coat,
                                   const std::vector<Event<TouchTested>>& witness, const Outlook& outlook,
                                   quantity::Hours sanded_lasts);

/// All of it for one coat and the material that is to go on top. `top` is shown in the windows. With
/// `schedule_done`, the clock that decides is full cure.
[[nodiscard]] Judgement judge(const Material& material, int rule, const std::string& top,
                              const Evidence& evidence, const Outlook& outlook);

}  // namespace setwell::core
