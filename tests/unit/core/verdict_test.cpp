#include "daemon/core/verdict.hpp"

#include <array>

#include <catch2/catch.hpp>

using namespace setwell::core;
using namespace setwell::quantity;
using namespace std::chrono_literals;

// One coat under one rule, its clocks set by hand: hours after the coat.

namespace {

constexpr std::array kTouches{Touch::wet,  Touch::strings, Touch::tacky,  Touch::firm,
                              Touch::hard, Touch::gums,    Touch::powders};

const Instant kCoated = *parse_rfc3339("2031-03-04T08:00:00Z");
Instant after(double hours) {
  return kCoated + std::chrono::round<Span>(Hours(hours));
}

TimeTable some_table() {
  return {{Row{Celsius(20), {}, "table 1"}}};
}

/// Builds the outlook of a coat whose clocks reach their milestones at set hours.
class Bench {
 public:
  explicit Bench(RuleKind kind) {
    material_.family = Family::alkyd;
    RecoatRule rule;
    rule.kind = kind;
    material_.recoat.push_back(rule);
    coat_.happened = kCoated;
    coat_.number = 1;
    piece_.coats.push_back(coat_);
  }

  Bench& opens(double fast, double test_from, double slow) {
    rule().opens = some_table();
    return set(Milestone::recoat_opens, 0, fast, slow, test_from);
  }
  Bench& closes(double fast, double slow) {
    rule().closes = some_table();
    return set(Milestone::recoat_closes, 0, fast, slow, {});
  }
  Bench& gap(double begins_fast, double ends_slow) {
    rule().gap_begins = some_table();
    rule().gap_ends = some_table();
    set(Milestone::gap_begins, 0, begins_fast, begins_fast * 2, {});
    return set(Milestone::gap_ends, 0, ends_slow / 2, ends_slow, {});
  }
  Bench& sandable(double slow) {
    material_.sandable = some_table();
    return set(Milestone::sandable, -1, slow / 2, slow, {});
  }
  Bench& tack_free(double fast, double slow, double test_from) {
    material_.tack_free = some_table();
    return set(Milestone::tack_free, -1, fast, slow, test_from);
  }
  Bench& full_cure(double slow) {
    material_.full_cure = some_table();
    return set(Milestone::full_cure, -1, slow / 2, slow, {});
  }
  Bench& flash_off(double slow) {
    material_.flash_off = some_table();
    return set(Milestone::flash_off_over, -1, slow / 2, slow, {});
  }
  Bench& of(Family family) { return material_.family = family, *this; }
  Bench& without_touch() { return rule().touch_opens = false, *this; }
  Bench& touch(Touch word, double hours, Span error = Span{0}) {
    piece_.touches.push_back({EntryId(1), after(hours), error, TouchTested{word, {}}});
    return *this;
  }
  Bench& witness(Touch word, double hours) {
    witness_.push_back({EntryId(1), after(hours), Span{0}, TouchTested{word, {}}});
    return *this;
  }
  Bench& step(Step what, double hours) {
    StepDone done;
    done.step = what;
    piece_.steps.push_back({EntryId(1), after(hours), Span{0}, done});
    return *this;
  }
  Bench& silent(double hours) { return silent_since_ = after(hours), *this; }
  Bench& outside_limit() { return outside_ = true, *this; }
  Bench& unfit_air() { return unfit_ = true, *this; }
  Bench& schedule_done() { return schedule_done_ = true, *this; }

  [[nodiscard]] Judgement at(double hours, int rule = 0) const {
    const Outlook outlook = outlook_at(hours);
    Evidence evidence = evidence_of(material_, rule, piece_, coat_, witness_, outlook, 24h);
    evidence.schedule_done = schedule_done_;
    evidence.air_unfit = unfit_;
    return judge(material_, rule, "clear-b", evidence, outlook);
  }
  [[nodiscard]] Verdict verdict(double hours) const { return at(hours).verdict; }

 private:
  struct Hand {
    Milestone milestone;
    int rule;
    double fast;
    double slow;
    std::optional<double> test_from;
  };

