#pragma once

#include "daemon/core/fold.hpp"
#include "daemon/core/outlook.hpp"

#include <optional>
#include <string>
#include <vector>

/// From clocks and evidence to one word: the table of (rule, region, evidence).
namespace setwell::core {

/// What a coat is good for now, strongest first.
enum class Verdict { no_readings, do_not_coat, recoat, touch_test, sand_first, cured, wait };
/// `no-readings`, `do-not-coat`, …
[[nodiscard]] std::string_view word(Verdict verdict);

/// Where the clocks of one rule stand. `unsure_*` means the slow and the fast clock disagree.
enum class Region {
  before_opening,   ///< even the chance of a touch test is too small
  worth_a_test,     ///< from test_from on; not surely open
  surely_open,      ///< slow opening reached, fast closing (or gap) not
  closed_unsanded,  ///< fast closing reached; not surely sandable
  closed_sandable,  ///< fast closing reached; slow sandable reached
  in_gap,           ///< fast clock past gap-begins, slow not past gap-ends
  never,            ///< the rule cannot open any more (after full cure and not yet cured counts as before_opening)
};
[[nodiscard]] std::string_view word(Region region);

/// What the maker's hands add to the clocks, since the coat was made.
struct Evidence {
  /// The latest touch that says something under this rule, if any.
  std::optional<Touch> touch;
  std::optional<quantity::Instant> touched;
  bool washed = false;            ///< after the coat (and before sanding, for epoxy)
  bool sanded = false;            ///< after the slow sandable clock and not longer ago than sanded_lasts
  bool sanded_unwashed = false;   ///< sanded, but an amine epoxy was not washed first
  bool silent = false;            ///< a clock that decides the next act has nothing trusted to run on
  bool outside_limit = false;     ///< keeps any verdict from being `recoat`
  bool schedule_done = false;     ///< no coat left in the schedule
  bool cured = false;             ///< slow full cure reached
  friend bool operator==(const Evidence&, const Evidence&) = default;
};

/// One window of a rule, in time order where a rule has two. Words for `otherwise`: sand-first, wait,
/// do-not-coat.
struct Window {
  std::string top;  ///< the sheet id this is about, or `any`
  std::optional<quantity::Instant> test_from;
  std::optional<quantity::Instant> from;
  std::optional<quantity::Instant> until;
  bool sure = true;  ///< false when the closing comes before the sure opening
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

/// Where a rule's clocks stand at `outlook.now`. `rule` is the index into material.recoat.
[[nodiscard]] Region region_of(const Material& material, int rule, const Outlook& outlook);

/// The evidence a piece's record holds for its newest coat under one rule. `sanded_lasts` is the workshop's
/// setting (24 h unless set).
[[nodiscard]] Evidence evidence_of(const Material& material, int rule, const Piece& piece, const Coat& coat,
                                   const std::vector<Event<TouchTested>>& witness, const Outlook& outlook,
                                   quantity::Hours sanded_lasts);

/// All of it for one coat and the material that is to go on top. `top` is shown in the windows.
[[nodiscard]] Judgement judge(const Material& material, int rule, const std::string& top, const Evidence& evidence,
                              const Outlook& outlook);

}  // namespace setwell::core
