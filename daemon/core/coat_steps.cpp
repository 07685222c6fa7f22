#include <algorithm>
#include <chrono>
#include <cmath>
#include <optional>

#include "daemon/core/coat_state.hpp"
#include "daemon/core/leg.hpp"
#include "daemon/core/quadrature.hpp"

namespace setwell::core {

namespace {

double rate_of(const ClockRates& rates, Track track, const ClockRates::Spot& at) {
  switch (track) {
    case Track::slow:
      return rates.slow(at);
    case Track::expected:
      return rates.expected(at);
    case Track::fast:
      return rates.fast(at);
    case Track::expected_upper:
      return rates.expected_upper(at);
    case Track::likely:
      return rates.likely(at);
  }
  return 0;
}

/// Of three numbers the one that a track goes by: lower, expected, upper.
constexpr std::size_t bound_of(Track track) {
  return track == Track::slow ? 0 : track == Track::fast ? 2 : 1;
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
    return rate_of(*clock_.rates, track_, clock_.rates->spot(of(surface, track_))) *
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

/// The nodes of one step, and its ends, shared by all clocks. By bounds, so that nothing is set in vain: this
/// is made for every reading.
struct Nodes {
  Surface from, to;
  int count = 0;
  double hours[5];
  double celsius[3][5];
  double factor[3][5];
};

constexpr double kGauss2At[2] = {0.21132486540518711775, 0.78867513459481288225};

/// Fewer nodes where the path is short: the error stays under 1e-6 of the step.
Nodes nodes_for(const Leg& leg, const SurfaceSection& section, double a, double b) {
  Nodes out;
  out.from = leg.surface_at(section, a);
  out.to = leg.surface_at(section, b);
  const Surface &from = out.from, &to = out.to;
  const double change = std::max({std::fabs(to.lower - from.lower), std::fabs(to.expected - from.expected),
                                  std::fabs(to.upper - from.upper)});
  const bool brief = (b - a) * 16 < std::min({section.lower.tau, section.expected.tau, section.upper.tau});
  const auto add = [&](double u, double weight) {
    const double s = a + (b - a) * u;
    const int i = out.count;
    out.hours[i] = weight * (b - a) / 3600.0;
    const Surface surface = leg.surface_at(section, s);
    const RateFactors factors = leg.factors(surface, section.from + s);
    for (const Track track : {Track::slow, Track::expected, Track::fast}) {
      out.celsius[bound_of(track)][i] = of(surface, track);
      out.factor[bound_of(track)][i] = of(factors, track);
    }
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

/// Where one clock's table is at the nodes of a step: tracks on one bound share what is found.
class Spots {
 public:
  Spots(const ClockRates& rates, const Nodes& nodes) : rates_(rates), nodes_(nodes) {}

  /// The hours of the step, each at its rate.
  template <Track track>
  double summed() {
    constexpr auto bound = bound_of(track);
    if (!found_[bound]) find(bound);
    double sum = 0;
    for (int i = 0; i < nodes_.count; ++i)
      sum += nodes_.hours[i] * rate_of(rates_, track, at_[bound][i]) * nodes_.factor[bound][i];
    return sum;
  }

 private:
  void find(std::size_t bound) {
    found_[bound] = true;
    for (int i = 0; i < nodes_.count; ++i)
      at_[bound][i] = rates_.spot(nodes_.celsius[bound][i]);
  }

  const ClockRates& rates_;
  const Nodes& nodes_;
  bool found_[3] = {false, false, false};
  ClockRates::Spot at_[3][5];
};

class Runner {
 public:
  Runner(const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg)
      : plan_(plan), numbers_(numbers), leg_(leg) {}

  void step(const SurfaceSection& section, double a, double b) {
    const Nodes nodes = nodes_for(leg_, section, a, b);
    for (std::size_t c = 0; c < plan_.clocks->size(); ++c) {
      const SheetClock& clock = (*plan_.clocks)[c];
      if (!clock.rates || settled(c)) continue;
      Spots spots(*clock.rates, nodes);
      const Share share{c, clock, section, a, b, nodes};
      run<Track::fast>(share, spots);
      run<Track::expected>(share, spots);
      run<Track::slow>(share, spots);
      run<Track::expected_upper>(share, spots);
      run<Track::likely>(share, spots);
    }
    end_ = nodes.to;
  }

  /// The surface where the last step ended.
  [[nodiscard]] const Surface& end() const { return end_; }

 private:
  bool settled(std::size_t c) {
    return numbers_.reached(c, Track::slow) && numbers_.reached(c, Track::likely) &&
           numbers_.reached(c, Track::expected_upper);
  }

  /// What one clock does in one step.
  struct Share {
    std::size_t c;
    const SheetClock& clock;
    const SurfaceSection& section;
    double a, b;
    const Nodes& nodes;
  };

  template <Track track>
  void run(const Share& share, Spots& spots) {
    double& progress = numbers_.progress(share.c, track);
    if (progress >= 1.0 || !leg_.runs(track)) return;
    const SheetClock& clock = share.clock;
    const Surface &from = share.nodes.from, &to = share.nodes.to;
    const double constant = of(plan_.film, track) * of(clock.load, track);
    const double floor = floor_of(clock, track, progress);
    const Stretcher stretch(leg_, share.section, clock, track, constant);
    const bool plain = of(from, track) >= floor && of(to, track) >= floor;
    double gain = plain ? spots.summed<track>() * constant : stretch.over(share.a, share.b, floor);
    // The last quarter of full cure has a floor of its own; a step into it from the cold waits at its door.
    if (track == Track::slow && clock.last_quarter_c && progress < kFullCureQualifiedFrom &&
        progress + gain > kFullCureQualifiedFrom && std::min(from.lower, to.lower) < *clock.last_quarter_c)
      gain = kFullCureQualifiedFrom - progress;
    if (progress + gain < 1.0) {
      progress = ordered(share.c, track, progress + gain);
      return;
    }
    if (const auto ahead = ahead_of(track); ahead && !numbers_.reached(share.c, *ahead)) {
      progress = numbers_.progress(share.c, *ahead);
      return;
    }
    numbers_.at(share.c, track) = reached_at(share, track, stretch, floor, progress);
    progress = 1.0;
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
  double reached_at(const Share& share, Track track, const Stretcher& stretch, double floor, double before) {
    const double a = share.a, section_from = share.section.from;
    const double start = number(leg_.from) + (section_from + a) * 1000.0;
    double low = std::floor(start), high = std::ceil(number(leg_.from) + (section_from + share.b) * 1000.0);
    while (high - low > 1.0) {
      const double mid = std::floor(0.5 * (low + high));
      const double s = a + std::max(0.0, (mid - start) / 1000.0);
      (before + stretch.over(a, s, floor) >= 1.0 ? high : low) = mid;
    }
    const auto ahead = ahead_of(track);
    return ahead ? std::max(high, numbers_.at(share.c, *ahead)) : high;
  }

  const CoatPlan& plan_;
  CoatNumbers& numbers_;
  const Leg& leg_;
  Surface end_;
};

}  // namespace

Surface run_leg(const CoatPlan& plan, CoatNumbers& numbers, const Leg& leg, Closeness closeness) {
  Runner runner(plan, numbers, leg);
  for (const SurfaceSection& section : leg.sections.all())
    for_each_step(
        section, [&](double a, double b) { runner.step(section, a, b); }, closeness);
  return runner.end();
}

}  // namespace setwell::core