  RecoatRule& rule() { return material_.recoat.front(); }
  Bench& set(Milestone milestone, int rule, double fast, double slow, std::optional<double> test_from) {
    hands_.push_back({milestone, rule, fast, slow, test_from});
    return *this;
  }

  [[nodiscard]] Outlook outlook_at(double hours) const {
    Outlook outlook;
    outlook.now = after(hours);
    if (silent_since_ && *silent_since_ < outlook.now) outlook.silent_since = silent_since_;
    if (outside_) outlook.outside.push_back({"air below the limit", 4, 8, "degC", kCoated, true, {}, false});
    for (const Hand& hand : hands_) {
      ClockReading clock;
      clock.milestone = hand.milestone;
      clock.rule = hand.rule;
      clock.at = {after(hand.slow), after((hand.fast + hand.slow) / 2), after(hand.fast)};
      clock.reached = {hours >= hand.slow, hours >= (hand.fast + hand.slow) / 2, hours >= hand.fast};
      if (hand.test_from) clock.likely_at = clock.expected_at_upper = after(*hand.test_from);
      outlook.clocks.push_back(clock);
    }
    return outlook;
  }

  Material material_;
  Piece piece_;
  Coat coat_;
  std::vector<Event<TouchTested>> witness_;
  std::vector<Hand> hands_;
  std::optional<Instant> silent_since_;
  bool outside_ = false;
  bool unfit_ = false;
  bool schedule_done_ = false;
};

/// Opens surely after 10 h, worth a test from 7 h, closes at 30 h at the soonest, sandable after 40 h.
Bench open_close() {
  return Bench(RuleKind::open_close).opens(5, 7, 10).closes(30, 60).sandable(40);
}

/// Early window from the start to 1 h, gap to 48 h, no late closing.
Bench enamel() {
  return Bench(RuleKind::early_gap_late).gap(1, 48);
}

/// Opens surely after 3 h, worth a test from 2 h, tacky for 6 h at least and 12 h at most, sandable after 20
/// h.
Bench tacky_rule() {
  return Bench(RuleKind::while_tacky).opens(1, 2, 3).tack_free(6, 12, 9).sandable(20);
}

}  // namespace

TEST_CASE("an open–close rule runs through wait, touch test, recoat, wait and sand first", "[verdict]") {
  const Bench bench = open_close();
  CHECK(bench.verdict(1) == Verdict::wait);
  CHECK(bench.verdict(7.5) == Verdict::touch_test);
  CHECK(bench.verdict(10) == Verdict::recoat);
  CHECK(bench.verdict(29.9) == Verdict::recoat);
  CHECK(bench.verdict(30) == Verdict::wait);
  CHECK(bench.at(30).remark == "too late to coat unsanded, too soon to sand");
  CHECK(bench.verdict(40) == Verdict::sand_first);
}

TEST_CASE("its window opens by the slow clock and ends by the fast one", "[verdict]") {
  const auto windows = open_close().at(1).windows;
  REQUIRE(windows.size() == 1);
  CHECK(windows[0].top == "clear-b");
  CHECK(windows[0].test_from == after(7));
  CHECK(windows[0].from == after(10));
  CHECK(windows[0].until == after(30));
  CHECK(windows[0].sure);
  CHECK(windows[0].otherwise == "sand-first");
}

TEST_CASE("firm from the time worth a test on opens, and says so", "[verdict]") {
  const Judgement judged = open_close().touch(Touch::firm, 8).at(8.1);
  CHECK(judged.verdict == Verdict::recoat);
  CHECK(judged.windows.at(0).from == after(8));
  CHECK(judged.windows.at(0).by_touch);
  CHECK(judged.remark == "opened by your touch, before the sure time");
}

TEST_CASE("an earlier firm opens nothing and ends the window at once", "[verdict]") {
  const Bench bench = open_close().touch(Touch::firm, 6);
  CHECK(bench.verdict(6.5) == Verdict::wait);
  CHECK(bench.verdict(8) == Verdict::wait);
  CHECK(bench.verdict(12) == Verdict::wait);
  CHECK(bench.verdict(41) == Verdict::sand_first);
  const Judgement judged = bench.at(12);
  CHECK(judged.region == Region::closed_unsanded);
  CHECK(judged.windows.at(0).until == after(6));
  CHECK_FALSE(judged.windows.at(0).by_touch);
  CHECK(judged.remark.find("firm earlier") == 0);
}

