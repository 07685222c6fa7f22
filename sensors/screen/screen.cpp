#include "sensors/screen/screen.hpp"

#include <algorithm>
#include <numeric>

#include "sensors/screen/agreement.hpp"
#include "sensors/screen/duplicates.hpp"
#include "sensors/screen/footing.hpp"
#include "sensors/screen/settling.hpp"
#include "sensors/screen/spikes.hpp"

namespace setwell::screen {
namespace {

using quantity::DecodedValue;
using quantity::Instant;
using quantity::MeasuredQuantity;
using quantity::Quality;
using quantity::Refusal;
using quantity::TimeQuality;

bool is_air(MeasuredQuantity quantity) {
  return quantity == MeasuredQuantity::air_temperature || quantity == MeasuredQuantity::surface_temperature ||
         quantity == MeasuredQuantity::relative_humidity;
}

Quality quality_of(const DecodedValue& value, bool settling) {
  if (value.time == TimeQuality::bad) return Quality::time_bad;
  if (value.time == TimeQuality::uncertain) return Quality::time_uncertain;
  if (settling) return Quality::settling;
  return value.clamped ? Quality::clamped : Quality::good;
}

/// One stretch of a series, layer by layer. Every layer looks a bounded way into the ones before it.
class Screening {
 public:
  Screening(const Rules& rules, Series series, std::span<const Instant> births)
      : rules_(rules),
        agreement_(rules.quantity),
        series_(series),
        duplicate_(find_duplicates(rules, series)),
        settling_(find_settling(rules, series, duplicate_, births)),
        eligible_(series.size(), 0),
        power_on_(series.size(), 0),
        footings_(series.size(), Footing::as_told) {
    if (!is_air(rules.quantity)) return;
    for (std::size_t at = 0; at < series.size(); ++at) {
      eligible_[at] = !duplicate_[at] && !settling_[at] && !series[at].refusal;
    }
    power_on_ = find_power_on(agreement_, series, eligible_);
    for (std::size_t at = 0; at < series.size(); ++at) {
      if (power_on_[at]) eligible_[at] = 0;
    }
  }

  /// Takes over the footings before `first` and finds the rest.
  void find_footings_from(std::size_t first, std::vector<Footing> known) {
    footings_ = std::move(known);
    if (is_air(rules_.quantity)) {
      find_footings(agreement_, rules_.quantity, series_, eligible_, first, footings_);
    }
  }

  [[nodiscard]] const std::vector<Footing>& footings() const { return footings_; }

  [[nodiscard]] std::vector<Verdict> verdicts() const {
    std::vector<double> values(series_.size());
    for (std::size_t at = 0; at < series_.size(); ++at)
      values[at] = on_footing(series_[at], footings_[at]);
    const Levels levels{agreement_, series_, values};
    Flags kept = eligible_;
    remove_spikes(levels, kept);
    std::vector<Verdict> verdicts(series_.size());
    for (std::size_t at = 0; at < series_.size(); ++at) {
      verdicts[at].refused = refusal(at, kept);
      verdicts[at].quality = quality_of(series_[at], settling_[at]);
      verdicts[at].judged = !verdicts[at].refused && is_judged(levels, kept, at);
    }
    return verdicts;
  }

 private:
  [[nodiscard]] std::optional<Refusal> refusal(std::size_t at, const Flags& kept) const {
    if (duplicate_[at]) return Refusal::duplicate;
    if (series_[at].refusal) return series_[at].refusal;
    if (power_on_[at]) return Refusal::sentinel;
    if (footings_[at] == Footing::other_unit) return Refusal::unit_suspect;
    if (footings_[at] == Footing::other_scale) return Refusal::scale_suspect;
    if (eligible_[at] && !kept[at]) return Refusal::spike;
    return std::nullopt;
  }

  [[nodiscard]] bool is_judged(const Levels& levels, const Flags& kept, std::size_t at) const {
    if (!is_air(rules_.quantity)) return true;
    if (!kept[at]) return false;
    return is_one_of_three(levels, kept, at) || is_on_the_way(levels, kept, at);
  }

