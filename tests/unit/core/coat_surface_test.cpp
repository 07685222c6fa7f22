#include <algorithm>
#include <chrono>
#include <cmath>

#include <catch2/catch.hpp>

#include "daemon/core/coat_run.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// What a coat's surface goes through beside the air: cold pieces, hand readings, moves, conditions.
namespace setwell::tests {

using core::CoatCase;
using core::Milestone;
using core::Outlook;
using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

core::Material fussy_epoxy() {
  core::Material m = three_row_epoxy();
  m.cure.limit.dew_margin = quantity::CelsiusDelta(3);
  m.cure.advised.humidity.most = quantity::RelativeHumidity::percent(70);
  m.application.limit.temperature.least = quantity::Celsius(12);
  m.application.advised.temperature.least = quantity::Celsius(18);
  m.apply_least = quantity::Celsius(15);
  return m;
}

const core::OutsideCondition* find(const Outlook& outlook, const std::string& what) {
  const auto found = std::find_if(outlook.outside.begin(), outlook.outside.end(),
                                  [&](const core::OutsideCondition& c) { return c.what == what; });
  return found == outlook.outside.end() ? nullptr : &*found;
}

bool in_trouble(const Outlook& outlook, core::TroubleKind kind) {
  return std::any_of(outlook.trouble.begin(), outlook.trouble.end(),
                     [&](const core::Trouble& t) { return t.kind == kind; });
}

CoatCase with_surface_reading(CoatCase coat, Instant at, double celsius) {
  core::HandReading reading;
  reading.surface = quantity::Celsius(celsius);
  coat.surface_readings.push_back({quantity::EntryId(7), at, {}, reading});
  return coat;
}

}  // namespace

TEST_CASE("A cold cup breaks the dew margin in air that is fine by itself", "[cure]") {
  const auto air = steady_room(kMonday, days(1), 20, 0.5, 60);
  CoatCase coat = coat_of(fussy_epoxy(), kMonday + hours(1));
  CHECK(run_of(coat).outlook(only(air), kMonday + hours(8)).outside.empty());
  coat.coat.made.piece_from = quantity::Celsius(5);
  const Outlook soon = run_of(coat).outlook(only(air), kMonday + hours(1) + minutes(2));
  CHECK(in_trouble(soon, core::TroubleKind::dew_margin));
  CHECK(*soon.dew_margin_k < 0);
  CHECK(*soon.dew_margin_error_k > 0.9);
  CHECK(*soon.dew_margin_error_k < 2.0);
  const Outlook later = run_of(coat).outlook(only(air), kMonday + hours(8));
  const auto* broken = find(later, "dew margin below the limit");
  REQUIRE(broken);
  CHECK(broken->is_limit);
  CHECK(broken->limit == 3);
  CHECK(broken->value < -6);
  CHECK(broken->value > -9);
  CHECK(broken->since == kMonday + hours(1));
  CHECK(later.condensing.count() > 0.05);
  CHECK_FALSE(in_trouble(later, core::TroubleKind::dew_margin));
}

TEST_CASE("A dew margin keeps to a limit only less its own error, and to advice as it stands", "[cure]") {
  // 20 °C and 77 %: 4.1 K of margin, with an error over one.
  const auto air = steady_room(kMonday, days(1), 20, 0.5, 77);
  core::Material limited = three_row_epoxy(), advised = three_row_epoxy();
  limited.cure.limit.dew_margin = quantity::CelsiusDelta(3.5);
  advised.cure.advised.dew_margin = quantity::CelsiusDelta(3.5);
  CHECK(find(run_of(coat_of(limited, kMonday)).outlook(only(air), kMonday + hours(2)),
             "dew margin below the limit"));
  CHECK(run_of(coat_of(advised, kMonday)).outlook(only(air), kMonday + hours(2)).outside.empty());
}

TEST_CASE("Where a sheet asks no dew margin three kelvin are advised and nothing is limited", "[cure]") {
  const auto damp = steady_room(kMonday, days(1), 20, 0.5, 90);
  const Outlook outlook = run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(damp), kMonday + hours(2));
  const auto* broken = find(outlook, "dew margin below the advised least");
  REQUIRE(broken);
  CHECK_FALSE(broken->is_limit);
  CHECK(broken->limit == 3);
}