TEST_CASE("on an open-only rule an early firm opens nothing and closes nothing", "[verdict]") {
  const Bench bench = Bench(RuleKind::open_only).opens(5, 7, 10).touch(Touch::firm, 6);
  CHECK(bench.verdict(6.5) == Verdict::wait);
  CHECK(bench.verdict(10) == Verdict::recoat);
  CHECK_FALSE(bench.at(10).windows.at(0).until);
}

TEST_CASE("where the sheet does not let touches open, firm opens nothing", "[verdict]") {
  const Bench bench = open_close().without_touch().touch(Touch::firm, 8);
  CHECK(bench.verdict(8.1) == Verdict::wait);
  CHECK_FALSE(bench.at(8.1).windows.at(0).test_from);
  CHECK(bench.verdict(10) == Verdict::recoat);
}

TEST_CASE("tacky when a test was worth while means wait, then test again", "[verdict]") {
  const Bench bench = open_close().touch(Touch::tacky, 8);
  CHECK(bench.verdict(8.1) == Verdict::wait);
  CHECK(bench.verdict(8.9) == Verdict::touch_test);
}

TEST_CASE("tacky after the sure opening takes recoat back until a touch says otherwise", "[verdict]") {
  CHECK(open_close().touch(Touch::tacky, 11).verdict(11.5) == Verdict::wait);
  CHECK(open_close().touch(Touch::tacky, 11).verdict(14) == Verdict::touch_test);
  CHECK(open_close().touch(Touch::tacky, 11).touch(Touch::firm, 14).verdict(14) == Verdict::recoat);
}

TEST_CASE("a witness may delay and never open", "[verdict]") {
  CHECK(open_close().witness(Touch::firm, 8).verdict(8.1) == Verdict::touch_test);
  CHECK(open_close().witness(Touch::tacky, 8).verdict(8.1) == Verdict::wait);
  CHECK(open_close().witness(Touch::tacky, 11).verdict(11.5) == Verdict::wait);
  CHECK(open_close().witness(Touch::firm, 6).verdict(12) == Verdict::recoat);
  CHECK(tacky_rule().witness(Touch::firm, 4).verdict(4.1) == Verdict::recoat);
}

TEST_CASE("sanding after the slow sandable clock opens it again for a day", "[verdict]") {
  const Bench bench = open_close().step(Step::sanded, 41);
  CHECK(bench.verdict(42) == Verdict::recoat);
  CHECK(bench.verdict(64.9) == Verdict::recoat);
  CHECK(bench.verdict(65.1) == Verdict::sand_first);
  const auto windows = bench.at(42).windows;
  REQUIRE(windows.size() == 2);
  CHECK(windows[1].from == after(41));
  CHECK(windows[1].until == after(65));
}

TEST_CASE("sanding before the slow sandable clock does not count", "[verdict]") {
  const Bench bench = open_close().step(Step::sanded, 35);
  CHECK(bench.verdict(36) == Verdict::wait);
  CHECK(bench.verdict(41) == Verdict::sand_first);
  CHECK(bench.at(36).remark.find("sanded before the sure time") != std::string::npos);
}

TEST_CASE("a touch closes as early as its time may be wrong", "[verdict]") {
  const auto closed = [](Span error) {
    return tacky_rule().touch(Touch::firm, 5, error).at(5.1).windows.at(0).until;
  };
  CHECK(closed(0min) == after(5));
  CHECK(closed(5min) == after(5) - 5min);
  CHECK(closed(30min) == after(5) - 30min);
}

TEST_CASE("a touch that says not yet delays as late as its time may be wrong, and not a minute longer",
          "[verdict]") {
  // Surely open at 10 h by the clocks; felt tacky a little before.
  const double felt = 10 - 4.0 / 60;
  CHECK(open_close().touch(Touch::tacky, felt).verdict(10.1) == Verdict::recoat);
  CHECK(open_close().touch(Touch::tacky, felt, 3min).verdict(10.1) == Verdict::recoat);
  CHECK(open_close().touch(Touch::tacky, felt, 5min).verdict(10.1) != Verdict::recoat);
}

