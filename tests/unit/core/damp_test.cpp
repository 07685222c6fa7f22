#include <algorithm>
#include <chrono>
#include <cmath>

#include <catch2/catch.hpp>

#include "daemon/core/blush.hpp"
#include "daemon/core/brought_in.hpp"
#include "daemon/core/film.hpp"
#include "daemon/core/full_cure.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// Damp and cold about a fresh coat, how thick it is, and full cure that never comes.
namespace setwell::tests {

using core::CoatCase;
using core::Milestone;
using core::Outlook;
using quantity::Celsius;
using quantity::CelsiusDelta;
using quantity::Hours;
using quantity::Instant;
using quantity::Minutes;
using quantity::RelativeHumidity;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

constexpr air::AirErrors kExact{CelsiusDelta(0), 0};

std::optional<core::BroughtIn> brought(double from, double air, double rh,
                                       const air::AirErrors& errors = kExact) {
  return core::brought_in(Celsius(from), Celsius(air), RelativeHumidity::percent(rh), errors, Minutes(20),
                          CelsiusDelta(3));
}

bool outside(const Outlook& outlook, const std::string& what) {
  return std::any_of(outlook.outside.begin(), outlook.outside.end(),
                     [&](const core::OutsideCondition& c) { return c.what == what; });
}

core::Material flashing_lacquer() {
  core::Material m = lacquer();
  m.flash_off = table({{20, 0.25, 0.25}});
  return m;
}

}  // namespace

TEST_CASE("A cup of 5 °C in air of 20 °C and 60 % is dew point + 3 K after 1.10 τ (science 1.7)", "[damp]") {
  const auto told = *brought(5, 20, 60);
  CHECK(told.condenses);
  CHECK(told.dew_point.degrees() == Approx(12.0).margin(0.05));
  CHECK(told.likely->count() == Approx(1.10 * 20).epsilon(0.01));
  // Surely: twice the lag, and the piece a kelvin colder than said.
  CHECK(told.surely->count() > 2 * told.likely->count());
}

TEST_CASE("The sensor's error lengthens the wait until a cold piece may be coated", "[damp]") {
  const auto exact = *brought(5, 20, 60), rough = *brought(5, 20, 60, {CelsiusDelta(0.5), 5.0});
  CHECK(*rough.surely > *exact.surely);
  CHECK(*rough.likely == *exact.likely);
}

TEST_CASE("In air without the margin waiting alone never makes a cold piece ready", "[damp]") {
  const auto told = *brought(5, 20, 90);
  CHECK_FALSE(told.likely);
  CHECK_FALSE(told.surely);
}

TEST_CASE("A piece that came warm enough may be coated at once", "[damp]") {
  const auto told = *brought(19, 20, 40);
  CHECK_FALSE(told.condenses);
  CHECK(told.likely->count() == 0);
  CHECK(told.surely->count() == 0);
}

TEST_CASE("A lacquer asks for a wider dew margin while it flashes off, and not after", "[damp]") {
  const std::string flashing = "dew margin below the advised least while it flashes off";
  // 20 °C and 60 %: 8 K of margin.
  const auto fair = steady_room(kMonday, days(1), 20, 0.5, 60);
  CHECK(outside(run_of(coat_of(flashing_lacquer(), kMonday)).outlook(only(fair), kMonday + minutes(10)),
                flashing));
  core::Material epoxy = three_row_epoxy();
  CHECK_FALSE(outside(run_of(coat_of(epoxy, kMonday)).outlook(only(fair), kMonday + minutes(10)), flashing));
  // Dry while it flashes, at 60 % only from two hours on.
  core::AirHistory later;
  for (int m = 0; m <= 24 * 60; m += 5) {
    later.put_temperature({kMonday + minutes(m), 20, 0.5});
    later.put_humidity({kMonday + minutes(m), m < 120 ? 35.0 : 60.0, 5});
  }
  CHECK_FALSE(outside(run_of(coat_of(flashing_lacquer(), kMonday)).outlook(only(later), kMonday + hours(8)),
                      flashing));
}

