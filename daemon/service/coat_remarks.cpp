#include "daemon/service/coat_remarks.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/core/brought_in.hpp"
#include "daemon/core/drying.hpp"
#include "daemon/service/piece_view.hpp"
#include "sensors/air/psychrometrics.hpp"

namespace setwell::service {
namespace {

using quantity::Celsius;
using quantity::Instant;

/// The air of a zone at one moment, with its errors.
struct AirThen {
  Celsius air{0.0};
  quantity::RelativeHumidity humidity = quantity::RelativeHumidity::percent(50);
  air::AirErrors errors;
};

const core::AirPoint* newest(const std::vector<core::AirPoint>& points, Instant at, quantity::Span lasts) {
  const auto next = std::upper_bound(points.begin(), points.end(), at,
                                     [](Instant t, const core::AirPoint& point) { return t < point.at; });
  if (next == points.begin() || at - (next - 1)->at > lasts) return nullptr;
  return &*(next - 1);
}

std::optional<AirThen> air_then(const Workshop& workshop, const quantity::ZoneId& zone, Instant at) {
  const auto found = workshop.zones.find(zone);
  if (found == workshop.zones.end()) return std::nullopt;
  const auto& history = found->second.history();
  const auto* warmth = newest(history.temperature(), at, history.limits().temperature_silent_after);
  const auto* damp = newest(history.humidity(), at, history.limits().humidity_silent_after);
  if (warmth == nullptr || damp == nullptr) return std::nullopt;
  const auto air = Celsius::from(warmth->value);
  const auto humidity = quantity::RelativeHumidity::from_percent(damp->value);
  if (!air || !humidity) return std::nullopt;
  return AirThen{*air, *humidity, {quantity::CelsiusDelta(warmth->error), damp->error}};
}

/// The dew margin that the sheet asks for, the strictest it states; else the trade's.
quantity::CelsiusDelta wanted_margin(const core::Material& material) {
  std::optional<quantity::CelsiusDelta> most;
  for (const auto* stated : {&material.application.limit, &material.application.advised, &material.cure.limit,
                             &material.cure.advised}) {
    if (stated->dew_margin && (!most || *most < *stated->dew_margin)) most = stated->dew_margin;
  }
  return most.value_or(core::least_dew_margin(material.family, core::Film::set));
}

quantity::Minutes lag_of(const Workshop& workshop, const core::Piece& piece) {
  const auto* form = workshop.settings->form(piece.made.form);
  return form != nullptr ? form->lag : core::CoatCase{}.lag;
}

std::string minutes_words(quantity::Minutes span) {
  return fmt::format("{:.0f} min", std::ceil(span.count()));
}

std::string warming_words(const core::BroughtIn& told, const std::string& margin) {
  if (!told.likely || !told.surely) {
    return fmt::format("This air does not surely bring it {} above the dew point: drier or warmer air first",
                       margin);
  }
  if (told.surely->count() <= 0) return fmt::format("It was surely {} above the dew point already", margin);
  return fmt::format(
      "Leave it uncoated until it is {} above the dew point: likely {}, surely {} after it came in", margin,
      minutes_words(*told.likely), minutes_words(*told.surely));
}

std::string lamp_remark(const core::Material& material, const core::CoatMade& made) {
  if (material.family != core::Family::light_cured || made.lamp) return {};
  return "No minutes under the lamp are logged, so its clocks wait. `setwell amend N --lamp MIN` adds them, "
         "N "
         "being the entry above.";
}

std::string load_remark(const core::Material& material, const core::CoatMade& made) {
  if (made.load == core::Load::none) return {};
  const auto load = std::string(core::word(made.load));
  for (const auto& rule : material.loaded) {
    if (rule.load != load) continue;
    std::string text = "With " + load + ", by the sheet: " + rule.note;
    if (rule.opens_at_least)
      text += fmt::format("{}not before {:g} h at its own temperature", rule.note.empty() ? "" : "; ",
                          rule.opens_at_least->count());
    return text + ".";
  }
  return fmt::format("The sheet says nothing about {}; its times are those without.", load);
}

}  // namespace

std::string brought_in_remark(const Workshop& workshop, const CoatSaid& coat) {
  const auto& from = coat.made->piece_from;
  if (!from) return {};
  const auto display = display_of(*workshop.settings);
  const auto air = air_then(workshop, coat.made->zone, coat.made->last_pass);
  if (!air) {
    return fmt::format(
        "{} came from {}: without readings of the air nobody can tell whether water condenses on "
        "it; wipe and feel before coating.",
        coat.piece->id.text(), core::show(*from, display));
  }
  if (*from >= air->air) return {};
  const auto wanted = wanted_margin(*coat.material);
  const auto told =
      core::brought_in(*from, air->air, air->humidity, air->errors, lag_of(workshop, *coat.piece), wanted);
  if (!told) return {};
  return fmt::format("{} came from {}; the dew point here is {}{}. {}.", coat.piece->id.text(),
                     core::show(*from, display), core::show(told->dew_point, display),
                     told->condenses ? ", so water condenses on it" : "",
                     warming_words(*told, core::show(wanted, display)));
}

std::string too_dry_remark(const Workshop& workshop, const core::Material& material,
                           const quantity::ZoneId& zone, Instant at) {
  if (material.family != core::Family::moisture_cured_urethane) return {};
  const auto air = air_then(workshop, zone, at);
  if (!air) return {};
  const double water = air::absolute_humidity(air->air, air->humidity);
  if (water >= core::kTooDryGramsPerCubicMetre) return {};
  return fmt::format(
      "too dry for a film that cures with the air's water: {:.1f} g/m³ of it, under {:g} it "
      "hardly cures",
      water, core::kTooDryGramsPerCubicMetre);
}

std::vector<std::string> coat_remarks(const Workshop& workshop, const CoatSaid& coat) {
  std::vector<std::string> remarks;
  const auto say = [&](std::string remark) {
    if (!remark.empty()) remarks.push_back(std::move(remark));
  };
  say(brought_in_remark(workshop, coat));
  say(lamp_remark(*coat.material, *coat.made));
  say(load_remark(*coat.material, *coat.made));
  auto dry = too_dry_remark(workshop, *coat.material, coat.made->zone, coat.made->last_pass);
  if (!dry.empty()) say("The air is " + dry + ".");
  return remarks;
}

}  // namespace setwell::service