TEST_CASE("Application is judged at the coat's time only, each bound by itself", "[cure]") {
  // 14 °C when coated, 10 °C an hour later.
  const auto air = room(
      kMonday, days(1), minutes(5), [](double h) { return h < 3.5 ? 14.0 : 10.0; }, 0.5);
  const Outlook outlook =
      run_of(coat_of(fussy_epoxy(), kMonday + hours(3))).outlook(only(air), kMonday + hours(8));
  CHECK_FALSE(find(outlook, "air below the limit"));
  CHECK(find(outlook, "air below the advised range")->value == Approx(14));
  CHECK(find(outlook, "air below the lowest application temperature")->limit == 15);
  CHECK(find(outlook, "air below the lowest application temperature")->since == kMonday + hours(3));
}

TEST_CASE("What was outside is told since when and until when", "[cure]") {
  core::Material limited = three_row_epoxy();
  limited.cure.limit.temperature.least = quantity::Celsius(15);
  const auto air = room(
      kMonday, days(2), minutes(5), [](double h) { return h >= 1 && h < 2 ? 12.0 : 20.0; }, 0.5);
  const CoatCase coat = coat_of(limited, kMonday);
  const Outlook during = run_of(coat).outlook(only(air), kMonday + minutes(90));
  const auto* cold = find(during, "air below the limit");
  REQUIRE(cold);
  CHECK_FALSE(cold->until);
  const Outlook after = run_of(coat).outlook(only(air), kMonday + hours(30));
  cold = find(after, "air below the limit");
  REQUIRE(cold);
  CHECK(cold->since >= kMonday + minutes(55));
  CHECK(cold->since <= kMonday + hours(1));
  CHECK(cold->until >= kMonday + minutes(115));
  CHECK(cold->until < kMonday + minutes(125));
  CHECK(cold->value == 12);
}

TEST_CASE("Cure conditions count until tack-free and not after", "[cure]") {
  const auto damp_later = [](double from) {
    core::AirHistory air;
    for (int m = 0; m <= 48 * 60; m += 5) {
      air.put_temperature({kMonday + minutes(m), 20, 0});
      air.put_humidity({kMonday + minutes(m), m < from * 60 ? 50.0 : 80.0, 5});
    }
    return air;
  };
  const CoatCase coat = coat_of(fussy_epoxy(), kMonday);
  const auto early = damp_later(3), late = damp_later(10);
  const Outlook during = run_of(coat).outlook(only(early), kMonday + hours(4));
  REQUIRE(find(during, "humidity above the advised range"));
  CHECK(find(during, "humidity above the advised range")->value == 80);
  CHECK(in_trouble(during, core::TroubleKind::too_damp));
  const Outlook after = run_of(coat).outlook(only(late), kMonday + hours(20));
  CHECK_FALSE(find(after, "humidity above the advised range"));
  CHECK_FALSE(in_trouble(after, core::TroubleKind::too_damp));
}

TEST_CASE("Under the floor before tack-free is trouble while it lasts", "[cure]") {
  const auto air = room(
      kMonday, days(2), minutes(5), [](double h) { return h < 4 ? 6.0 : 20.0; }, 0.5);
  const CoatCase coat = coat_of(fussy_epoxy(), kMonday);
  CHECK(in_trouble(run_of(coat).outlook(only(air), kMonday + hours(2)), core::TroubleKind::under_floor));
  const Outlook later = run_of(coat).outlook(only(air), kMonday + hours(9));
  CHECK_FALSE(in_trouble(later, core::TroubleKind::under_floor));
  CHECK(later.under_floor.count() == Approx(4).margin(0.2));
}