TEST_CASE("Where a sheet states its own dew margin the trade's is not added", "[damp]") {
  core::Material m = flashing_lacquer();
  m.cure.limit.dew_margin = CelsiusDelta(5);
  const auto fair = steady_room(kMonday, days(1), 20, 0.5, 60);
  CHECK(run_of(coat_of(m, kMonday)).outlook(only(fair), kMonday + minutes(10)).outside.empty());
}

TEST_CASE("The blush dose counts until tack-free and for amine epoxies alone", "[damp]") {
  core::AirHistory damp_later;
  for (int m = 0; m <= 48 * 60; m += 5) {
    damp_later.put_temperature({kMonday + minutes(m), 20, 0});
    damp_later.put_humidity({kMonday + minutes(m), m < 12 * 60 ? 50.0 : 90.0, 0});
  }
  const auto damp = steady_room(kMonday, days(2), 20, 0, 90);
  const auto dose = [](core::Material m, const core::AirHistory& air) {
    return run_of(coat_of(std::move(m), kMonday)).outlook(only(air), kMonday + days(1)).blush_dose;
  };
  CHECK(*dose(three_row_epoxy(), damp) == Approx(core::blush_weight(0.90, 20)).epsilon(1e-6));
  CHECK(*dose(three_row_epoxy(), damp_later) == 0);
  CHECK_FALSE(dose(lacquer(), damp));
  CHECK_FALSE(dose(water_borne(), damp));
}

TEST_CASE("The colder and the damper the air the greater the blush dose", "[damp]") {
  const auto dose = [](double celsius, double rh) {
    const auto air = steady_room(kMonday, days(2), celsius, 0, rh);
    return *run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(air), kMonday + days(1)).blush_dose;
  };
  CHECK(dose(12, 75) > dose(20, 75));
  CHECK(dose(20, 80) > dose(20, 70));
  CHECK(dose(20, 55) == 0);
}

TEST_CASE("What a blush dose asks for grows with it, and moisture on the coat asks for it in any case",
          "[damp]") {
  CHECK(core::blush_words(std::nullopt, Hours(2)).empty());
  CHECK(core::blush_words(0.05, Hours(0)).empty());
  CHECK(core::blush_words(0.2, Hours(0)).find("somewhat damp") == 0);
  CHECK(core::blush_words(0.5, Hours(0)).find("blush is likely") != std::string::npos);
  CHECK(core::blush_words(0.0, Hours(0.1)).find("moisture lay on it") == 0);
}

TEST_CASE("Hours under the floor before tack-free are told from four on", "[damp]") {
  CHECK(core::cold_words(Hours(4)).empty());
  CHECK(core::cold_words(Hours(5.6)) ==
        "6 h under its cure floor before it was tack-free: what it will be is uncertain");
  const auto cold = room(
      kMonday, days(3), minutes(10), [](double h) { return h < 6 ? 6.0 : 20.0; }, 0.5);
  const auto outlook = run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(cold), kMonday + days(2));
  CHECK(outlook.under_floor.count() == Approx(6).margin(0.4));
}

TEST_CASE("Humidity limits hold both ways for as long after the coat as the sheet says", "[damp]") {
  core::Material m = lacquer();
  m.family = core::Family::moisture_cured_urethane;
  m.cure.limit.humidity = {RelativeHumidity::percent(30), RelativeHumidity::percent(80)};
  m.cure.lasts = Hours(24);
  const auto during = [&](double rh, double from_h) {
    core::AirHistory air;
    for (int i = 0; i <= 60 * 60; i += 5) {
      air.put_temperature({kMonday + minutes(i), 20, 0});
      air.put_humidity({kMonday + minutes(i), i < from_h * 60 ? 50.0 : rh, 0});
    }
    return run_of(coat_of(m, kMonday)).outlook(only(air), kMonday + hours(40));
  };
  CHECK(outside(during(85, 20), "humidity above the limit"));
  CHECK(outside(during(20, 20), "humidity below the limit"));
  CHECK_FALSE(outside(during(85, 25), "humidity above the limit"));
  CHECK_FALSE(outside(during(20, 25), "humidity below the limit"));
}

