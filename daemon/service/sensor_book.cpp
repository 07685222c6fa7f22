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
/// Where the newest good value is looked for once a later one is taken back.
constexpr auto kGoodLooksBack = std::chrono::days(2);

screen::Rules rules_of(const Series& series) {
  return {series.spec().quantity, series.spec().settle, !series.spec().probe.empty()};
}

screen::Verdict verdict_of(const ledger::ReadingVerdict& stored) {
  return {stored.refusal, stored.quality, stored.judged};
}

/// Of the readings measured at one moment the one that counts, if any does.
const StoredReading* counting_at(const std::vector<StoredReading>& rows, Instant measured) {
  const auto found = std::find_if(rows.begin(), rows.end(), [&](const StoredReading& row) {
    return row.decoded.measured == measured && screen::counts(verdict_of(row.verdict));
  });
  return found == rows.end() ? nullptr : &*found;
}

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

/// Since when the series' newest good value stands unchanged, now that one measured at `late` has come.
std::optional<Instant> change_seen(const Series& series, Instant late, const ledger::Ledger& ledger) {
  const auto& state = series.state;
  const auto from = std::min(late, state.last_change.value_or(late));
  const auto rows = ledger.trusted(series.number, from, *state.last_good + quantity::Span(1));
  auto since = state.last_good;
  for (auto row = rows.rbegin(); row != rows.rend() && row->value == state.last_value; ++row)
    since = row->measured;
  return since;
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

/// The state of a series whose newest good value turned out not to be one, or has an equal beside it.
ledger::ChannelState without_last_good(const Series& series, const ledger::Ledger& ledger) {
  auto state = series.state;
  const auto upto = *state.last_good + quantity::Span(1);
  const auto recent = ledger.trusted(series.number, upto - kGoodLooksBack, upto);
  state.last_good = state.last_change = std::nullopt;
  state.last_value.reset();
  if (recent.empty()) return state;
  state.last_good = recent.back().measured;
  state.last_value = recent.back().value;
  for (auto row = recent.rbegin(); row != recent.rend() && row->value == state.last_value; ++row)
    state.last_change = row->measured;
  return state;
}

/// Whether a birth heard at `birth` makes a verdict on a value measured about then uncertain.
bool born_again(const screen::Rules& rules, const std::vector<Instant>& births, Instant birth,
                Instant measured) {
  const bool heard = std::find(births.begin(), births.end(), birth) != births.end();
  return heard && measured >= birth && measured <= birth + rules.settle;
}

ledger::RefusedRow refused_row(const std::string& source, const RawMessage& message,
                               quantity::Refusal reason) {
  return {source, message.topic,   message.received,
          reason, message.payload, static_cast<std::int64_t>(message.payload_size)};
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
    series_.push_back(std::move(fresh));
  }
  std::vector<AirChange> ignored;
  for (const auto& series : series_) {
    if (!feeds_air(series.spec())) continue;
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

void SensorBook::screen_again(Series& series, Instant around, const ledger::ReadingKey* fresh,
                              const RawMessage& message, ledger::Ledger& ledger, Zones& zones,
                              std::vector<AirChange>& changes) {
  const auto rules = rules_of(series);
  const auto& births = births_[series.id];
  std::optional<ledger::ReadingKey> anew;
  if (fresh != nullptr) anew = *fresh;
  while (true) {
    auto rows = series.newest.around(series.number, rules, around, ledger);
    std::vector<screen::Standing> stretch;
    for (const auto& row : rows) {
      const bool unknown =
          anew ? row.key() == *anew : born_again(rules, births, around, row.decoded.measured);
      stretch.push_back({row.decoded, unknown ? std::nullopt : std::optional(verdict_of(row.verdict))});
    }
    const auto result = screen::rescreen(rules, stretch, births);
    for (const auto& change : result.changes) {
      auto& row = rows[change.position];
      take_verdict(series, row, change.verdict, anew && row.key() == *anew ? &message : nullptr, ledger);
      row.verdict = {change.verdict.refused, change.verdict.quality, change.verdict.judged};
    }
    // Only with all verdicts known: a repeat that is refused says nothing against the reading it repeats.
    for (const auto& change : result.changes) {
      const auto measured = rows[change.position].decoded.measured;
      const auto* counting = counting_at(rows, measured);
      apply(series, measured, counting != nullptr ? counting->decoded.value : 0.0, counting != nullptr,
            ledger, zones, changes);
      follow_thermometer(series, measured, ledger, zones, changes);
    }
    if (!result.carries_on) return;
    anew = rows[*result.carries_on].key();
    around = anew->measured;
  }
}

void SensorBook::take_verdict(Series& series, const StoredReading& row, const screen::Verdict& verdict,
                              const RawMessage* message, ledger::Ledger& ledger) {
  const ledger::ReadingVerdict stored{verdict.refused, verdict.quality, verdict.judged};
  ledger.set_verdict(series.number, row.key(), stored);
  series.newest.set_verdict(row.key(), stored);
  if (verdict.refused && verdict.refused != row.verdict.refusal) {
    // A neighbour that turns out wrong is kept by its number: its message came earlier.
    const auto number = fmt::format("{}", row.decoded.number);
    ledger.put_refused(message != nullptr ? refused_row(series.id.text(), *message, *verdict.refused)
                                          : ledger::RefusedRow{series.id.text(), row.decoded.topic,
                                                               row.decoded.received, *verdict.refused, number,
                                                               static_cast<std::int64_t>(number.size())});
  }
  auto& state = series.state;
  if (!screen::counts(verdict)) {
    if (state.last_good == row.decoded.measured) state = without_last_good(series, ledger);
    return;
  }
  if (state.last_good && row.decoded.measured <= *state.last_good) {
    state.last_change = change_seen(series, row.decoded.measured, ledger);
    return;
  }
  if (!state.last_value || *state.last_value != row.decoded.value) state.last_change = row.decoded.measured;
  state.last_good = row.decoded.measured;
  state.last_value = row.decoded.value;
  if (series.spec().quantity == MeasuredQuantity::battery) state.battery = row.decoded.value;
}

}  // namespace setwell::service
