#include <algorithm>
#include <chrono>
#include <cmath>
#include <optional>

#include "daemon/core/coat_state.hpp"
#include "daemon/core/leg.hpp"
#include "daemon/core/quadrature.hpp"

namespace setwell::core {

namespace {

double rate_of(const ClockRates& rates, Track track, double celsius) {
  switch (track) {
    case Track::slow:
      return rates.slow(celsius);
    case Track::expected:
      return rates.expected(celsius);
    case Track::fast:
      return rates.fast(celsius);
    case Track::expected_upper:
      return rates.expected_upper(celsius);
    case Track::likely:
      return rates.likely(celsius);
  }
  return 0;
}

double of(const RateFactors& f, Track track) {
  if (track == Track::slow) return f.slow;
  return track == Track::fast ? f.fast : f.expected;
}

double of(const Surface& s, Track track) {
  if (track == Track::slow) return s.lower;
  return track == Track::fast ? s.upper : s.expected;
}

/// Where a track stands still below, for this clock as far as it has come.
double floor_of(const SheetClock& clock, Track track, double progress) {
  const CureFloor& floor = clock.rates->floor();
  double f = -1e9;
  if (track == Track::slow) {
    f = floor.slow_c.value_or(f);
    if (clock.last_quarter_c && progress >= kFullCureQualifiedFrom) f = std::max(f, *clock.last_quarter_c);
  } else if (track != Track::fast) {
    f = floor.expected_c.value_or(f);
  }
  return f;
}

/// One clock's share of a step, worked out afresh between any two moments of it.
class Stretcher {
 public:
  Stretcher(const Leg& leg, const SurfaceSection& section, const SheetClock& clock, Track track,
            double constant)
      : leg_(leg), section_(section), clock_(clock), track_(track), constant_(constant) {}

  /// ∫ rate dt over [a, b] s of the section, standing still below `floor`.
  double over(double a, double b, double floor) const {
    const double start = temperature(a), end = temperature(b);
    if (start >= floor && end >= floor) return smooth(a, b);
    if (start < floor && end < floor) return 0;
    const double turn = crossing(a, b, floor, start < floor);
    return start < floor ? smooth(turn, b) : smooth(a, turn);
  }

 private:
  double temperature(double s) const { return of(leg_.surface_at(section_, s), track_); }

  double smooth(double a, double b) const {
    return gauss5(a, b, [&](double s) { return rate_at(s); }) * constant_ / 3600.0;
  }

  double rate_at(double s) const {
    const Surface surface = leg_.surface_at(section_, s);
    return rate_of(*clock_.rates, track_, of(surface, track_)) *
           of(leg_.factors(surface, section_.from + s), track_);
  }

  double crossing(double a, double b, double floor, bool rising) const {
    for (int i = 0; i < 50; ++i) {
      const double mid = 0.5 * (a + b);
      ((temperature(mid) < floor) == rising ? a : b) = mid;
    }
    return rising ? b : a;
  }

  const Leg& leg_;
  const SurfaceSection& section_;
  const SheetClock& clock_;
  Track track_;
  double constant_;
};

/// The nodes of one step, shared by all clocks.
struct Nodes {
  int count = 0;
  double hours[5];
  Surface surface[5];
  RateFactors factors[5];
};

constexpr double kGauss2At[2] = {0.21132486540518711775, 0.78867513459481288225};

/// Fewer nodes where the path is short: the error stays under 1e-6 of the step.
Nodes nodes_for(const Leg& leg, const SurfaceSection& section, double a, double b) {
  Nodes out;
  const Surface from = leg.surface_at(section, a), to = leg.surface_at(section, b);
  const double change = std::max({std::fabs(to.lower - from.lower), std::fabs(to.expected - from.expected),
                                  std::fabs(to.upper - from.upper)});
  const bool brief = (b - a) * 16 < std::min({section.lower.tau, section.expected.tau, section.upper.tau});
  const auto add = [&](double u, double weight) {
    const double s = a + (b - a) * u;
    out.hours[out.count] = weight * (b - a) / 3600.0;
    out.surface[out.count] = leg.surface_at(section, s);
    out.factors[out.count] = leg.factors(out.surface[out.count], section.from + s);
    ++out.count;
  };
  if (change < 0.05 && brief) {
    add(0.5, 1.0);
  } else if (change < 1.0) {
    for (const double u : kGauss2At)
      add(u, 0.5);
  } else {
    for (int i = 0; i < 5; ++i)
      add(kGauss5At[i], kGauss5Weight[i]);
  }
  return out;
}

class Runner {
 public:
  Runner(const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg)
      : plan_(plan), numbers_(numbers), leg_(leg) {}

