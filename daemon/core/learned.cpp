#include "daemon/core/learned.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <set>
#include <tuple>

#include <fmt/format.h>

namespace setwell::core {
namespace {

using quantity::Instant;

/// How far the factor drifts, sd of ln: per new lot, and per six months.
constexpr double kDriftLn = 0.05;
constexpr std::chrono::days kDriftTime{182};
/// How well a finger tells the moment.
constexpr double kFingerLn = 0.05;
constexpr double kPriorSpreadLn = 0.25;
/// Pieces are never taken to be quite alike, whatever the setting.
constexpr double kLeastScatterLn = 0.02;
/// σ is sought on a grid of half-octaves about the setting, from a quarter to four times it.
constexpr int kScatterSteps = 4;
constexpr double kLnScatterStep = 0.34657359027997264;  // ln(2)/2
/// How much a shop's scatter may differ from the setting, sd of ln σ.
constexpr double kLnScatterSpread = 0.5;
/// However alike the pieces seem, σ is never taken under half of the setting.
constexpr double kLeastShareOfScatter = 0.5;

double drift_variance(Instant from, Instant to, bool new_lot) {
  const double share =
      std::max(0.0, quantity::Hours(to - from).count()) / quantity::Hours(kDriftTime).count();
  return kDriftLn * kDriftLn * (share + (new_lot ? 1.0 : 0.0));
}

bool another_lot(const std::string& before, const std::string& now) {
  return !before.empty() && !now.empty() && before != now;
}

double doubt_of(const TouchOnClock& test) {
  return std::sqrt(test.doubt_ln * test.doubt_ln + test.curve_ln * test.curve_ln + kFingerLn * kFingerLn);
}

bool tells(const TouchOnClock& test) {
  return test.ratio > 0 && test.doubt_ln <= kAgeKnownLn && std::isfinite(test.ratio);
}

/// A coat's tests as one interval, or as two half-lines where they contradict each other.
std::vector<RatioInterval> intervals_of(const TestedCoat& coat) {
  RatioInterval low, high;
  for (const TouchOnClock& test : coat.tests) {
    if (!tells(test)) continue;
    const bool reached = test.proof == Proof::reached;
    RatioInterval& end = reached ? high : low;
    std::optional<double>& bound = reached ? end.high : end.low;
    const bool closer = !bound || (reached ? test.ratio < *bound : test.ratio > *bound);
    if (!closer) continue;
    bound = test.ratio;
    end.age_spread_ln = doubt_of(test);
  }
  if (low.low && high.high && *low.low < *high.high) {
    return {{low.low, high.high, std::max(low.age_spread_ln, high.age_spread_ln), 0.0}};
  }
  std::vector<RatioInterval> halves;
  if (low.low) halves.push_back(low);
  if (high.high) halves.push_back(high);
  return halves;
}

/// The coats that count, in the order of their tests.
std::vector<const TestedCoat*> in_order(std::span<const TestedCoat> coats, Instant when) {
  std::vector<const TestedCoat*> all;
  for (const TestedCoat& coat : coats) {
    if (coat.tested < when && std::any_of(coat.tests.begin(), coat.tests.end(), tells)) all.push_back(&coat);
  }
  std::sort(all.begin(), all.end(), [](const TestedCoat* a, const TestedCoat* b) {
    return std::tie(a->tested, a->piece) < std::tie(b->tested, b->piece);
  });
  return all;
}

struct Record {
  std::vector<RatioInterval> seen;
  double drift_since = 0;  ///< variance between the last test and the coat to come
};

Record record_of(const std::vector<const TestedCoat*>& coats, Instant when, const std::string& lot) {
  Record record;
  Instant last = coats.front()->tested;
  std::string last_lot;
  double drift = 0;
  for (const TestedCoat* coat : coats) {
    drift += drift_variance(last, coat->tested, another_lot(last_lot, coat->lot));
    last = coat->tested;
    if (!coat->lot.empty()) last_lot = coat->lot;
    for (RatioInterval& seen : intervals_of(*coat)) {
      seen.drift_before_ln = std::sqrt(drift);
      drift = 0;
      record.seen.push_back(seen);
    }
  }
  record.drift_since = drift + drift_variance(last, when, another_lot(last_lot, lot));
  return record;
}

void count_tests(const std::vector<const TestedCoat*>& coats, Lesson& lesson) {
  std::set<quantity::EntryId> pieces;
  double curve = 0;
  for (const TestedCoat* coat : coats) {
    pieces.insert(coat->piece);
    for (const TouchOnClock& test : coat->tests) {
      if (!tells(test)) continue;
      ++lesson.tests;
      lesson.sooner += test.proof == Proof::reached && test.ratio < 1.0;
      lesson.later += test.proof == Proof::not_yet && test.ratio > 1.0;
      curve += test.curve_ln * test.curve_ln;
    }
  }
  lesson.pieces = static_cast<int>(pieces.size());
  lesson.curve_ln = std::sqrt(curve / lesson.tests);
}

/// Posteriors at each σ of the grid, weighed by how well each explains the tests.
void weigh_scatters(const Record& record, double scatter, Lesson& lesson) {
  struct Point {
    double ln_weight, ln_scatter, mean, variance;
  };
  std::vector<Point> grid;
  double largest = -1e300;
  for (int i = -kScatterSteps; i <= kScatterSteps; ++i) {
    const double off = kLnScatterStep * i;
    LearningPrior prior;
    prior.spread_ln = kPriorSpreadLn;
    prior.scatter_ln = scatter * std::exp(off);
    const Posterior posterior(prior, record.seen);
    const double z = off / kLnScatterSpread;
    grid.push_back({posterior.ln_evidence() - 0.5 * z * z, off, posterior.mean_ln(),
                    posterior.spread_ln() * posterior.spread_ln()});
    largest = std::max(largest, grid.back().ln_weight);
  }
  double sum = 0, mean = 0, square = 0, ln_scatter = 0;
  for (const Point& p : grid) {
    const double w = std::exp(p.ln_weight - largest);
    sum += w;
    mean += w * p.mean;
    square += w * (p.variance + p.mean * p.mean);
    ln_scatter += w * p.ln_scatter;
  }
  lesson.mean_ln = mean / sum;
  lesson.spread_ln =
      std::sqrt(std::max(0.0, square / sum - lesson.mean_ln * lesson.mean_ln) + record.drift_since);
  lesson.scatter_ln = scatter * std::exp(ln_scatter / sum);
}

double joined(const Lesson& lesson, double scatter, double share) {
  const double own = lesson.pieces >= kLearnedNarrowsFrom
                         ? std::max(lesson.scatter_ln, kLeastShareOfScatter * scatter)
                         : std::max(lesson.scatter_ln, scatter);
  return std::sqrt(own * own +
                   share * share * (lesson.spread_ln * lesson.spread_ln + lesson.curve_ln * lesson.curve_ln));
}

std::string verdict_words(const Lesson& lesson, Milestone milestone) {
  const bool sanding = milestone == Milestone::sandable;
  if (lesson.sooner > 0 && lesson.sooner >= lesson.later) {
    return fmt::format("in {} of {} tests {} than the sheet says", lesson.sooner, lesson.tests,
                       sanding ? "sandable sooner" : "firmer");
  }
  if (lesson.later > 0) {
    return fmt::format("in {} of {} tests {} than the sheet says", lesson.later, lesson.tests,
                       sanding ? "sandable later" : "softer");
  }
  return fmt::format("{} tests, none against the sheet", lesson.tests);
}

}  // namespace

Lesson learn(std::span<const TestedCoat> coats, double scatter, Instant when, const std::string& lot) {
  Lesson lesson;
  lesson.scatter_ln = scatter;
  lesson.spread_ln = kPriorSpreadLn;
  const auto counted = in_order(coats, when);
  if (counted.empty()) return lesson;
  count_tests(counted, lesson);
  weigh_scatters(record_of(counted, when, lot), std::max(scatter, kLeastScatterLn), lesson);
  return lesson;
}

std::optional<LearnedShift> shift_from(const Lesson& lesson, double scatter) {
  if (lesson.pieces < kLearnedShownFrom) return std::nullopt;
  LearnedShift shift;
  shift.mean_ln = lesson.mean_ln;
  shift.scatter_ln = joined(lesson, scatter, 1.0);
  shift.delays = true;
  shift.closes = lesson.pieces >= kLearnedClosesFrom;
  shift.replaces = lesson.pieces >= kLearnedNarrowsFrom;
  return shift;
}

std::optional<LearnedShift> closing_shift_from(const Lesson& opening, double scatter) {
  if (opening.pieces < kLearnedClosesFrom) return std::nullopt;
  LearnedShift shift;
  shift.mean_ln = kOpeningTellsClosing * opening.mean_ln;
  shift.scatter_ln = joined(opening, scatter, kOpeningTellsClosing);
  shift.closes = true;
  return shift;
}

std::string lesson_words(const Lesson& lesson, Milestone milestone) {
  if (lesson.pieces < kLearnedShownFrom)
    return fmt::format("tests on {} {} so far", lesson.pieces, lesson.pieces == 1 ? "piece" : "pieces");
  return fmt::format("{}; about {:.2g} × its time; from {} pieces", verdict_words(lesson, milestone),
                     std::exp(lesson.mean_ln), lesson.pieces);
}

std::string lesson_acts(const Lesson& lesson) {
  if (lesson.pieces < kLearnedShownFrom) return fmt::format("nothing before {} pieces", kLearnedShownFrom);
  if (lesson.pieces < kLearnedClosesFrom)
    return fmt::format("may delay an opening; a closing only from {} pieces", kLearnedClosesFrom);
  if (lesson.pieces < kLearnedNarrowsFrom) return "may delay an opening and bring a closing forward";
  return "takes the place of the usual scatter; opens nothing before the sheet's own time, closes nothing "
         "later";
}

}  // namespace setwell::core
