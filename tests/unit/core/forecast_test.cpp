#include "daemon/core/forecast.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <catch2/catch.hpp>

#include "daemon/core/coat_run.hpp"
#include "daemon/core/forecast_heated.hpp"
#include "daemon/core/overtaken.hpp"
#include "tests/support/materials.hpp"
#include "tests/support/rooms.hpp"

/// A forecast as a value, and what clocks and chances make of it.
namespace setwell::tests {

using core::Band;
using core::Forecast;
using core::ForecastPath;
using core::Milestone;
using quantity::Instant;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

/// Medians of `celsius(hours ahead)`, 90 % bands of `half` either way, 50 % of humidity.
template <typename Celsius>
Forecast forecast_of(Instant issued, double half, Celsius celsius) {
  Forecast out;
  out.issued = issued;
  out.air_error = 0;
  out.humidity_error = 0;
  for (int h = 0; h <= core::kForecastHours; ++h) {
    const double c = celsius(h);
    out.steps.push_back({issued + hours(h), Band{c - half, c - half / 2, c, c + half / 2, c + half},
                         Band{45, 48, 50, 52, 55}, Band{900, 950, 1000, 1050, 1100}});
  }
  return out;
}

ForecastPath steady_path(double celsius, double percent) {
  return {std::vector<float>(core::kForecastHours + 1, static_cast<float>(celsius)),
          std::vector<float>(core::kForecastHours + 1, static_cast<float>(percent))};
}

/// A coat two hours from tack-free at 20 degrees, whose floor is at 10.
struct Soft {
  std::shared_ptr<const core::SheetClocks> clocks =
      core::clocks_of(three_row_epoxy(), core::Load::none, {3.1, 0.10});
  core::SoftCoat coat;
  Soft() {
    for (const auto& clock : *clocks)
      if (clock.milestone == Milestone::tack_free) coat.tack_free = &*clock.rates;
    coat.surface_c = 20;
    coat.floor_c = 10.0;
    coat.dew_margin_k = 3.0;
  }
};

}  // namespace

TEST_CASE("Between its hours a forecast is linear, and before its issue as at its issue", "[forecast]") {
  const auto forecast = forecast_of(kMonday, 1.0, [](int h) { return 10.0 + h; });
  CHECK(core::step_at(forecast, kMonday + minutes(90))->air_c.median == Approx(11.5));
  CHECK(core::step_at(forecast, kMonday - hours(3))->air_c.median == Approx(10.0));
  CHECK(core::step_at(forecast, kMonday + hours(48))->air_c.median == Approx(58.0));
}

TEST_CASE("Beyond 48 h the last day comes again, no narrower than the last hour", "[forecast]") {
  auto forecast = forecast_of(kMonday, 1.0, [](int h) { return h < 24 ? 10.0 : 20.0 + h % 24; });
  forecast.steps.back().air_c.p5 = forecast.steps.back().air_c.median - 7.0;
  const auto step = core::step_at(forecast, kMonday + hours(48 + 24 + 6));
  CHECK(step->air_c.median == Approx(26.0));
  CHECK(step->air_c.p5 == Approx(19.0));
}

TEST_CASE("A forecast without hours gives no air", "[forecast]") {
  CHECK_FALSE(core::foretold(Forecast{}, kMonday, kMonday + hours(1)));
  CHECK_FALSE(core::step_at(Forecast{}, kMonday));
  CHECK_FALSE(core::coldest(Forecast{}, kMonday, kMonday + hours(9)));
}

TEST_CASE("The slow clock follows the cold edge of the forecast and the fast one the warm edge",
          "[forecast]") {
  const auto air = steady_room(kMonday, hours(1), 20);
  const auto run = run_of(coat_of(three_row_epoxy(), kMonday));
  const Instant now = kMonday + hours(1);
  const auto at = [&](double half) {
    const auto forecast = forecast_of(now, half, [](int) { return 20.0; });
    return run.outlook(only(air), now, nullptr, &forecast).clock(Milestone::recoat_opens, 0)->at;
  };
  const auto sharp = at(0.0);
  const auto wide = at(4.0);
  REQUIRE(wide.slow);
  CHECK(*wide.slow > *sharp.slow + hours(1));
  CHECK(*wide.fast < *sharp.fast - minutes(30));
  CHECK(std::abs((*wide.expected - *sharp.expected).count()) < 60000);
}