TEST_CASE("Grams over the coated area are a film where nothing evaporates", "[cure]") {
  core::CoatMade made;
  made.grams = quantity::Grams(13.2);
  const quantity::SquareCentimetres area(300);
  core::Material epoxy = three_row_epoxy();
  // 13.2 g at 1.1 g/cm³ are 12 cm³, on 300 cm² 0.4 mm.
  CHECK(core::film_of(epoxy, made, area)->value() == Approx(400));
  CHECK_FALSE(core::film_of(lacquer(), made, area));
  CHECK_FALSE(core::film_of(epoxy, made, std::nullopt));
  epoxy.mix = core::Mix{};
  epoxy.mix->by_weight = 2.0;
  epoxy.mix->density_a = quantity::GramsPerCubicCentimetre(1.2);
  epoxy.mix->density_b = quantity::GramsPerCubicCentimetre(0.9);
  CHECK(core::mixed_density(epoxy) == Approx(3 / (2 / 1.2 + 1 / 0.9)));
  made.film = quantity::Micrometres(250);
  CHECK(core::film_of(epoxy, made, area)->value() == 250);
}

TEST_CASE("Thinner than the sheet's pour is slower for an epoxy, thicker for an enamel", "[cure]") {
  const auto sure_h = [](core::Material m, double reference_um, double film_um) {
    m.reference_film = quantity::Micrometres(reference_um);
    CoatCase coat = coat_of(std::move(m), kMonday);
    coat.coat.made.film = quantity::Micrometres(film_um);
    const auto air = steady_room(kMonday, days(5), 20);
    return Hours(*run_of(coat).outlook(only(air), kMonday + days(5)).clock(Milestone::handling)->at.slow -
                 kMonday)
        .count();
  };
  CHECK(sure_h(three_row_epoxy(), 5000, 400) > 1.1 * sure_h(three_row_epoxy(), 5000, 5000));
  CHECK(sure_h(three_row_epoxy(), 400, 800) == Approx(sure_h(three_row_epoxy(), 400, 400)));
  core::Material enamel = lacquer();
  enamel.family = core::Family::alkyd;
  CHECK(sure_h(enamel, 60, 90) == Approx(1.5 * 1.5 * sure_h(enamel, 60, 60)).epsilon(1e-3));
  CHECK(sure_h(enamel, 60, 30) == Approx(sure_h(enamel, 60, 60)).epsilon(1e-6));
}

TEST_CASE("Full cure gets words instead of a date where the week was too cool for it", "[cure]") {
  // The coldest row is at 10 °C: its last quarter counts from 5 °C on, but not under the stated floor of 8.
  const auto told = [](double celsius) {
    const auto air = steady_room(kMonday - days(1), days(9), celsius);
    const Outlook outlook = run_of(coat_of(three_row_epoxy(), kMonday)).outlook(only(air), kMonday + days(7));
    return *outlook.clock(Milestone::full_cure);
  };
  const auto cool = told(7.5), fair = told(9);
  CHECK(cool.not_known == core::kNotReachedHere);
  CHECK_FALSE(cool.at.slow);
  CHECK_FALSE(cool.at.expected);
  CHECK(fair.not_known.empty());
  CHECK(fair.at.slow);
  CHECK(fair.at.expected);
}

TEST_CASE("A day or two of cold do not withhold the date of full cure", "[cure]") {
  const auto air = room(
      kMonday - days(7), days(8), minutes(5), [](double h) { return h < 6 * 24 ? 20.0 : 4.0; }, 0);
  const Outlook outlook =
      run_of(coat_of(three_row_epoxy(), kMonday - days(2))).outlook(only(air), kMonday + days(1));
  CHECK(outlook.clock(Milestone::full_cure)->not_known.empty());
  CHECK(*core::week_mean_c(air, kMonday + days(1)) == Approx((5 * 20 + 2 * 4) / 7.0).margin(0.3));
  CHECK_FALSE(core::week_mean_c(steady_room(kMonday, hours(5), 20), kMonday + hours(5)));
}

}  // namespace setwell::tests
