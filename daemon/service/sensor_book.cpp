#include "daemon/service/sensor_book.hpp"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "sensors/decode/decoder.hpp"
#include "sensors/screen/screen.hpp"

namespace setwell::service {

using decode::DecodedValue;
using decode::RawMessage;
using ledger::StoredReading;
using quantity::Instant;
using quantity::MeasuredQuantity;

namespace {

/// Of each sensor; more than a month of one that restarts every night.
constexpr std::size_t kBirthsKept = 40;

std::size_t rank_of(const std::vector<Series>& series, const decode::ChannelSpec& spec) {
  return static_cast<std::size_t>(std::count_if(series.begin(), series.end(), [&](const Series& each) {
    return each.spec().zone == spec.zone && each.spec().quantity == spec.quantity;
  }));
}

core::AirHistory::Limits limits_of(const settings::Settings& settings, const quantity::ZoneId& zone) {
  core::AirHistory::Limits limits;
  for (const auto& spec : settings.channels) {
    if (spec.zone != zone) continue;
    if (spec.quantity == MeasuredQuantity::air_temperature)
      limits.temperature_silent_after = spec.silent_after;
    if (spec.quantity == MeasuredQuantity::relative_humidity)
      limits.humidity_silent_after = spec.silent_after;
  }
  return limits;
}

std::string births_memo(const quantity::ChannelId& id) {
  return "births/" + id.text();
}

std::string births_text(const std::vector<Instant>& births) {
  std::string text;
  for (const auto at : births)
    text += fmt::format("{} ", quantity::to_ms(at));
  return text;
}

/// Births as `births_text` wrote them: late readings of a restarted sensor are judged by them, also after a
/// restart of ours.
std::vector<Instant> births_in(std::string_view text) {
  std::vector<Instant> births;
  std::int64_t ms = 0;
  while (!text.empty()) {
    const auto read = std::from_chars(text.data(), text.data() + text.size(), ms);
    if (read.ec != std::errc()) break;
    births.push_back(quantity::instant_from_ms(ms));
    text.remove_prefix(static_cast<std::size_t>(read.ptr - text.data()));
    if (!text.empty()) text.remove_prefix(1);
  }
  return births;
}

}  // namespace

void SensorBook::load(const settings::Settings& settings, ledger::Ledger& ledger, Zones& zones, Instant since,
                      const std::vector<core::Event<core::HandReading>>& hand, Instant now) {
  series_.clear();
  births_.clear();
  zones.clear();
  hand_.clear();
  for (const auto& zone : settings.zones)
    zones.emplace(zone.id, ZoneAir(limits_of(settings, zone.id)));
  for (const auto& spec : settings.channels) {
    const auto id = decode::id_of(spec);
    const auto known =
        std::find_if(series_.begin(), series_.end(), [&](const Series& each) { return each.id == id; });
    if (known != series_.end()) {
      known->ways.push_back(&spec);
      continue;
    }
    Series fresh;
    fresh.rank = rank_of(series_, spec);
    fresh.ways.push_back(&spec);
    fresh.id = id;
    fresh.number = ledger.channel_number(id);
    fresh.state = ledger.channel_state(fresh.number);
    fresh.watched_from = now;
    births_[id] = births_in(ledger.memo(births_memo(id)).value_or(""));
    if (spec.quantity == MeasuredQuantity::surface_temperature) {
      const auto zone = zones.find(spec.zone);
      if (zone != zones.end()) zone->second.add_place(spec.place, spec.silent_after);
    }
    series_.push_back(std::move(fresh));
  }
  std::vector<AirChange> ignored;
  for (const auto& series : series_) {
    if (!moves_clocks(series.spec())) continue;
    for (const auto& reading : ledger.trusted(series.number, since, Instant::max()))
      apply(series, reading.measured, reading.value, true, ledger, zones, ignored);
  }
  (void)hand_changed(hand, zones);
}

std::optional<Instant> SensorBook::device_time(const RawMessage& message) const {
  std::optional<Instant> newest;
  for (const auto& series : series_) {
    for (const auto* way : series.ways) {
      if (way->topic != message.topic) continue;
      const auto at = decode::device_time_of(*way, message);
      if (at && (!newest || *at > *newest)) newest = at;
    }
  }
  return newest;
}

bool SensorBook::redelivered(const RawMessage& message, const std::vector<RawMessage>& previous) {
  if (message.connection != connection_) {
    connection_ = message.connection;
    unmatched_.clear();
    for (const auto& old : previous)
      unmatched_.push_back({old.topic, old.payload, old.duplicate});
  }
  if (!message.duplicate) return false;
  const screen::Delivery delivery{message.topic, message.payload, true};
  if (!screen::find_redeliveries(unmatched_, std::span(&delivery, 1)).front()) return false;
  const auto match = std::find_if(unmatched_.begin(), unmatched_.end(), [&](const screen::Delivery& old) {
    return old.topic == delivery.topic && old.payload == delivery.payload;
  });
  if (match != unmatched_.end()) unmatched_.erase(match);
  return true;
}

bool SensorBook::take_presence(const RawMessage& message, ledger::Ledger& ledger, Zones& zones,
                               std::vector<AirChange>& changes) {
  bool mine = false;
  for (auto& series : series_) {
    for (const auto* way : series.ways) {
      if (!way->availability || way->availability->topic != message.topic) continue;
      mine = true;
      const auto presence = decode::decode_presence(*way->availability, message);
      if (!presence) continue;
      const bool online = *presence == decode::Presence::online;
      if (online && !message.retained) {
        auto& births = births_[series.id];
        births.push_back(message.received);
        if (births.size() > kBirthsKept) births.erase(births.begin());
        ledger.set_memo(births_memo(series.id), births_text(births));
        screen_again(series, message.received, nullptr, message, ledger, zones, changes);
      }
      series.state.online = online;
      ledger.set_channel_state(series.number, series.state);
    }
  }
  return mine;
}

std::vector<AirChange> SensorBook::take(const RawMessage& message, const std::vector<RawMessage>& previous,
                                        ledger::Ledger& ledger, Zones& zones) {
  std::vector<AirChange> changes;
  const bool repeated = redelivered(message, previous);
  bool mapped = take_presence(message, ledger, zones, changes);
  for (auto& series : series_) {
    for (const auto* way : series.ways) {
      if (way->topic != message.topic) continue;
      mapped = true;
      take_by(series, *way, message, repeated, ledger, zones, changes);
    }
  }
  if (!mapped) ledger.put_refused(refused_row(message.topic, message, quantity::Refusal::unmapped));
  return changes;
}

ledger::RefusedRow SensorBook::refused_row(const std::string& source, const RawMessage& message,
                                           quantity::Refusal reason) {
  return {source, message.topic,   message.received,
          reason, message.payload, static_cast<std::int64_t>(message.payload_size)};
}

void SensorBook::take_by(Series& series, const decode::ChannelSpec& way, const RawMessage& message,
                         bool repeated, ledger::Ledger& ledger, Zones& zones,
                         std::vector<AirChange>& changes) {
  if (!message.retained) {
    series.state.last_message =
        std::max(series.state.last_message.value_or(message.received), message.received);
    series.state.qos = std::min(series.state.qos.value_or(message.qos), message.qos);
  }
  for (const auto& item : decode::decode(way, message)) {
    const auto* value = std::get_if<DecodedValue>(&item);
    // A device time or a sequence number tells a repeat by itself, through the screening.
    const bool known_repeat = value != nullptr && repeated && !value->by_device && !value->seq;
    if (value == nullptr || known_repeat) {
      const auto reason = value == nullptr ? std::get<quantity::Refusal>(item) : quantity::Refusal::duplicate;
      ledger.put_refused(refused_row(series.id.text(), message, reason));
    } else {
      take_value(series, *value, message, ledger, zones, changes);
    }
  }
  ledger.set_channel_state(series.number, series.state);
}

void SensorBook::take_value(Series& series, const DecodedValue& value, const RawMessage& message,
                            ledger::Ledger& ledger, Zones& zones, std::vector<AirChange>& changes) {
  StoredReading reading;
  reading.channel = series.number;
  reading.decoded = value;
  reading.inbox_row = message.row;
  const auto put = ledger.put(reading);
  series.newest.stored_at(series.number, value.measured, ledger);
  if (put.outcome == ledger::Ledger::Put::already_there) {
    ledger.put_refused(refused_row(series.id.text(), message, quantity::Refusal::duplicate));
    return;
  }
  screen_again(series, value.measured, &put.key, message, ledger, zones, changes);
}

}  // namespace setwell::service