TEST_CASE("A hand reading of the surface replaces the lag for half an hour", "[cure]") {
  const auto air = steady_room(kMonday, days(1), 20, 0.5);
  const CoatCase plain = coat_of(three_row_epoxy(), kMonday);
  const CoatCase read = with_surface_reading(plain, kMonday + hours(1), 14);
  const auto surface = [&](const CoatCase& coat, Instant now) {
    return *run_of(coat).outlook(only(air), now).surface_c;
  };
  CHECK(surface(read, kMonday + hours(1) + minutes(20)).expected == 14);
  CHECK(surface(read, kMonday + hours(1) + minutes(20)).slow == 13);
  CHECK(surface(read, kMonday + hours(1) + minutes(20)).fast == 15);
  CHECK(surface(read, kMonday + hours(1) + minutes(36)).expected > 17);
  CHECK(surface(read, kMonday + hours(3)).expected == Approx(20).margin(0.01));
  const auto progress = [&](const CoatCase& coat) {
    return run_of(coat).outlook(only(air), kMonday + hours(4)).clock(Milestone::sandable)->progress.expected;
  };
  CHECK(progress(read) < progress(plain) - 0.005);
}

TEST_CASE("A piece brought from the cold is slower, and its bounds enclose where it came from", "[cure]") {
  const auto air = steady_room(kMonday, days(1), 20, 0.5);
  CoatCase coat = coat_of(three_row_epoxy(), kMonday + hours(1), minutes(10));
  coat.coat.made.piece_from = quantity::Celsius(8);
  const auto surface = *run_of(coat).outlook(only(air), kMonday + hours(1) + minutes(10)).surface_c;
  CHECK(surface.slow < 16);
  CHECK(surface.fast > 14);
  CoatCase warm = coat;
  warm.coat.made.piece_from.reset();
  const auto slow = [&](const CoatCase& c) {
    return *run_of(c).outlook(only(air), kMonday + days(1)).clock(Milestone::tack_free)->at.slow;
  };
  CHECK(slow(coat) > slow(warm));
}

TEST_CASE("A moved piece takes the air of where it is", "[cure]") {
  std::map<std::string, core::AirHistory> air;
  air["bench"] = steady_room(kMonday, days(4), 10);
  air["cabinet"] = steady_room(kMonday, days(4), 30);
  CoatCase coat = coat_of(three_row_epoxy(), kMonday);
  coat.lag = quantity::Minutes(0.01);
  // Where it was before the coat does not count: the coat says where it was put on.
  coat.stays = {{kMonday - days(1), quantity::ZoneId("cabinet")},
                {kMonday + hours(6) + minutes(2), quantity::ZoneId("cabinet")}};
  const Outlook outlook = run_of(coat).outlook(zones(air), kMonday + days(3));
  // Half of twelve hours at 10 °C, then half of three at 30 °C.
  const double h = quantity::Hours(*outlook.clock(Milestone::tack_free)->at.expected - kMonday).count();
  CHECK(h == Approx(6 + 2 / 60.0 + 3 * (0.5 - 2 / 720.0)).epsilon(1e-3));
}

TEST_CASE("Thick water-borne films in damp air dry late, and dry air opens nothing early", "[cure]") {
  const auto slow_at = [](double humidity, std::optional<quantity::Micrometres> film) {
    core::Material m = water_borne();
    m.reference_film = quantity::Micrometres(100);
    CoatCase coat = coat_of(m, kMonday);
    coat.coat.made.film = film;
    const auto air = steady_room(kMonday, days(4), 20, 0.0, humidity);
    const auto at = run_of(coat).outlook(only(air), kMonday + days(3)).clock(Milestone::handling)->at;
    return std::pair{quantity::Hours(*at.slow - kMonday).count(),
                     quantity::Hours(*at.fast - kMonday).count()};
  };
  const auto fair = slow_at(50, std::nullopt), damp = slow_at(75, std::nullopt),
             dry = slow_at(20, std::nullopt);
  const auto thick = slow_at(50, quantity::Micrometres(200));
  CHECK(damp.first > 1.5 * fair.first);
  CHECK(dry.first == Approx(8 * std::exp(0.31)).epsilon(1e-4));
  CHECK(dry.second < fair.second);
  CHECK(thick.first > 3 * fair.first);
}

}  // namespace setwell::tests
