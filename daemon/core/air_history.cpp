#include "daemon/core/air_history.hpp"

#include <algorithm>
#include <chrono>
#include <limits>
#include <span>

#include "daemon/core/envelope.hpp"

namespace setwell::core {

using quantity::Instant;
using quantity::Span;
using std::chrono::days;
using std::chrono::floor;
using std::chrono::hours;

namespace {

using Points = std::span<const AirPoint>;

bool put(std::vector<AirPoint>& points, const AirPoint& point) {
  if (points.empty() || points.back().at < point.at) {
    points.push_back(point);
    return true;
  }
  const auto place = std::lower_bound(points.begin(), points.end(), point.at, measured_before);
  if (place->at != point.at) {
    points.insert(place, point);
    return true;
  }
  if (*place == point) return false;
  *place = point;
  return true;
}

bool drop(std::vector<AirPoint>& points, Instant at) {
  const auto place = std::lower_bound(points.begin(), points.end(), at, measured_before);
  if (place == points.end() || place->at != at) return false;
  points.erase(place);
  return true;
}

std::size_t count_upto(Points points, Instant at) {
  return static_cast<std::size_t>(std::upper_bound(points.begin(), points.end(), at, measured_after) -
                                  points.begin());
}

double value_between(const AirPoint& a, const AirPoint& b, Instant at) {
  const double f = static_cast<double>((at - a.at).count()) / static_cast<double>((b.at - a.at).count());
  return a.value + (b.value - a.value) * f;
}

/// Lays pieces end to end over [from, to), seeing only the first `visible` temperature readings; none that
/// would end after `until`. Humidity told after `seen` counts no more than temperature not visible.
class Layer {
 public:
  Layer(const AirHistory& air, std::size_t visible, Instant from, Instant to, std::size_t most, Instant until,
        Instant seen = Instant::max())
      : air_(air),
        points_(Points(air.temperature()).first(visible)),
        humid_(Points(air.humidity()).first(count_upto(air.humidity(), seen))),
        at_(from),
        to_(to),
        most_(most),
        until_(until),
        humid_known_(count_upto(humid_, from)) {}

  std::vector<AirPiece> lay() {
    std::size_t next = count_upto(points_, at_);
    while (!done() && next < points_.size())
      lay_before(next++);
    if (!done()) lay_tail();
    return std::move(out_);
  }

 private:
  bool done() const { return stopped_ || at_ >= to_ || out_.size() >= most_; }

  /// The pieces between the reading before `next` and `next`.
  void lay_before(std::size_t next) {
    const AirPoint& b = points_[next];
    if (next > 0 && b.at - points_[next - 1].at <= air_.limits().temperature_silent_after) {
      lay_linear(points_[next - 1], b);
    } else {
      lay_silence(Silence(points_.first(next), &b, b.at, kTemperatureEnvelope), b.at);
    }
  }

  void lay_linear(const AirPoint& a, const AirPoint& b) {
    while (!done() && at_ < b.at) {
      const Instant end = ending(std::min<Instant>(b.at, floor<days>(at_) + days(1)));
      Stretch s;
      s.from = value_between(a, b, at_);
      s.to = end == b.at ? b.value : value_between(a, b, end);
      s.error = std::max(a.error, b.error);
      add(end, s);
    }
  }

  void lay_silence(const Silence& silence, Instant upto) {
    while (!done() && at_ < upto) {
      const Instant end = ending(std::min<Instant>(upto, floor<hours>(at_) + hours(1)));
      add(end, silence.over(at_, end));
    }
  }

  /// Past the last visible reading: held as long as its limit lasts, then a silence going on.
  void lay_tail() {
    if (!points_.empty()) {
      const AirPoint& last = points_.back();
      const Instant held = std::min(to_, last.at + air_.limits().temperature_silent_after);
      if (at_ < held) {
        Stretch s;
        s.from = s.to = last.value;
        s.error = last.error;
        add(held, s);
      }
    }
    if (!done()) lay_silence(Silence(points_, nullptr, to_, kTemperatureEnvelope), to_);
  }

