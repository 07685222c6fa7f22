#include "daemon/core/piece_outlook.hpp"

#include <algorithm>
#include <chrono>

#include <catch2/catch.hpp>

#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

namespace setwell::tests {

using core::ClockReading;
using core::CoatCase;
using core::CoatOutlook;
using core::Milestone;
using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;

namespace {

const core::AirHistory& bench() {
  static const core::AirHistory air = steady_room(kMonday, days(30), 20);
  return air;
}

/// An open-only epoxy: opens at 8 h, surely at 8·e^0.31 = 10.9 h.
core::Material simple_epoxy() {
  core::Material m = three_row_epoxy();
  m.recoat.resize(1);
  return m;
}

CoatOutlook coat(const core::Material& material, int number, Instant made, std::optional<Instant> covered,
                 Instant now) {
  CoatCase c = coat_of(material, made);
  c.covered = covered;
  return {number, &material, covered, run_of(c).outlook(only(bench()), now)};
}

const ClockReading& of(const std::vector<ClockReading>& all, Milestone milestone) {
  return *std::find_if(all.begin(), all.end(),
                       [&](const ClockReading& r) { return r.milestone == milestone; });
}

}  // namespace

TEST_CASE("A piece is as far as its last coat where the earlier were covered in their sure time", "[cure]") {
  const core::Material m = simple_epoxy();
  const Instant second = kMonday + hours(12), now = kMonday + hours(13);
  const std::vector<CoatOutlook> coats{coat(m, 1, kMonday, second, now),
                                       coat(m, 2, second, std::nullopt, now)};
  const auto whole = core::piece_milestones(coats);
  REQUIRE(whole.size() == 3);
  const ClockReading& last = *coats[1].outlook.clock(Milestone::packing);
  CHECK(of(whole, Milestone::packing).at == last.at);
  CHECK(of(whole, Milestone::packing).progress == last.progress);
  CHECK(of(whole, Milestone::packing).not_known.empty());
}

TEST_CASE("A coat covered before its sure time keeps the piece unknown until its own slow clock is there",
          "[cure]") {
  const core::Material m = simple_epoxy();
  const Instant second = kMonday + hours(9);
  const auto whole_at = [&](Instant now) {
    const std::vector<CoatOutlook> coats{coat(m, 1, kMonday, second, now),
                                         coat(m, 2, second, std::nullopt, now)};
    return of(core::piece_milestones(coats), Milestone::handling);
  };
  const ClockReading soon = whole_at(kMonday + hours(10));
  CHECK(soon.not_known == "coat 1 was covered before its sure time");
  CHECK_FALSE(soon.at.slow);
  CHECK_FALSE(soon.at.expected);
  const ClockReading late = whole_at(kMonday + days(3));
  CHECK(late.not_known.empty());
  CHECK(late.reached.slow);
}

TEST_CASE("The latest coat decides, whichever it is", "[cure]") {
  const core::Material slow = simple_epoxy();
  const core::Material quick = lacquer();
  const Instant now = kMonday + hours(30);
  // A quick lacquer over an epoxy that was covered early: the epoxy is the later.
  const std::vector<CoatOutlook> coats{coat(slow, 1, kMonday, std::nullopt, now),
                                       coat(quick, 2, kMonday, std::nullopt, now)};
  const auto whole = core::piece_milestones(coats);
  CHECK(of(whole, Milestone::handling).at == coats[0].outlook.clock(Milestone::handling)->at);
  CHECK(of(whole, Milestone::full_cure).at == coats[0].outlook.clock(Milestone::full_cure)->at);
}

TEST_CASE("Inside a gap nothing is covered in its sure time; before and after it is", "[cure]") {
  core::Material m = three_row_epoxy();
  m.recoat.erase(m.recoat.begin());
  const Instant now = kMonday + days(3);
  for (const auto& [after, sure] : {std::pair{1, true}, {10, false}, {26, false}, {28, true}})
    CHECK(core::covered_in_sure_time(coat(m, 1, kMonday, kMonday + hours(after), now)) == sure);
}

TEST_CASE("A covered drying film that was not surely open stays unknown for good", "[cure]") {
  core::Material m = lacquer();
  core::RecoatRule rule;
  rule.opens = table({{10, 4, 4}, {20, 2, 2}, {30, 1, 1}});
  m.recoat.push_back(rule);
  const Instant now = kMonday + days(20);
  const auto whole = core::piece_milestones(std::vector{coat(m, 1, kMonday, kMonday + hours(1), now),
                                                        coat(m, 2, kMonday + hours(1), std::nullopt, now)});
  CHECK(of(whole, Milestone::handling).not_known == "coat 1 was covered before its sure time");
  CHECK_FALSE(of(whole, Milestone::handling).reached.slow);
}

TEST_CASE("What no sheet states is not told of the piece", "[cure]") {
  const core::Material m = lacquer();
  const auto whole =
      core::piece_milestones(std::vector{coat(m, 1, kMonday, std::nullopt, kMonday + hours(1))});
  REQUIRE(whole.size() == 1);
  CHECK(whole[0].milestone == Milestone::handling);
}

}  // namespace setwell::tests