TEST_CASE("a touch that opens does so by what was felt, whenever exactly that was", "[verdict]") {
  for (const Span error : {Span(0min), Span(5min), Span(60min)}) {
    const Judgement opened = open_close().touch(Touch::firm, 7.5, error).at(7.6);
    CHECK(opened.verdict == Verdict::recoat);
    CHECK(opened.windows.at(0).until == after(30));
  }
  CHECK(open_close().touch(Touch::firm, 6.9, 60min).verdict(7.6) != Verdict::recoat);
}

TEST_CASE("amine epoxy sanded without washing asks; washed first it is open", "[verdict]") {
  const Judgement asks = open_close().of(Family::epoxy).step(Step::sanded, 41).at(42);
  CHECK(asks.verdict == Verdict::sand_first);
  CHECK(asks.remark.find("was it washed") != std::string::npos);
  CHECK(open_close().of(Family::epoxy).step(Step::washed, 40.5).step(Step::sanded, 41).verdict(42) ==
        Verdict::recoat);
  CHECK(open_close().of(Family::epoxy).step(Step::sanded, 41).step(Step::washed, 41.5).verdict(42) ==
        Verdict::sand_first);
}

TEST_CASE("the way back is washing, sanding and wiping on amine epoxy, sanding and wiping elsewhere",
          "[verdict]") {
  CHECK(open_close().of(Family::epoxy).at(41).next ==
        "wash with water, let it dry, sand, wipe, let the wipe dry, recoat with clear-b");
  CHECK(open_close().at(41).next == "sand, wipe, let the wipe dry, recoat with clear-b");
}

TEST_CASE("a closed coat whose sheet states no sanding time waits and says why", "[verdict]") {
  const Judgement judged = Bench(RuleKind::open_close).opens(5, 7, 10).closes(30, 60).at(31);
  CHECK(judged.verdict == Verdict::wait);
  CHECK(judged.windows.at(0).otherwise == "wait");
  CHECK(judged.remark.find("does not say when it can be sanded") != std::string::npos);
}

TEST_CASE("a double window runs through recoat, do not coat and recoat", "[verdict]") {
  const Bench bench = enamel();
  CHECK(bench.verdict(0.5) == Verdict::recoat);
  CHECK(bench.verdict(1) == Verdict::do_not_coat);
  CHECK(bench.verdict(47) == Verdict::do_not_coat);
  CHECK(bench.verdict(48) == Verdict::recoat);
}

TEST_CASE("a double window is told as two, in time order", "[verdict]") {
  const auto windows = enamel().at(0.5).windows;
  REQUIRE(windows.size() == 2);
  CHECK(windows[0].from == kCoated);
  CHECK(windows[0].until == after(1));
  CHECK(windows[0].otherwise == "do-not-coat");
  CHECK(windows[1].from == after(48));
  CHECK_FALSE(windows[1].until);
}

TEST_CASE("in a gap neither sanding nor any touch opens", "[verdict]") {
  Bench bench = enamel().sandable(10);
  for (const Touch word : kTouches)
    bench.touch(word, 19);
  bench.step(Step::washed, 19.5).step(Step::sanded, 20);
  CHECK(bench.verdict(21) == Verdict::do_not_coat);
}

TEST_CASE("firm earlier than an enamel should be tack-free begins its gap at once", "[verdict]") {
  const Bench bench = enamel().tack_free(0.2, 0.9, 0.5).touch(Touch::firm, 0.3);
  CHECK(bench.verdict(0.4) == Verdict::do_not_coat);
  CHECK(bench.at(0.4).windows.at(0).until == after(0.3));
  CHECK(bench.verdict(48) == Verdict::recoat);
  CHECK(enamel().tack_free(0.2, 0.9, 0.5).touch(Touch::firm, 0.6).verdict(0.7) == Verdict::recoat);
}

TEST_CASE("at once still means after flash-off", "[verdict]") {
  const Bench bench = enamel().flash_off(0.25);
  CHECK(bench.verdict(0.1) == Verdict::wait);
  CHECK(bench.verdict(0.3) == Verdict::recoat);
  CHECK(bench.at(0.1).windows.at(0).from == after(0.25));
}

