#include <algorithm>

#include <fmt/format.h>

#include "daemon/service/sensor_book.hpp"
#include "sensors/screen/screen.hpp"

/// From stored values to what is believed of them: whenever one comes, those about it are judged again.
namespace setwell::service {

using decode::RawMessage;
using ledger::StoredReading;
using quantity::Instant;
using quantity::MeasuredQuantity;

namespace {

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

}  // namespace

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