  void step(const SurfaceSection& section, double a, double b) {
    const Nodes nodes = nodes_for(leg_, section, a, b);
    const Surface from = leg_.surface_at(section, a), to = leg_.surface_at(section, b);
    for (std::size_t c = 0; c < plan_.clocks->size(); ++c) {
      const SheetClock& clock = (*plan_.clocks)[c];
      if (!clock.rates || settled(c)) continue;
      for (const Track track : kAllTracks) {
        if (leg_.runs(track) && !numbers_.reached(c, track))
          step(c, clock, track, section, a, b, nodes, from, to);
      }
    }
  }

 private:
  bool settled(std::size_t c) {
    return numbers_.reached(c, Track::slow) && numbers_.reached(c, Track::likely) &&
           numbers_.reached(c, Track::expected_upper);
  }

  void step(std::size_t c, const SheetClock& clock, Track track, const SurfaceSection& section, double a,
            double b, const Nodes& nodes, const Surface& from, const Surface& to) {
    double& progress = numbers_.progress(c, track);
    const double constant = of(plan_.film, track) * of(clock.load, track);
    const double floor = floor_of(clock, track, progress);
    const Stretcher stretch(leg_, section, clock, track, constant);
    const bool plain = of(from, track) >= floor && of(to, track) >= floor;
    double gain = plain ? summed(nodes, *clock.rates, track) * constant : stretch.over(a, b, floor);
    // The last quarter of full cure has a floor of its own; a step into it from the cold waits at its door.
    if (track == Track::slow && clock.last_quarter_c && progress < kFullCureQualifiedFrom &&
        progress + gain > kFullCureQualifiedFrom && std::min(from.lower, to.lower) < *clock.last_quarter_c)
      gain = kFullCureQualifiedFrom - progress;
    if (progress + gain < 1.0) {
      progress = ordered(c, track, progress + gain);
      return;
    }
    if (const auto ahead = ahead_of(track); ahead && !numbers_.reached(c, *ahead)) {
      progress = numbers_.progress(c, *ahead);
      return;
    }
    numbers_.at(c, track) = reached_at(c, track, stretch, floor, section, a, b, progress);
    progress = 1.0;
  }

  static double summed(const Nodes& nodes, const ClockRates& rates, Track track) {
    double sum = 0;
    for (int i = 0; i < nodes.count; ++i)
      sum +=
          nodes.hours[i] * rate_of(rates, track, of(nodes.surface[i], track)) * of(nodes.factors[i], track);
    return sum;
  }

  /// The track that must not be overtaken.
  static std::optional<Track> ahead_of(Track track) {
    if (track == Track::expected) return Track::fast;
    if (track == Track::slow) return Track::expected;
    return std::nullopt;
  }

  /// Rounding must not turn slow <= expected <= fast over.
  double ordered(std::size_t c, Track track, double progress) {
    const auto ahead = ahead_of(track);
    return ahead ? std::min(progress, numbers_.progress(c, *ahead)) : progress;
  }

  /// The first whole millisecond by which the clock has reached 1.
  double reached_at(std::size_t c, Track track, const Stretcher& stretch, double floor,
                    const SurfaceSection& section, double a, double b, double before) {
    const double start = number(leg_.from) + (section.from + a) * 1000.0;
    double low = std::floor(start), high = std::ceil(number(leg_.from) + (section.from + b) * 1000.0);
    while (high - low > 1.0) {
      const double mid = std::floor(0.5 * (low + high));
      const double s = a + std::max(0.0, (mid - start) / 1000.0);
      (before + stretch.over(a, s, floor) >= 1.0 ? high : low) = mid;
    }
    const auto ahead = ahead_of(track);
    return ahead ? std::max(high, numbers_.at(c, *ahead)) : high;
  }

  const CoatPlan& plan_;
  CoatNumbers& numbers_;
  const Leg& leg_;
};

}  // namespace

void run_leg(const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg) {
  Runner runner(plan, numbers, leg);
  for (const SurfaceSection& section : leg.sections.all())
    for_each_step(section, [&](double a, double b) { runner.step(section, a, b); });
}

}  // namespace setwell::core
