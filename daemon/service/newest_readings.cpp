#include "daemon/service/newest_readings.hpp"

#include <algorithm>

namespace setwell::service {

using ledger::StoredReading;
using quantity::Instant;

namespace {

constexpr std::size_t kKeptBehind = 64;

/// Two reaches of values to either side.
std::size_t values_in(const screen::Reach& reach) {
  return 2 * reach.values;
}

void put_in_order(std::vector<StoredReading>& rows) {
  std::sort(rows.begin(), rows.end(),
            [](const auto& a, const auto& b) { return screen::earlier(a.decoded, b.decoded); });
}

std::vector<StoredReading> stored_around(ledger::ChannelNumber channel, const screen::Reach& reach,
                                         Instant at, const ledger::Ledger& ledger) {
  const int values = static_cast<int>(values_in(reach));
  auto rows = ledger.neighbours(channel, at, values, values);
  const auto from = at - 2 * reach.time;
  const auto to = at + 2 * reach.time;
  const bool covered =
      !rows.empty() && rows.front().decoded.measured <= from && rows.back().decoded.measured >= to;
  if (!covered) {
    for (auto& row : ledger.readings(channel, from, to + quantity::Span(1)))
      rows.push_back(std::move(row));
    std::sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) { return a.key() < b.key(); });
    rows.erase(std::unique(rows.begin(), rows.end(),
                           [](const auto& a, const auto& b) { return a.key() == b.key(); }),
               rows.end());
  }
  put_in_order(rows);
  return rows;
}

bool measured_before(const StoredReading& row, Instant at) {
  return row.decoded.measured < at;
}

}  // namespace

std::size_t NewestReadings::count_before(Instant at) const {
  return static_cast<std::size_t>(std::lower_bound(rows_.begin(), rows_.end(), at, measured_before) -
                                  rows_.begin());
}

bool NewestReadings::covers(const screen::Reach& reach, Instant at) const {
  if (from_the_first_) return true;
  return from_ <= at - 2 * reach.time && count_before(at) >= values_in(reach);
}

std::vector<StoredReading> NewestReadings::around(ledger::ChannelNumber channel, const screen::Rules& rules,
                                                  Instant at, const ledger::Ledger& ledger) {
  const auto reach = screen::reach_of(rules);
  if (!covers(reach, at)) {
    // A late reading from before all that is kept here: this once.
    if (!rows_.empty() && at < rows_.back().decoded.measured)
      return stored_around(channel, reach, at, ledger);
    fetch(channel, reach, at, ledger);
  }
  const auto values = values_in(reach);
  const auto before = count_before(at), behind = count_before(at + quantity::Span(1));
  const auto first =
      std::min(count_before(at - 2 * reach.time), before > values ? before - values : std::size_t{0});
  const auto last = std::max(count_before(at + 2 * reach.time + quantity::Span(1)),
                             std::min(rows_.size(), behind + values));
  Rows found(rows_.begin() + static_cast<std::ptrdiff_t>(first),
             rows_.begin() + static_cast<std::ptrdiff_t>(last));
  // What is older is let go now and then, not with every reading, and not all: some come a little late.
  if (last == rows_.size() && first > kKeptBehind + rows_.size() / 2) forget_before(first - kKeptBehind);
  return found;
}

void NewestReadings::fetch(ledger::ChannelNumber channel, const screen::Reach& reach, Instant at,
                           const ledger::Ledger& ledger) {
  rows_ = stored_around(channel, reach, at, ledger);
  // Something later than all this may be stored; the whole end of the series is kept, or nothing of it.
  if (!rows_.empty()) {
    const auto last = rows_.back().decoded.measured;
    for (auto& row : ledger.readings(channel, last + quantity::Span(1), Instant::max()))
      rows_.push_back(std::move(row));
    put_in_order(rows_);
  }
  from_the_first_ = count_before(at) < values_in(reach);
  from_ = at - 2 * reach.time;
  if (from_the_first_ || rows_.front().decoded.measured >= from_) return;
  // Of the first moment not every reading need have been among the values asked for.
  from_ = rows_.front().decoded.measured + quantity::Span(1);
  rows_.erase(rows_.begin(), rows_.begin() + static_cast<std::ptrdiff_t>(count_before(from_)));
}

void NewestReadings::forget_before(std::size_t first) {
  // Readings of one moment stay together.
  const auto from = rows_[first].decoded.measured;
  rows_.erase(rows_.begin(), rows_.begin() + static_cast<std::ptrdiff_t>(count_before(from)));
  from_ = from;
  from_the_first_ = false;
}

void NewestReadings::stored_at(ledger::ChannelNumber channel, Instant measured,
                               const ledger::Ledger& ledger) {
  if (!from_the_first_ && measured < from_) return;
  const auto place = static_cast<std::ptrdiff_t>(count_before(measured));
  const auto behind = static_cast<std::ptrdiff_t>(count_before(measured + quantity::Span(1)));
  auto rows = ledger.readings(channel, measured, measured + quantity::Span(1));
  put_in_order(rows);
  rows_.erase(rows_.begin() + place, rows_.begin() + behind);
  rows_.insert(rows_.begin() + place, std::make_move_iterator(rows.begin()),
               std::make_move_iterator(rows.end()));
}

void NewestReadings::set_verdict(const ledger::ReadingKey& key, const ledger::ReadingVerdict& verdict) {
  for (auto at = count_before(key.measured); at < rows_.size(); ++at) {
    if (rows_[at].decoded.measured != key.measured) return;
    if (rows_[at].key() == key) rows_[at].verdict = verdict;
  }
}

}  // namespace setwell::service
