#include <algorithm>

#include "daemon/service/sensor_book.hpp"
#include "sensors/air/psychrometrics.hpp"

/// From values that are trusted, and readings by hand, to the air of the zones.
namespace setwell::service {

using quantity::Instant;
using quantity::MeasuredQuantity;

namespace {

/// A reading by hand stands for this long.
constexpr auto kHandLasts = std::chrono::minutes(30);
/// °C, where a humidity came without any temperature: what an offset does to it hardly depends on it.
constexpr double kUsualRoom = 20.0;

core::AirPoint point_of(const decode::ChannelSpec& spec, Instant at, double value) {
  const bool temperature = decode::is_temperature(spec.quantity);
  const double calibrated = value + decode::offset_at(spec, at);
  return {
      at, temperature ? calibrated : std::clamp(calibrated, 0.0, 100.0),
      decode::error_of(spec) + (spec.quantity == MeasuredQuantity::air_temperature ? kPlacementKelvin : 0.0)};
}

void note(std::vector<AirChange>& changes, const quantity::ZoneId& zone, std::optional<Instant> at) {
  if (at) changes.push_back({zone, *at, {}});
}

void put_hand(const core::Event<core::HandReading>& reading, Zones& zones, std::vector<AirChange>& changes) {
  const auto& body = reading.body;
  const auto zone = body.zone ? zones.find(*body.zone) : zones.end();
  if (zone == zones.end()) return;
  for (const auto at : {reading.happened, reading.happened + kHandLasts}) {
    if (body.air) {
      note(changes, *body.zone,
           zone->second.put_temperature(kHandRank,
                                        {at, body.air->degrees(), body.temperature_error.kelvin()}));
    }
    if (body.humidity) {
      note(changes, *body.zone,
           zone->second.put_humidity(kHandRank,
                                     {at, body.humidity->for_air() * 100, body.humidity_error_percent}));
    }
  }
}

void drop_hand(const core::Event<core::HandReading>& reading, Zones& zones, std::vector<AirChange>& changes) {
  const auto& body = reading.body;
  const auto zone = body.zone ? zones.find(*body.zone) : zones.end();
  if (zone == zones.end()) return;
  for (const auto at : {reading.happened, reading.happened + kHandLasts}) {
    note(changes, *body.zone, zone->second.drop_temperature(kHandRank, at));
    note(changes, *body.zone, zone->second.drop_humidity(kHandRank, at));
  }
}

}  // namespace

bool feeds_air(const decode::ChannelSpec& spec) {
  return spec.quantity == MeasuredQuantity::air_temperature ||
         spec.quantity == MeasuredQuantity::relative_humidity;
}

bool moves_clocks(const decode::ChannelSpec& spec) {
  return feeds_air(spec) || spec.quantity == MeasuredQuantity::surface_temperature;
}

std::vector<AirChange> SensorBook::hand_changed(const std::vector<core::Event<core::HandReading>>& hand,
                                                Zones& zones) {
  std::vector<AirChange> changes;
  for (const auto& old : hand_) {
    if (std::find(hand.begin(), hand.end(), old) == hand.end()) drop_hand(old, zones, changes);
  }
  for (const auto& reading : hand) {
    if (std::find(hand_.begin(), hand_.end(), reading) == hand_.end()) put_hand(reading, zones, changes);
  }
  hand_ = hand;
  return changes;
}

const Series* SensorBook::thermometer_beside(const Series& series) const {
  if (series.spec().quantity != MeasuredQuantity::relative_humidity) return nullptr;
  const auto found = std::find_if(series_.begin(), series_.end(), [&](const Series& other) {
    return other.spec().quantity == MeasuredQuantity::air_temperature &&
           other.spec().zone == series.spec().zone && other.spec().topic == series.spec().topic &&
           !other.spec().offset.empty();
  });
  return found == series_.end() ? nullptr : &*found;
}

double SensorBook::told_by(const Series& series, Instant at, double value,
                           const ledger::Ledger& ledger) const {
  const auto* thermometer = thermometer_beside(series);
  const double offset = thermometer != nullptr ? decode::offset_at(thermometer->spec(), at) : 0.0;
  if (offset == 0.0) return value;
  const auto near =
      ledger.trusted(thermometer->number, at - thermometer->spec().silent_after, at + quantity::Span(1));
  const double raw = near.empty() ? kUsualRoom : near.back().value;
  const auto warm = quantity::Celsius::from(raw), truly = quantity::Celsius::from(raw + offset);
  const auto humidity = quantity::RelativeHumidity::from_percent(std::clamp(value, 0.0, 105.0));
  if (!warm || !truly || !humidity) return value;
  return 100 * air::surface_humidity(*warm, *humidity, *truly);
}

void SensorBook::follow_thermometer(const Series& thermometer, Instant at, const ledger::Ledger& ledger,
                                    Zones& zones, std::vector<AirChange>& changes) const {
  if (thermometer.spec().offset.empty()) return;
  const auto upto = at + thermometer.spec().silent_after + quantity::Span(1);
  for (const auto& series : series_) {
    if (thermometer_beside(series) != &thermometer) continue;
    for (const auto& reading : ledger.trusted(series.number, at, upto))
      apply(series, reading.measured, reading.value, true, ledger, zones, changes);
  }
}

void SensorBook::apply(const Series& series, Instant at, double value, bool counts,
                       const ledger::Ledger& ledger, Zones& zones, std::vector<AirChange>& changes) const {
  const auto& spec = series.spec();
  const auto zone = zones.find(spec.zone);
  if (zone == zones.end() || !moves_clocks(spec)) return;
  auto& air = zone->second;
  if (spec.quantity == MeasuredQuantity::surface_temperature) {
    const auto changed = counts ? air.put_surface(spec.place, series.rank, point_of(spec, at, value))
                                : air.drop_surface(spec.place, series.rank, at);
    if (changed) changes.push_back({spec.zone, *changed, spec.place});
    return;
  }
  const bool temperature = spec.quantity == MeasuredQuantity::air_temperature;
  if (counts) {
    const auto point = point_of(spec, at, told_by(series, at, value, ledger));
    note(changes, spec.zone,
         temperature ? air.put_temperature(series.rank, point) : air.put_humidity(series.rank, point));
  } else {
    note(changes, spec.zone,
         temperature ? air.drop_temperature(series.rank, at) : air.drop_humidity(series.rank, at));
  }
}

}  // namespace setwell::service
