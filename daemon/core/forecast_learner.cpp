#include "daemon/core/forecast_learner.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "daemon/core/plain_bytes.hpp"

namespace setwell::core {

namespace {

#include "daemon/core/data/forecast_prior.inc"

// Chosen on recorded rooms, each foretold with a prior that had not seen it (tests/reference/forecast_check).
constexpr double kHalfLifeHours = 20 * 24.0;
/// How many cases the usual coefficients count as, by knot: far ahead a room shows less that is its own.
constexpr std::array<double, kKnots.size()> kShrunk{60, 100, 100, 150, 300, 600};
/// Of the third regression; up to kOwnWay it is shrunk toward nothing, so that an unusual room is free.
constexpr std::array<double, kKnots.size()> kThirdShrunk{20, 20, 20, 400, 1000, 1000};
constexpr int kOwnWay = 6;
/// η: how sharply weights follow errors.
constexpr std::array<double, kKnots.size()> kSharpness{7, 7, 7, 5, 5, 5};
/// Errors of one horizon overlap: about this many independent ones are in the memory at most.
constexpr double kMostIndependent = 14.0;
constexpr double kLeastErrorWeight = 0.3;

constexpr std::int16_t kNoGuess = -32768;

std::int16_t hundredths(double value) {
  if (!std::isfinite(value)) return kNoGuess;
  return static_cast<std::int16_t>(std::lround(std::clamp(value * 100.0, -32000.0, 32000.0)));
}

using Weights = std::array<double, kWays>;

/// Between which knots a horizon lies, and how far on the way (in ln h).
struct Between {
  std::size_t low = 0, high = 0;
  double f = 0;
};

Between knots_about(int h) {
  const auto above = std::lower_bound(kKnots.begin(), kKnots.end(), h);
  const auto high =
      static_cast<std::size_t>(above == kKnots.end() ? kKnots.size() - 1 : above - kKnots.begin());
  if (kKnots[high] <= h) return {high, high, 0};
  const double step = std::log(static_cast<double>(kKnots[high]) / kKnots[high - 1]);
  return {high - 1, high, std::log(static_cast<double>(h) / kKnots[high - 1]) / step};
}

Features mixed(const Features& a, const Features& b, double f) {
  Features out{};
  for (std::size_t i = 0; i < kFeatures; ++i)
    out[i] = a[i] + (b[i] - a[i]) * f;
  return out;
}

Weights weights_of(const std::array<float, kWays>& losses, double cases, std::size_t knot) {
  Weights weights{};
  const double n = std::max(cases, 1.0);
  const double least = *std::min_element(losses.begin(), losses.end()) / n;
  const double independent = std::min(cases / std::max(kKnots[knot], 4), kMostIndependent);
  double sum = 0;
  for (std::size_t way = 0; way < kWays; ++way) {
    const double behind = (losses[way] / n - least) / std::max(least, 1e-3);
    weights[way] = std::exp(-kSharpness[knot] * std::sqrt(independent) * behind);
    sum += weights[way];
  }
  for (double& weight : weights)
    weight /= sum;
  return weights;
}

}  // namespace

const ForecastPrior& built_in_forecast_prior() {
  static constexpr ForecastPrior kBuiltIn{{kUsualTemperature, kUsualHumidity}};
  return kBuiltIn;
}

ForecastLearner::ForecastLearner(const ForecastPrior& prior) : prior_(&prior) {
  for (const auto quantity : kAirQuantities) {
    for (auto& hour : room(quantity).pending) {
      for (auto& guesses : hour)
        guesses.fill(kNoGuess);
    }
    fit(quantity);
  }
}

void ForecastLearner::take(HourIndex hour, const HourValue& value) {
  if (!series_.empty() && hour > series_.last() + HourSeries::kKept) *this = ForecastLearner(*prior_);
  const HourIndex from = series_.empty() ? hour : series_.last() + 1;
  const HourValue silent{std::numeric_limits<float>::quiet_NaN(), std::numeric_limits<float>::quiet_NaN()};
  for (HourIndex at = from; at <= hour; ++at) {
    series_.append(at, at == hour ? value : silent);
    for (const auto quantity : kAirQuantities) {
      learn(quantity, at);
      fit(quantity);
      guess(quantity, at);
    }
  }
}

void ForecastLearner::learn(AirQuantity quantity, HourIndex hour) {
  const double fade = std::exp2(-1.0 / kHalfLifeHours);
  for (auto& knot : room(quantity).knots) {
    knot.absolute.fade(fade);
    knot.squared.fade(fade);
    for (float& loss : knot.losses)
      loss = static_cast<float>(loss * fade);
    knot.cases = static_cast<float>(knot.cases * fade);
  }
  const double value = series_.value(quantity, hour);
  if (std::isnan(value)) return;
  for (std::size_t knot = 0; knot < kKnots.size(); ++knot)
    learn_at(quantity, knot, hour, value);
}

void ForecastLearner::learn_at(AirQuantity quantity, std::size_t index, HourIndex hour, double value) {
  const int h = kKnots[index];
  const ForecastView then(series_, quantity, hour - h);
  if (!then.any()) return;
  Knot& knot = room(quantity).knots[index];
  const Features x = then.features(h);
  const double departure = value - then.shape(h);
  const auto missed = [&](double guess) {
    return static_cast<float>(std::fabs(then.bounded(guess) - value));
  };
  for (std::size_t way = 0; way < kPlainWays; ++way)
    knot.losses[way] += missed(then.plain(way, h));
  const double usual_guess = then.shape(h) + dot(x, usual(quantity, index));
  knot.losses[kPlainWays] += missed(usual_guess);
  const auto& guesses = room(quantity).pending[static_cast<std::size_t>(hour - h) % kPending][index];
  for (std::size_t i = 0; i < kRegressions; ++i)
    knot.losses[kPlainWays + 1 + i] += missed(guesses[i] == kNoGuess ? usual_guess : guesses[i] / 100.0);
  knot.cases += 1.0F;

  const double error = std::fabs(departure - dot(x, knot.fitted[0]));
  knot.usual_error = static_cast<float>(
      knot.usual_error == 0.0F ? error : knot.usual_error + 0.01 * (error - knot.usual_error));
  const double relative = error / (knot.usual_error + 1e-9);
  knot.absolute.take(x, departure, 1.0 / std::max(relative, kLeastErrorWeight));
  knot.squared.take(x, departure, 1.0);
}

void ForecastLearner::fit(AirQuantity quantity) {
  for (std::size_t i = 0; i < kKnots.size(); ++i) {
    Knot& knot = room(quantity).knots[i];
    const Features third = kKnots[i] <= kOwnWay ? Features{} : usual(quantity, i);
    knot.fitted = {knot.absolute.solve(usual(quantity, i), kShrunk[i]),
                   knot.squared.solve(usual(quantity, i), kShrunk[i]),
                   knot.squared.solve(third, kThirdShrunk[i])};
  }
}

void ForecastLearner::guess(AirQuantity quantity, HourIndex hour) {
  const ForecastView view(series_, quantity, hour);
  auto& mine = room(quantity).pending[static_cast<std::size_t>(hour) % kPending];
  for (std::size_t i = 0; i < kKnots.size(); ++i) {
    mine[i].fill(kNoGuess);
    if (!view.any()) continue;
    const Features x = view.features(kKnots[i]);
    for (std::size_t r = 0; r < kRegressions; ++r)
      mine[i][r] = hundredths(view.shape(kKnots[i]) + dot(x, room(quantity).knots[i].fitted[r]));
  }
}

std::array<double, kWays> ForecastLearner::weights(AirQuantity quantity, std::size_t knot) const {
  const Knot& found = room(quantity).knots[knot];
  return weights_of(found.losses, found.cases, knot);
}

std::vector<Foretold> ForecastLearner::foretell(AirQuantity quantity, int hours) const {
  std::vector<Foretold> out;
  if (series_.empty()) return out;
  const ForecastView view(series_, quantity, series_.last());
  if (!view.any()) return out;
  std::array<Weights, kKnots.size()> knot_weights{};
  for (std::size_t i = 0; i < kKnots.size(); ++i)
    knot_weights[i] = weights(quantity, i);
  for (int h = 1; h <= hours; ++h) {
    const Between at = knots_about(h);
    const Features x = view.features(h);
    Foretold next;
    const auto add = [&](std::size_t way, double guess, double carried) {
      const double weight =
          knot_weights[at.low][way] + (knot_weights[at.high][way] - knot_weights[at.low][way]) * at.f;
      next.median += weight * view.bounded(guess);
      next.carried += weight * carried;
    };
    for (std::size_t way = 0; way < kPlainWays; ++way)
      add(way, view.plain(way, h), ForecastView::carried(way, h));
    const auto add_fitted = [&](std::size_t way, const Features& low, const Features& high) {
      const Features coefficients = mixed(low, high, at.f);
      add(way, view.shape(h) + dot(x, coefficients), coefficients[0] + coefficients[1] + coefficients[2]);
    };
    add_fitted(kPlainWays, usual(quantity, at.low), usual(quantity, at.high));
    const auto& knots = room(quantity).knots;
    for (std::size_t r = 0; r < kRegressions; ++r)
      add_fitted(kPlainWays + 1 + r, knots[at.low].fitted[r], knots[at.high].fitted[r]);
    out.push_back(next);
  }
  return out;
}

namespace {
constexpr std::uint32_t kLayout = 1;
}  // namespace

std::string ForecastLearner::save() const {
  std::string bytes;
  put_bytes(bytes, kLayout);
  series_.save(bytes);
  for (const auto& room : rooms_) {
    for (const auto& knot : room.knots) {
      knot.absolute.save(bytes);
      knot.squared.save(bytes);
      put_bytes(bytes, knot.usual_error);
      put_bytes(bytes, knot.losses);
      put_bytes(bytes, knot.cases);
    }
    put_bytes(bytes, room.pending);
  }
  return bytes;
}

std::optional<ForecastLearner> ForecastLearner::load(std::string_view bytes, const ForecastPrior& prior) {
  ForecastLearner learner(prior);
  std::uint32_t layout = 0;
  if (!take_bytes(bytes, layout) || layout != kLayout || !learner.series_.load(bytes)) return std::nullopt;
  for (const auto quantity : kAirQuantities) {
    for (auto& knot : learner.room(quantity).knots) {
      if (!knot.absolute.load(bytes) || !knot.squared.load(bytes) || !take_bytes(bytes, knot.usual_error) ||
          !take_bytes(bytes, knot.losses) || !take_bytes(bytes, knot.cases))
        return std::nullopt;
    }
    if (!take_bytes(bytes, learner.room(quantity).pending)) return std::nullopt;
    learner.fit(quantity);
  }
  if (!bytes.empty()) return std::nullopt;
  return learner;
}

}  // namespace setwell::core