TEST_CASE("A cold night foretold makes an opening later than yesterday's mild one did", "[forecast]") {
  const auto air = steady_room(kMonday - days(2), days(2), 20);
  const auto run = run_of(coat_of(three_row_epoxy(), kMonday - minutes(30)));
  const auto cold = forecast_of(kMonday, 1.0, [](int h) { return h > 2 ? 12.0 : 20.0; });
  const auto by_yesterday = run.outlook(only(air), kMonday).clock(Milestone::recoat_opens, 0)->at;
  const auto by_forecast =
      run.outlook(only(air), kMonday, nullptr, &cold).clock(Milestone::recoat_opens, 0)->at;
  CHECK(*by_forecast.expected > *by_yesterday.expected + hours(2));
}

TEST_CASE("A chance is the share of paths that overtake the coat before it is tack-free", "[forecast]") {
  Soft soft;
  Forecast forecast = forecast_of(kMonday, 1.0, [](int) { return 20.0; });
  for (int i = 0; i < 20; ++i)
    forecast.paths.push_back(steady_path(i < 5 ? 4.0 : 22.0, 40.0));
  const auto trouble = core::overtaken(soft.coat, forecast, kMonday);
  REQUIRE(trouble.size() == 1);
  CHECK(trouble.front().kind == core::TroubleKind::under_floor);
  CHECK(trouble.front().chance == Approx(0.25));
  CHECK(trouble.front().at > kMonday);
  CHECK(trouble.front().at <= kMonday + hours(1));
}

TEST_CASE("Damp paths threaten the dew margin, and a rare one is not told", "[forecast]") {
  Soft soft;
  Forecast forecast = forecast_of(kMonday, 1.0, [](int) { return 20.0; });
  for (int i = 0; i < 40; ++i)
    forecast.paths.push_back(steady_path(20.0, i == 0 ? 95.0 : 50.0));
  CHECK(core::overtaken(soft.coat, forecast, kMonday).empty());
  for (int i = 0; i < 20; ++i)
    forecast.paths[static_cast<std::size_t>(i)] = steady_path(20.0, 95.0);
  const auto trouble = core::overtaken(soft.coat, forecast, kMonday);
  REQUIRE(trouble.size() == 1);
  CHECK(trouble.front().kind == core::TroubleKind::dew_margin);
  CHECK(trouble.front().chance == Approx(0.5));
}

TEST_CASE("Cold after tack-free threatens nothing", "[forecast]") {
  Soft soft;
  soft.coat.progress = 0.99;
  Forecast forecast = forecast_of(kMonday, 1.0, [](int) { return 20.0; });
  auto path = steady_path(22.0, 40.0);
  std::fill(path.air_c.begin() + 12, path.air_c.end(), 2.0F);
  forecast.paths.assign(20, path);
  CHECK(core::overtaken(soft.coat, forecast, kMonday).empty());
}

TEST_CASE("Without paths no chance is told", "[forecast]") {
  Soft soft;
  CHECK(core::overtaken(soft.coat, forecast_of(kMonday, 1.0, [](int) { return 2.0; }), kMonday).empty());
}

TEST_CASE("A chance stands beside what is known of the coat, and is kept with the times ahead",
          "[forecast]") {
  const auto air = steady_room(kMonday, hours(1), 20);
  const auto run = run_of(coat_of(three_row_epoxy(), kMonday));
  const Instant now = kMonday + hours(1);
  auto forecast = forecast_of(now, 1.0, [](int) { return 20.0; });
  forecast.paths.assign(20, steady_path(20.0, 97.0));
  const auto outlook = run.outlook(only(air), now, nullptr, &forecast);
  REQUIRE(outlook.trouble.size() == 1);
  CHECK(outlook.trouble.front().chance == Approx(1.0));
  const auto later = run.outlook(only(air), now + minutes(1), &outlook, &forecast);
  CHECK(later.trouble == outlook.trouble);
}

TEST_CASE("A heated zone that is on is foretold at its set-point, as dry as the room's moisture makes it",
          "[forecast]") {
  const auto room = forecast_of(kMonday, 2.0, [](int h) { return 12.0 + h % 3; });
  const auto heated = core::heated_forecast(quantity::Celsius(35.0), &room, kMonday);
  REQUIRE(heated.steps.size() == room.steps.size());
  CHECK(heated.basis.method == core::ForecastMethod::heated);
  for (const auto& step : heated.steps) {
    CHECK(step.air_c.median == 35.0);
    REQUIRE(step.humidity_pct);
    CHECK(step.humidity_pct->median == Approx(17.8).margin(0.3));  // 1000 Pa over 5627 Pa
  }
  CHECK_FALSE(core::heated_forecast(quantity::Celsius(35.0), nullptr, kMonday).steps.front().humidity_pct);
}

}  // namespace setwell::tests