TEST_CASE("during flash-off a touch opens nothing", "[verdict]") {
  CHECK(open_close().flash_off(9).touch(Touch::firm, 8).verdict(9.5) == Verdict::touch_test);
  CHECK(open_close().flash_off(7.5).touch(Touch::firm, 8).verdict(9.5) == Verdict::recoat);
}

TEST_CASE("an opening that flake or pigment asks for holds where the rule opens at once", "[verdict]") {
  // The clock is there though the rule states no opening.
  Bench bench = Bench(RuleKind::early_gap_late).opens(0.2, 0.3, 0.5).gap(1, 48);
  CHECK(bench.verdict(0.1) == Verdict::wait);
  CHECK(bench.verdict(0.6) == Verdict::recoat);
}

TEST_CASE("while tacky, strings is too soon, tacky opens, firm closes", "[verdict]") {
  CHECK(tacky_rule().touch(Touch::strings, 2.1).verdict(2.15) == Verdict::wait);
  CHECK(tacky_rule().touch(Touch::tacky, 2.1).verdict(2.15) == Verdict::recoat);
  CHECK(tacky_rule().touch(Touch::firm, 4).verdict(4.1) == Verdict::wait);
  CHECK(tacky_rule().touch(Touch::firm, 4).at(4.1).windows.at(0).until == after(4));
  CHECK(tacky_rule().touch(Touch::firm, 4).verdict(21) == Verdict::sand_first);
}

TEST_CASE("tacky felt before a test was worth while opens nothing", "[verdict]") {
  CHECK(tacky_rule().touch(Touch::tacky, 1.5).verdict(2.5) == Verdict::touch_test);
}

TEST_CASE("where tackiness alone is the rule, only a fresh touch keeps it open past the fast clock",
          "[verdict]") {
  CHECK(tacky_rule().verdict(5) == Verdict::recoat);
  CHECK(tacky_rule().verdict(7) == Verdict::touch_test);
  CHECK(tacky_rule().touch(Touch::tacky, 2.5).verdict(7) == Verdict::touch_test);
  CHECK(tacky_rule().touch(Touch::tacky, 6.9).verdict(7) == Verdict::recoat);
  CHECK(tacky_rule().touch(Touch::tacky, 6.9).verdict(8) == Verdict::touch_test);
  CHECK(tacky_rule().touch(Touch::tacky, 11.9).verdict(12) == Verdict::wait);
  CHECK(tacky_rule().verdict(20) == Verdict::sand_first);
}

TEST_CASE("a closing that the sheet states is never put off by a tacky touch", "[verdict]") {
  const Bench bench = tacky_rule().closes(5, 9).touch(Touch::tacky, 5.5);
  CHECK(bench.verdict(5.6) == Verdict::wait);
}

TEST_CASE("a rule of full cure waits for the slow clock and no touch shortens it", "[verdict]") {
  const Bench bench = Bench(RuleKind::after_full_cure).full_cure(160).touch(Touch::hard, 100);
  CHECK(bench.verdict(159) == Verdict::wait);
  CHECK(bench.verdict(160) == Verdict::recoat);
  CHECK(bench.at(100).windows.at(0).from == after(160));
  CHECK_FALSE(bench.at(100).windows.at(0).test_from);
}

TEST_CASE("a rule of full cure on a sheet without one never opens", "[verdict]") {
  CHECK(Bench(RuleKind::after_full_cure).at(1000).region == Region::never);
}

TEST_CASE("with a closing before the sure opening there is no sure window, and touches are explained",
          "[verdict]") {
  const Bench bench = Bench(RuleKind::open_close).opens(5, 7, 20).closes(12, 60).sandable(40);
  const Judgement judged = bench.at(8);
  CHECK_FALSE(judged.windows.at(0).sure);
  CHECK(judged.verdict == Verdict::touch_test);
  CHECK(judged.remark.find("no sure window") == 0);
  CHECK(judged.remark.find("firm") != std::string::npos);
  CHECK(bench.at(13).verdict == Verdict::wait);
  CHECK(bench.at(20).verdict == Verdict::wait);
}

