#include "daemon/core/verdict_table.hpp"

#include <array>
#include <functional>

#include <catch2/catch.hpp>

#include "daemon/core/verdict.hpp"

using namespace setwell::core;
using namespace setwell::quantity;
using namespace std::chrono_literals;

// The table: every (rule, region, evidence) has one answer, and the promises hold over all of them.

namespace {

constexpr std::array kKinds{RuleKind::open_only, RuleKind::open_close, RuleKind::early_gap_late,
                            RuleKind::after_full_cure, RuleKind::while_tacky};
constexpr std::array kRegions{
    Region::before_opening,  Region::worth_a_test,    Region::surely_open, Region::may_have_closed,
    Region::closed_unsanded, Region::closed_sandable, Region::in_gap,      Region::never};
constexpr std::array kTouches{Touch::wet,  Touch::strings, Touch::tacky,  Touch::firm,
                              Touch::hard, Touch::gums,    Touch::powders};

struct Combination {
  RuleKind kind;
  Region region;
  Evidence evidence;
  bool touch_opens;
  [[nodiscard]] Verdict verdict() const { return verdict_for(kind, region, evidence, touch_opens); }
};

Evidence evidence_from(unsigned bits, std::optional<Touch> touch) {
  Evidence evidence;
  evidence.touch = touch;
  bool* const facts[] = {&evidence.silent,        &evidence.outside_limit, &evidence.sanded,
                         &evidence.washed,        &evidence.schedule_done, &evidence.cured,
                         &evidence.tested_lately, &evidence.held_back,     &evidence.sanded_unwashed};
  for (std::size_t i = 0; i < std::size(facts); ++i)
    *facts[i] = (bits >> i & 1u) != 0;
  return evidence;
}

void for_touches(Combination combination, const std::function<void(const Combination&)>& look) {
  for (unsigned bits = 0; bits < 512; ++bits) {
    combination.evidence = evidence_from(bits, std::nullopt);
    look(combination);
    for (const Touch touch : kTouches) {
      combination.evidence.touch = touch;
      look(combination);
    }
  }
}

void for_all(const std::function<void(const Combination&)>& look) {
  for (const RuleKind kind : kKinds) {
    for (const Region region : kRegions) {
      for (const bool touch_opens : {false, true})
        for_touches({kind, region, {}, touch_opens}, look);
    }
  }
}

/// Counts the combinations that break a promise.
int broken(const std::function<bool(const Combination&)>& kept) {
  int count = 0;
  for_all([&](const Combination& combination) { count += kept(combination) ? 0 : 1; });
  return count;
}

bool is(Touch touch, std::initializer_list<Touch> words) {
  return std::find(words.begin(), words.end(), touch) != words.end();
}

}  // namespace

TEST_CASE("every rule, region and evidence has exactly one answer, the first row that fits", "[verdict]") {
  const auto rows = verdict_rows();
  std::vector<int> decided(rows.size(), 0);
  int combinations = 0;
  int wrong = 0;
  for_all([&](const Combination& c) {
    ++combinations;
    const VerdictCase which = case_of(c.kind, c.region, c.evidence, c.touch_opens);
    std::size_t first = 0;
    while (first < rows.size() && !fits(rows[first], which))
      ++first;
    if (first == rows.size() || rows[first].verdict != c.verdict()) {
      ++wrong;
      return;
    }
    ++decided[first];
  });
  CHECK(combinations == 5 * 8 * 2 * 512 * 8);
  CHECK(wrong == 0);
  for (std::size_t row = 0; row < rows.size(); ++row) {
    INFO("row " << row << " never decides");
    CHECK(decided[row] > 0);
  }
}

TEST_CASE("recoat is never said in silence, outside a limit, in a gap, or with no coat left", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          const bool forbidden = c.evidence.silent || c.evidence.outside_limit ||
                                 c.region == Region::in_gap || c.evidence.schedule_done ||
                                 c.region == Region::never || c.region == Region::before_opening ||
                                 c.region == Region::closed_unsanded;
          return c.verdict() != Verdict::recoat || !forbidden;
        }) == 0);
}

TEST_CASE("do not coat is said in a gap, always unless silent, and nowhere else", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          return (c.verdict() == Verdict::do_not_coat) == (c.region == Region::in_gap && !c.evidence.silent);
        }) == 0);
}

TEST_CASE("no readings is said in silence and only there", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          return (c.verdict() == Verdict::no_readings) == c.evidence.silent;
        }) == 0);
}

TEST_CASE("cured is said only when cured and no coat is left", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          return c.verdict() != Verdict::cured || (c.evidence.cured && c.evidence.schedule_done);
        }) == 0);
}

TEST_CASE("before the sure opening only a touch that proves it opens, and only where the rule lets it",
          "[verdict]") {
  CHECK(broken([](const Combination& c) {
          if (c.region != Region::worth_a_test || c.verdict() != Verdict::recoat) return true;
          if (!c.touch_opens || !c.evidence.touch) return false;
          const bool firmness = c.kind == RuleKind::open_only || c.kind == RuleKind::open_close;
          return firmness ? is(*c.evidence.touch, {Touch::firm, Touch::hard})
                          : c.kind == RuleKind::while_tacky && *c.evidence.touch == Touch::tacky;
        }) == 0);
}

TEST_CASE("no touch test is asked for where a touch opens nothing", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          if (c.verdict() != Verdict::touch_test || c.evidence.held_back) return true;
          const bool tells = c.kind != RuleKind::early_gap_late && c.kind != RuleKind::after_full_cure;
          return tells && c.touch_opens &&
                 (c.region == Region::worth_a_test || c.region == Region::may_have_closed);
        }) == 0);
}

TEST_CASE("once closed, only sanding in time opens it, on amine epoxy only after washing", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          if (c.region != Region::closed_sandable || c.verdict() != Verdict::recoat) return true;
          return c.evidence.sanded && !c.evidence.sanded_unwashed;
        }) == 0);
}

TEST_CASE("sand first is said only of what is closed and surely sandable", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          return c.verdict() != Verdict::sand_first || c.region == Region::closed_sandable;
        }) == 0);
}

TEST_CASE("a touch that said not yet after the sure opening holds recoat back", "[verdict]") {
  CHECK(broken([](const Combination& c) {
          const bool by_touch = c.kind != RuleKind::early_gap_late && c.kind != RuleKind::after_full_cure;
          return !(c.region == Region::surely_open && by_touch && c.evidence.held_back) ||
                 c.verdict() != Verdict::recoat;
        }) == 0);
}

TEST_CASE("evidence against never makes a verdict more willing", "[verdict]") {
  // Silence and a broken limit may only take recoat away, never give it.
  CHECK(broken([](const Combination& c) {
          if (c.verdict() == Verdict::recoat) return true;
          Combination worse = c;
          worse.evidence.outside_limit = true;
          Combination silent = c;
          silent.evidence.silent = true;
          return worse.verdict() != Verdict::recoat && silent.verdict() != Verdict::recoat;
        }) == 0);
}
