#include "daemon/core/lamp.hpp"

#include <chrono>
#include <cmath>

#include <catch2/catch.hpp>

#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// Light-cured films: minutes under the lamp, and nothing else, carry their clocks.
namespace setwell::tests {

using core::CoatCase;
using core::Family;
using core::Milestone;
using core::Outlook;
using quantity::Hours;
using quantity::Minutes;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

core::TimeTable lamp_table(double low_min, double high_min) {
  return table({{23, low_min / 60, high_min / 60}});
}

core::Material gel() {
  core::Material m;
  m.id = quantity::SheetId("gel");
  m.family = Family::light_cured;
  m.reference_film = quantity::Micrometres(300);
  m.tack_free = lamp_table(2, 3);
  m.full_cure = lamp_table(6, 6);
  core::RecoatRule rule;
  rule.opens = lamp_table(2, 3);
  m.recoat.push_back(rule);
  return m;
}

CoatCase lit(double lamp_min) {
  CoatCase coat = coat_of(gel(), kMonday);
  coat.coat.made.lamp = Minutes(lamp_min);
  return coat;
}

Outlook after(const CoatCase& coat, double celsius, quantity::Span later = hours(2)) {
  const auto air = steady_room(kMonday - hours(1), days(2), celsius);
  return run_of(coat).outlook(only(air), kMonday + later);
}

double minutes_to(const std::optional<quantity::Instant>& at) {
  return Minutes(*at - kMonday).count();
}

const core::Strictness kStrict{3.1, 0.10};

}  // namespace

TEST_CASE("Lamp minutes spread by the scatter alone: e^(kσ) about the sheet's range", "[cure]") {
  const auto lamp = *core::lamp_minutes(lamp_table(2, 3), std::nullopt, kStrict);
  CHECK(lamp.slow == Approx(3 * std::exp(0.31)));
  CHECK(lamp.expected == Approx(std::sqrt(6.0)));
  CHECK(lamp.fast == Approx(2 * std::exp(-0.31)));
  CHECK(lamp.expected_upper == Approx(3));
  CHECK(lamp.likely > lamp.expected);
  CHECK(core::lamp_minutes(lamp_table(2, 3), Hours(5 / 60.0), kStrict)->slow == Approx(5 * std::exp(0.31)));
  CHECK_FALSE(core::lamp_minutes(never(), std::nullopt, kStrict));
}

TEST_CASE("Only openings and stages of light-cured films count lamp time", "[cure]") {
  CHECK(core::counts_lamp(Family::light_cured, Milestone::recoat_opens));
  CHECK(core::counts_lamp(Family::light_cured, Milestone::packing));
  CHECK_FALSE(core::counts_lamp(Family::light_cured, Milestone::recoat_closes));
  CHECK_FALSE(core::counts_lamp(Family::epoxy, Milestone::recoat_opens));
}

TEST_CASE("Without a lamp entry every clock of a light-cured coat waits, and says so", "[cure]") {
  const Outlook outlook = after(coat_of(gel(), kMonday), 30, days(1));
  for (const auto& clock : outlook.clocks) {
    CHECK(clock.progress.fast == 0);
    CHECK_FALSE(clock.at.fast);
    CHECK_FALSE(clock.no_limit);
    CHECK(clock.not_known.starts_with("waits for the lamp: none logged of at least "));
  }
  CHECK_FALSE(outlook.silent_since);
}

TEST_CASE("Enough minutes under the lamp open it, to the millisecond, at any temperature", "[cure]") {
  for (const double celsius : {2.0, 23.0}) {
    const Outlook outlook = after(lit(5), celsius);
    const auto& opens = *outlook.clock(Milestone::recoat_opens, 0);
    CHECK(opens.reached.slow);
    CHECK(minutes_to(opens.at.slow) == Approx(3 * std::exp(0.31)).epsilon(1e-5));
    CHECK(minutes_to(opens.at.fast) == Approx(2 * std::exp(-0.31)).epsilon(1e-5));
    CHECK(opens.not_known.empty());
  }
}

TEST_CASE("Too few minutes stay too few however long one waits", "[cure]") {
  const Outlook outlook = after(lit(3.5), 23, days(1));
  const auto& opens = *outlook.clock(Milestone::recoat_opens, 0);
  CHECK_FALSE(opens.reached.slow);
  CHECK(opens.reached.expected);
  CHECK(opens.progress.slow == Approx(3.5 / (3 * std::exp(0.31))));
  CHECK_FALSE(opens.at.slow);
  CHECK(opens.not_known == "waits for the lamp: 3.5 of at least 4.1 min logged");
  CHECK(after(lit(3.5), 23, minutes(5)).clock(Milestone::recoat_opens, 0)->progress == opens.progress);
}

TEST_CASE("The lamp needs no readings of the air", "[cure]") {
  const core::AirHistory nothing;
  const Outlook outlook = run_of(lit(5)).outlook(only(nothing), kMonday + minutes(10));
  CHECK(outlook.clock(Milestone::recoat_opens, 0)->reached.slow);
  CHECK_FALSE(outlook.silent_since);
}

TEST_CASE("A thicker light-cured film asks for more lamp, a thinner one for no less", "[cure]") {
  const auto slow_min = [](double film_um) {
    CoatCase coat = lit(60);
    coat.coat.made.film = quantity::Micrometres(film_um);
    return minutes_to(after(coat, 23).clock(Milestone::recoat_opens, 0)->at.slow);
  };
  CHECK(slow_min(600) == Approx(4 * slow_min(300)).epsilon(1e-4));
  CHECK(slow_min(150) == Approx(slow_min(300)).epsilon(1e-6));
}

TEST_CASE("Where the record is cut makes no difference to lamp time", "[cure]") {
  const auto air = steady_room(kMonday - hours(1), days(1), 20);
  core::CoatRun one = run_of(lit(5)), many = run_of(lit(5));
  one.advance(only(air), kMonday + hours(3), 1000);
  while (many.advance(only(air), kMonday + hours(3), 1)) {
  }
  CHECK(one == many);
}

}  // namespace setwell::tests
