#include "daemon/core/batch_run.hpp"

#include <algorithm>
#include <chrono>

#include "daemon/core/pot_life.hpp"
#include "daemon/core/quadrature.hpp"

namespace setwell::core {

using quantity::Instant;
using quantity::Span;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

using Track = double Bounded<double>::*;

/// The zone's air about the pot at one moment of a piece.
Bounded<double> air_at(const AirPiece& piece, Instant at) {
  const Stretch& t = piece.temperature;
  if (t.silent) return {t.least, t.middle, t.most};
  const double f = quantity::Seconds(at - piece.from) / quantity::Seconds(piece.to - piece.from);
  const double value = t.from + (t.to - t.from) * f;
  return {value - t.error, value, value + t.error};
}

class PotRun {
 public:
  PotRun(const PotLife& life, const Batch& batch)
      : life_(life),
        resin_(batch.made.resin_temperature),
        starts_{batch.mixed + batch.error, batch.mixed, batch.mixed - batch.error} {}

  void over(const AirPiece& piece) {
    advance(piece, &Bounded<double>::slow, starts_.slow, over_.slow);
    advance(piece, &Bounded<double>::expected, starts_.expected, over_.expected);
    advance(piece, &Bounded<double>::fast, starts_.fast, over_.fast);
  }

  const Bounded<double>& progress() const { return progress_; }
  const Bounded<std::optional<Instant>>& over_at() const { return over_; }
  std::optional<Instant> told_at() const { return told_at_; }
  bool done() const { return over_.slow.has_value(); }

 private:
  void advance(const AirPiece& piece, Track track, Instant start, std::optional<Instant>& over) {
    const Instant from = std::max(piece.from, start);
    if (over || from >= piece.to) return;
    if (track == &Bounded<double>::slow && piece.temperature.silent && !piece.temperature.closed) return;
    double& progress = progress_.*track;
    const double gain = integral(piece, track, from, piece.to);
    if (track == &Bounded<double>::fast && !told_at_ && progress + gain >= kPotLifeTold)
      told_at_ = crossing(piece, track, from, kPotLifeTold - progress);
    if (progress + gain >= 1.0) over = crossing(piece, track, from, 1.0 - progress);
    progress = std::min(1.0, progress + gain);
  }

  double integral(const AirPiece& piece, Track track, Instant from, Instant to) const {
    const double length = quantity::Hours(to - from).count();
    return gauss5(0.0, length, [&](double h) {
      const Instant at = from + std::chrono::round<Span>(quantity::Hours(h));
      return life_.rates(warmer_of(air_at(piece, at), resin_)).*track;
    });
  }

  /// The first millisecond by which the clock has gained `wanted`.
  Instant crossing(const AirPiece& piece, Track track, Instant from, double wanted) const {
    Instant low = from, high = piece.to;
    while (high - low > Span(1)) {
      const Instant mid = low + (high - low) / 2;
      (integral(piece, track, from, mid) >= wanted ? high : low) = mid;
    }
    return high;
  }

  const PotLife& life_;
  std::optional<quantity::Celsius> resin_;
  Bounded<Instant> starts_;
  Bounded<double> progress_;
  Bounded<std::optional<Instant>> over_;
  std::optional<Instant> told_at_;
};

std::optional<Span> left_until(const std::optional<Instant>& over, Instant now) {
  if (!over) return std::nullopt;
  return std::max(Span(0), *over - now);
}

std::set<Basis> basis_of(const TimeTable& table, bool silent) {
  std::set<Basis> basis{table.rows.size() == 1 ? Basis::one_temperature : Basis::table};
  if (silent) basis.insert(Basis::silence);
  return basis;
}

}  // namespace

Bounded<std::optional<double>> BatchOutlook::left_s() const {
  const auto s = [](const std::optional<Span>& span) -> std::optional<double> {
    if (!span) return std::nullopt;
    return quantity::Seconds(*span).count();
  };
  return {s(left.slow), s(left.expected), s(left.fast)};
}

std::optional<BatchOutlook> batch_outlook(const Batch& batch, const Material& material, const AirHistory* air,
                                          double k, Instant now) {
  const quantity::Grams mass(batch.made.part_a.value() + batch.made.part_b.value());
  const auto life = pot_life(material, mass, batch.made.pot, k);
  if (!life || !air || !air->recorded_upto()) return std::nullopt;
  PotRun run(*life, batch);
  const Instant begin = batch.mixed - batch.error;
  bool silent = false;
  if (begin < now) {
    for (const AirPiece& piece : air->as_left(begin, now)) {
      if (run.done()) break;
      silent = silent || piece.temperature.silent;
      run.over(piece);
    }
  }
  BatchOutlook out;
  out.now = now;
  out.progress = run.progress();
  for (Instant at = std::max(begin, now); !run.done() && at < now + days(30);) {
    const Instant end = at + (at < now + days(1) ? Span(minutes(15)) : Span(hours(1)));
    run.over(*air->assumed(at, end));
    at = end;
  }
  out.over = run.over_at();
  out.left = {left_until(out.over.slow, now), left_until(out.over.expected, now),
              left_until(out.over.fast, now)};
  out.told_at = run.told_at();
  out.basis = basis_of(*material.pot_life, silent);
  out.caution = pot_caution(mass, batch.made.pot);
  return out;
}

}  // namespace setwell::core