  Instant ending(Instant natural) const { return std::min(natural, to_); }

  void add(Instant end, const Stretch& temperature) {
    stopped_ = end > until_;
    if (stopped_) return;
    const std::size_t upto_end = count_from(humid_known_, end);
    out_.push_back({at_, end, temperature, humidity(humid_known_, upto_end, end, temperature.silent)});
    at_ = end;
    humid_known_ = upto_end;
  }

  /// How many humidities are told by `end`, knowing that the first `known` are: nearly always the next or
  /// two.
  std::size_t count_from(std::size_t known, Instant end) const {
    for (int i = 0; i < 4; ++i, ++known) {
      if (known == humid_.size() || humid_[known].at > end) return known;
    }
    return known + count_upto(humid_.subspan(known), end);
  }

  std::optional<Stretch> humidity(std::size_t known, std::size_t upto_end, Instant end, bool silent) {
    if (upto_end == 0) return std::nullopt;
    if (silent || !heard(known, upto_end, end)) return silent_humidity(known, upto_end, end);
    const AirPoint &a = humid_[known - 1], &b = humid_[upto_end - 1];
    Stretch s;
    s.from = a.value;
    s.to = b.value;
    s.error = std::max(a.error, b.error);
    return s;
  }

  /// Whether humidity was told all through the piece, as far as a value holds.
  bool heard(std::size_t known, std::size_t upto_end, Instant end) const {
    const Span limit = air_.limits().humidity_silent_after;
    if (known == 0 || at_ - humid_[known - 1].at > limit || end - humid_[upto_end - 1].at > limit)
      return false;
    return known == humid_.size() || humid_[known].at - humid_[known - 1].at <= limit;
  }

  Stretch silent_humidity(std::size_t known, std::size_t upto_end, Instant end) {
    Stretch s = quiet_humidity(known, end);
    for (const AirPoint& p : humid_.subspan(known, upto_end - known)) {
      s.least = std::min(s.least, std::max(kHumidityEnvelope.least, p.value - p.error));
      s.most = std::max(s.most, std::min(kHumidityEnvelope.most, p.value + p.error));
    }
    return s;
  }

  /// What the edges and earlier days say. Many short pieces lie in one hour of a silence, and share it.
  Stretch quiet_humidity(std::size_t known, Instant end) {
    const bool long_ago = known > 0 && end - humid_[known - 1].at > hours(24);
    const QuietHour key{known, floor<hours>(at_), long_ago, {}};
    const bool one_hour = floor<hours>(end - Span(1)) == key.hour;
    if (one_hour && quiet_ && quiet_->same(key)) return quiet_->stretch;
    const AirPoint* after = known < humid_.size() ? &humid_[known] : nullptr;
    QuietHour made = key;
    // Every part of an hour is told the same, however it was sliced.
    const Instant so_far = floor<hours>(end - Span(1)) + hours(1);
    made.stretch =
        Silence(humid_.first(known), after, after ? std::max(after->at, end) : so_far, kHumidityEnvelope)
            .over(at_, end);
    if (one_hour) quiet_ = made;
    return made.stretch;
  }

  struct QuietHour {
    std::size_t known;
    Instant hour;
    bool long_ago;
    Stretch stretch;
    bool same(const QuietHour& o) const {
      return known == o.known && hour == o.hour && long_ago == o.long_ago;
    }
  };