TEST_CASE("silence takes the verdict only while a clock still decides", "[verdict]") {
  CHECK(open_close().silent(2).verdict(3) == Verdict::no_readings);
  CHECK(open_close().silent(2).verdict(8) == Verdict::no_readings);
  CHECK(open_close().silent(2).touch(Touch::firm, 8).verdict(8.1) == Verdict::recoat);
  CHECK(open_close().silent(11).verdict(12) == Verdict::recoat);
  CHECK(open_close().silent(11).verdict(31) == Verdict::no_readings);
  CHECK(open_close().silent(11).verdict(41) == Verdict::sand_first);
  CHECK(enamel().silent(2).verdict(3) == Verdict::no_readings);
}

TEST_CASE("a broken limit keeps it from being recoat, by clock, touch or sanding", "[verdict]") {
  CHECK(open_close().outside_limit().verdict(12) == Verdict::wait);
  CHECK(open_close().outside_limit().at(12).remark == "outside a limit of the sheet");
  CHECK(open_close().outside_limit().touch(Touch::firm, 8).verdict(8.1) == Verdict::wait);
  CHECK(open_close().outside_limit().step(Step::sanded, 41).verdict(42) == Verdict::wait);
  CHECK(open_close().outside_limit().at(12).next ==
        "ask its manufacturer before coating it: a limit of the sheet was passed");
  CHECK(open_close().outside_limit().at(3).next == "recoat with clear-b");
}

TEST_CASE("air outside a limit of what goes on next keeps it from being recoat, and says so", "[verdict]") {
  const Judgement open = open_close().unfit_air().at(12);
  CHECK(open.verdict == Verdict::wait);
  CHECK(open.next == "wait for air within the sheet's limits, then recoat with clear-b");
  CHECK(open.remark == "this air is outside a limit of what goes on next");
  CHECK(open.windows.at(0).from == after(10));
  const Judgement felt = open_close().unfit_air().touch(Touch::firm, 8).at(8.1);
  CHECK(felt.verdict == Verdict::wait);
  CHECK(felt.remark ==
        "opened by your touch, before the sure time; this air is outside a limit of what "
        "goes on next");
  CHECK(open_close().unfit_air().step(Step::sanded, 41).verdict(42) == Verdict::wait);
  CHECK(open_close().unfit_air().verdict(31) == Verdict::wait);
  CHECK(open_close().unfit_air().verdict(41) == Verdict::sand_first);
  CHECK(open_close().unfit_air().outside_limit().at(12).remark == "outside a limit of the sheet");
}

TEST_CASE("with no coat left the coat waits for full cure and then is cured", "[verdict]") {
  const Bench bench = open_close().full_cure(160).schedule_done();
  CHECK(bench.verdict(12) == Verdict::wait);
  CHECK(bench.at(12).next == "let it cure");
  CHECK(bench.verdict(160) == Verdict::cured);
  CHECK(open_close().full_cure(160).schedule_done().silent(12).verdict(13) == Verdict::no_readings);
  CHECK(open_close().full_cure(160).schedule_done().silent(12).verdict(161) == Verdict::cured);
}

TEST_CASE("where the sheet states no rule for what goes on top, it waits and says so", "[verdict]") {
  const Judgement judged = open_close().at(12, -1);
  CHECK(judged.region == Region::never);
  CHECK(judged.verdict == Verdict::wait);
  CHECK(judged.windows.empty());
  CHECK(judged.remark == "the sheet states nothing about this on top");
}

TEST_CASE("touches and sanding after the next coat concern that coat", "[verdict]") {
  Material material;
  material.recoat.emplace_back();
  Piece piece;
  Coat first;
  first.number = 1;
  first.happened = kCoated;
  Coat second = first;
  second.number = 2;
  second.happened = after(5);
  piece.coats = {first, second};
  piece.touches.push_back({EntryId(1), after(6), Span{0}, TouchTested{Touch::tacky, {}}});
  Outlook outlook;
  outlook.now = after(7);
  CHECK_FALSE(evidence_of(material, 0, piece, first, {}, outlook, 24h).touch);
  CHECK(evidence_of(material, 0, piece, second, {}, outlook, 24h).touch == Touch::tacky);
}
