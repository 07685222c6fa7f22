#include "daemon/service/forecast_view.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/show.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/zone_view.hpp"
#include "sensors/air/psychrometrics.hpp"

namespace setwell::service {

using core::Forecast;
using quantity::Instant;
using quantity::ZoneId;

namespace {

/// A night is over at nine by the clock on the wall.
constexpr std::chrono::hours kMorning{9};

api::BandNow band_now(const core::Band& band) {
  return {band.p5, band.p25, band.median, band.p75, band.p95};
}

std::optional<api::BandNow> band_now(const std::optional<core::Band>& band) {
  if (!band) return std::nullopt;
  return band_now(*band);
}

std::string learned_words(const core::ForecastBasis& basis) {
  const double days = basis.learned.count() / 24.0;
  if (days < 2) return fmt::format("{:.0f} h", basis.learned.count());
  return fmt::format("{:.0f} days", days);
}

std::string words_of(const core::ForecastBasis& basis) {
  if (!basis.remark.empty()) return basis.remark + ".";
  if (basis.wide)
    return fmt::format(
        "Forecast from {} of readings: it still learns this room, so its bands are general, wide ones.",
        learned_words(basis));
  std::string text = fmt::format("Forecast, learned from {} of readings.", learned_words(basis));
  if (basis.skill_6h && basis.skill_24h)
    text += fmt::format(
        " Its error over 14 days was {:.0f} % of the best plain guess 6 h ahead, {:.0f} % 24 h ahead.",
        100 * *basis.skill_6h, 100 * *basis.skill_24h);
  return text;
}

/// The next morning's hour, by the workshop's clock.
Instant morning_after(const quantity::TimeZone& zone, Instant now) {
  const auto local = zone.to_local(now);
  const auto day = std::chrono::floor<std::chrono::days>(local);
  const auto morning = local < day + kMorning ? day + kMorning : day + std::chrono::days(1) + kMorning;
  return now + std::chrono::duration_cast<quantity::Span>(morning - local);
}

std::string temperature(double celsius, const core::Display& display) {
  return core::show(quantity::Celsius(celsius), display);
}

std::string margin_words(const core::ForecastStep& step, const core::Display& display) {
  if (!step.humidity_pct) return {};
  const auto margin = air_margin(step.air_c.median, step.humidity_pct->median);
  if (!margin) return {};
  return fmt::format(", {} above the dew point", core::show(quantity::CelsiusDelta(*margin), display));
}

std::string chance_words(const core::Outlook& outlook, const core::Display& display, Instant now) {
  std::string text;
  for (const auto& trouble : outlook.trouble) {
    if (!trouble.chance) continue;
    const char* what = trouble.kind == core::TroubleKind::under_floor
                           ? "its surface falls under the cure floor"
                           : "it comes too near the dew point";
    text += fmt::format(" Chance {:.0f} % that {} before it is tack-free, from about {}.",
                        100 * *trouble.chance, what, core::moment(trouble.at, now, display));
  }
  return text;
}

/// Counted on the paths, which have both quantities together.
std::optional<core::Band> margin_band(const Forecast& forecast, std::size_t step) {
  std::vector<double> margins;
  for (const auto& path : forecast.paths) {
    if (step >= path.air_c.size() || step >= path.humidity_pct.size()) return std::nullopt;
    if (const auto margin = air_margin(path.air_c[step], path.humidity_pct[step])) margins.push_back(*margin);
  }
  if (margins.empty()) return std::nullopt;
  std::sort(margins.begin(), margins.end());
  const auto at = [&](double share) {
    return margins[static_cast<std::size_t>(share * static_cast<double>(margins.size() - 1) + 0.5)];
  };
  return core::Band{at(0.05), at(0.25), at(0.5), at(0.75), at(0.95)};
}

}  // namespace

std::optional<double> air_margin(double air_c, double humidity_pct) {
  const auto air = quantity::Celsius::from(air_c);
  const auto humidity = quantity::RelativeHumidity::from_percent(humidity_pct);
  const auto dew = air && humidity ? air::dew_point(*air, *humidity) : std::nullopt;
  if (!dew) return std::nullopt;
  return (*air - *dew).kelvin();
}

std::optional<api::ForecastNow> forecast_now(Workshop& workshop, const ZoneId& zone) {
  const auto& answer = workshop.forecasts.of(zone, workshop.zones);
  if (!answer.forecast) return std::nullopt;
  const Forecast& forecast = *answer.forecast;
  const auto& clock = workshop.settings->workshop.time_zone;
  api::ForecastNow shown;
  shown.issued = api::time_text(forecast.issued, clock);
  shown.learning_since = api::time_text(forecast.basis.learning_since, clock);
  shown.learned_h = forecast.basis.learned.count();
  shown.wide = forecast.basis.wide;
  shown.method = core::word(forecast.basis.method);
  shown.skill_6h = forecast.basis.skill_6h;
  shown.skill_24h = forecast.basis.skill_24h;
  for (std::size_t i = 0; i < forecast.steps.size(); ++i) {
    const auto& step = forecast.steps[i];
    shown.steps.push_back({api::time_text(step.at, clock), band_now(step.air_c), band_now(step.humidity_pct),
                           band_now(step.vapour_pa), band_now(margin_band(forecast, i))});
  }
  return shown;
}

std::string ahead_in(Workshop& workshop, const ZoneId& zone) {
  const auto& answer = workshop.forecasts.of(zone, workshop.zones);
  if (answer.forecast) return words_of(answer.forecast->basis);
  return answer.why_none + ". Times ahead take yesterday's same hour, else the last good value";
}

std::string ahead_of_all(Workshop& workshop) {
  std::string without;
  std::string wide;
  bool any = false;
  for (const auto& zone : workshop.settings->zones) {
    const auto& answer = workshop.forecasts.of(zone.id, workshop.zones);
    auto& list = !answer.forecast ? without : wide;
    any = any || answer.forecast;
    if (!answer.forecast || answer.forecast->basis.wide) list += (list.empty() ? "" : ", ") + zone.id.text();
  }
  if (!any) return std::string(kNoForecast);
  std::string text =
      "Times ahead follow each zone's forecast: what is sure its cold edge, what is expected its middle.";
  if (!wide.empty()) text += " Still learning, with wide bands: " + wide + ".";
  if (!without.empty()) text += " Without a forecast, by yesterday's same hour: " + without + ".";
  return text;
}

std::string night_words(Workshop& workshop, const core::Piece& piece, Instant now) {
  const auto zone = zone_of(piece, now);
  if (piece.coats.empty() || !zone) return {};
  const auto& answer = workshop.forecasts.of(*zone, workshop.zones);
  if (!answer.forecast) return {};
  const auto view = view_of(workshop, piece, piece.coats.back(), now);
  if (!view || view->recomputing) return {};
  const auto* tack_free = view->outlook->clock(core::Milestone::tack_free);
  if (tack_free != nullptr && tack_free->reached.slow) return {};
  const bool counted = tack_free != nullptr && !tack_free->reached.expected && view->outlook->surface_c;
  const auto morning = morning_after(workshop.settings->workshop.time_zone, now);
  const auto step = core::coldest(*answer.forecast, now, morning);
  if (!step) return {};
  const auto display = display_of(*workshop.settings);
  auto text =
      fmt::format("Until {} {} gets coldest about {}: {} ({} to {} in nine cases of ten){}.",
                  core::moment(morning, now, display), zone->text(), core::moment(step->at, now, display),
                  temperature(step->air_c.median, display), temperature(step->air_c.p5, display),
                  temperature(step->air_c.p95, display), margin_words(*step, display));
  if (const auto& floor = view->material->cure_floor)
    text += fmt::format(" Its cure stops below {}.", core::show(*floor, display));
  if (answer.forecast->paths.empty()) return text + " The forecast is too new to give a chance.";
  if (!counted) return text;
  const auto chances = chance_words(*view->outlook, display, now);
  return text + (chances.empty()
                     ? " The chance that the air overtakes it before it is tack-free is under 5 %."
                     : chances);
}

}  // namespace setwell::service