  Rules rules_;
  Agreement agreement_;
  Series series_;
  Flags duplicate_;
  Flags settling_;
  Flags eligible_;
  Flags power_on_;
  std::vector<Footing> footings_;
};

/// The footing that a verdict shows; nothing for values that only carry it on.
std::optional<Footing> footing_told(const std::optional<Verdict>& verdict) {
  if (!verdict) return std::nullopt;
  if (!verdict->refused || verdict->refused == Refusal::spike) return Footing::as_told;
  if (verdict->refused == Refusal::unit_suspect) return Footing::other_unit;
  if (verdict->refused == Refusal::scale_suspect) return Footing::other_scale;
  return std::nullopt;
}

/// The footings that the verdicts given tell, each carried on to those that tell none.
std::vector<Footing> footings_told(std::span<const Standing> stretch) {
  std::vector<Footing> footings(stretch.size(), Footing::as_told);
  for (std::size_t at = 0; at < stretch.size(); ++at) {
    const Footing carried = at == 0 ? Footing::as_told : footings[at - 1];
    footings[at] = footing_told(stretch[at].verdict).value_or(carried);
  }
  return footings;
}

/// The positions whose verdicts values at `first` and `last` touch.
struct Touched {
  std::size_t first;
  std::size_t end;
};

Touched touched_by(Series series, const Reach& reach, std::size_t first, std::size_t last) {
  const auto from = std::partition_point(series.begin(), series.end(), [&](const DecodedValue& v) {
    return v.measured < series[first].measured - reach.time;
  });
  const auto to = std::partition_point(series.begin(), series.end(), [&](const DecodedValue& v) {
    return v.measured <= series[last].measured + reach.time;
  });
  const auto begin = static_cast<std::size_t>(from - series.begin());
  const auto end = static_cast<std::size_t>(to - series.begin());
  return {begin > reach.values ? begin - reach.values : 0, std::min(series.size(), end + reach.values)};
}

bool footing_carries_on(std::span<const Standing> stretch, const std::vector<Footing>& found,
                        std::size_t from) {
  for (std::size_t at = from; at < stretch.size(); ++at) {
    const auto told = footing_told(stretch[at].verdict);
    if (told) return *told != found[at];
  }
  return false;
}

}  // namespace

bool counts(const Verdict& verdict) {
  const bool sound = verdict.quality == Quality::good || verdict.quality == Quality::clamped;
  return !verdict.refused && verdict.judged && sound;
}

std::vector<Verdict> screen(const Rules& rules, std::span<const DecodedValue> values,
                            std::span<const Instant> births) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return earlier(values[a], values[b]); });
  std::vector<DecodedValue> series;
  series.reserve(values.size());
  for (const auto at : order)
    series.push_back(values[at]);
  Screening screening(rules, series, births);
  screening.find_footings_from(0, std::vector<Footing>(series.size(), Footing::as_told));
  const auto in_order = screening.verdicts();
  std::vector<Verdict> verdicts(values.size());
  for (std::size_t k = 0; k < order.size(); ++k)
    verdicts[order[k]] = in_order[k];
  return verdicts;
}

Reach reach_of(const Rules& rules) {
  // Layers that look kSearch positions: repeats by sequence, restarts, power-on, footing (its level before,
  // its three after), spikes twice, judging. Those that look a time: runs of equal values, settling.
  return {8 * kSearch, rules.settle + kRunReach + kSameMeasurement};
}

Rescreened rescreen(const Rules& rules, std::span<const Standing> stretch, std::span<const Instant> births) {
  const auto is_new = [](const Standing& standing) { return !standing.verdict; };
  const auto first = std::find_if(stretch.begin(), stretch.end(), is_new);
  if (first == stretch.end()) return {};
  const auto last = std::find_if(stretch.rbegin(), stretch.rend(), is_new);
  std::vector<DecodedValue> series;
  series.reserve(stretch.size());
  for (const auto& standing : stretch)
    series.push_back(standing.value);
  const auto touched = touched_by(series, reach_of(rules), static_cast<std::size_t>(first - stretch.begin()),
                                  static_cast<std::size_t>(stretch.rend() - last) - 1);
  Screening screening(rules, series, births);
  screening.find_footings_from(touched.first, footings_told(stretch));
  const auto verdicts = screening.verdicts();
  Rescreened result;
  for (std::size_t at = touched.first; at < touched.end; ++at) {
    if (stretch[at].verdict != verdicts[at]) result.changes.push_back({at, verdicts[at]});
  }
  if (footing_carries_on(stretch, screening.footings(), touched.end)) result.carries_on = touched.end;
  return result;
}

}  // namespace setwell::screen