  const AirHistory& air_;
  Points points_;
  Points humid_;
  Instant at_, to_;
  std::size_t most_;
  Instant until_;
  std::size_t humid_known_;  ///< told by `at_`
  bool stopped_ = false;
  std::optional<QuietHour> quiet_;
  std::vector<AirPiece> out_;
};

constexpr std::size_t kAll = std::numeric_limits<std::size_t>::max();

/// The value at a moment already recorded: between its neighbours if they are within an hour or so of it.
std::optional<double> recorded_value(Points points, Instant at) {
  const std::size_t next = count_upto(points, at);
  if (next == 0) return std::nullopt;
  const AirPoint& a = points[next - 1];
  if (next < points.size() && points[next].at - a.at <= hours(1)) return value_between(a, points[next], at);
  if (at - a.at <= hours(1)) return a.value;
  return std::nullopt;
}

/// The same hour of the last recorded day, else the last value.
double assumed_value(Points points, Instant at) {
  const Instant last = points.back().at;
  Instant then = at - days(1);
  if (then > last) then -= days((then - last + Span(days(1)) - Span(1)) / Span(days(1)));
  return recorded_value(points, then).value_or(points.back().value);
}

Stretch assumed_stretch(Points points, Instant from, Instant to) {
  Stretch s;
  s.from = assumed_value(points, from);
  s.to = assumed_value(points, to);
  s.error = points.back().error;
  return s;
}

}  // namespace

bool AirHistory::put_temperature(const AirPoint& point) {
  return kPossibleCelsius.holds(point) && put(temperature_, point);
}
bool AirHistory::put_humidity(const AirPoint& point) {
  return kPossiblePercent.holds(point) && put(humidity_, point);
}
bool AirHistory::drop_temperature(Instant at) {
  return drop(temperature_, at);
}
bool AirHistory::drop_humidity(Instant at) {
  return drop(humidity_, at);
}

void AirHistory::forget_before(Instant at) {
  for (auto* points : {&temperature_, &humidity_})
    points->erase(points->begin(), std::lower_bound(points->begin(), points->end(), at, measured_before));
  for (auto& [place, surface] : surfaces_)
    surface.forget_before(at);
}

void AirHistory::add_place(const std::string& place, Span silent_after) {
  surfaces_.try_emplace(place, SurfaceHistory(silent_after));
}

const SurfaceHistory* AirHistory::surface(std::string_view place) const {
  const auto found = surfaces_.find(place);
  return found == surfaces_.end() ? nullptr : &found->second;
}

SurfaceHistory* AirHistory::surface(std::string_view place) {
  const auto found = surfaces_.find(place);
  return found == surfaces_.end() ? nullptr : &found->second;
}

std::optional<Instant> AirHistory::recorded_upto() const {
  if (temperature_.empty()) return std::nullopt;
  return temperature_.back().at;
}

std::vector<AirPiece> AirHistory::pieces(Instant from, Instant to) const {
  if (temperature_.empty()) return {};
  const Instant end = std::min(to, temperature_.back().at);
  return Layer(*this, temperature_.size(), from, end, kAll, end).lay();
}

std::vector<AirPiece> AirHistory::whole_pieces(Instant from, Instant until, std::size_t most,
                                               std::optional<Instant> left) const {
  if (left) return Layer(*this, count_upto(temperature_, *left), from, *left, most, until, *left).lay();
  if (temperature_.empty()) return {};
  return Layer(*this, temperature_.size(), from, temperature_.back().at, most, until).lay();
}

std::vector<AirPiece> AirHistory::as_left(Instant from, Instant left) const {
  return whole_pieces(from, left, kAll, left);
}

std::vector<AirPiece> AirHistory::tail(Instant now) const {
  if (temperature_.empty()) return {};
  return as_left(temperature_.back().at, now);
}

std::optional<Instant> AirHistory::silent_since(Instant now) const {
  if (temperature_.empty()) return std::nullopt;
  const Instant since = temperature_.back().at + limits_.temperature_silent_after;
  if (since >= now) return std::nullopt;
  return since;
}

std::optional<AirPiece> AirHistory::assumed(Instant from, Instant to) const {
  if (temperature_.empty()) return std::nullopt;
  AirPiece piece{from, to, assumed_stretch(temperature_, from, to), std::nullopt};
  if (!humidity_.empty()) piece.humidity = assumed_stretch(humidity_, from, to);
  return piece;
}

}  // namespace setwell::core
