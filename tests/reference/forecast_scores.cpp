#include "tests/reference/forecast_scores.hpp"

#include <algorithm>
#include <cmath>

namespace setwell::reference {

namespace {

double interval_score(double low, double high, double told, double outside_share) {
  const double out = std::max({0.0, low - told, told - high});
  return high - low + 2.0 / outside_share * out;
}

double share_inside(double low, double high, double told) {
  // Bands come from values of hundredths; half of one is no miss.
  return told >= low - 0.005 && told <= high + 0.005 ? 1.0 : 0.0;
}

}  // namespace

void Scores::take(const core::Band& band, const core::Band& comparator, const std::array<double, 6>& plain,
                  double told) {
  ++cases_;
  error_ += std::fabs(band.median - told);
  comparator_error_ += std::fabs(comparator.median - told);
  for (std::size_t way = 0; way < plain.size(); ++way)
    plain_[way] += plain[way];
  inside50_ += share_inside(band.p25, band.p75, told);
  inside90_ += share_inside(band.p5, band.p95, told);
  width90_ += band.p95 - band.p5;
  interval50_ += interval_score(band.p25, band.p75, told, 0.5);
  interval90_ += interval_score(band.p5, band.p95, told, 0.1);
  comparator_interval50_ += interval_score(comparator.p25, comparator.p75, told, 0.5);
  comparator_interval90_ += interval_score(comparator.p5, comparator.p95, told, 0.1);
  const std::array<double, 5> said{band.p5, band.p25, band.median, band.p75, band.p95};
  for (std::size_t i = 0; i < said.size(); ++i) {
    const double over = told - said[i];
    pinball_[i] += std::max(kLevels[i] * over, (kLevels[i] - 1.0) * over);
  }
}

double Scores::hindsight_ratio() const {
  return error_ / *std::min_element(plain_.begin(), plain_.end());
}

void ChanceScores::take(double chance, bool came) {
  ++cases_;
  came_ += came ? 1 : 0;
  square_ += (chance - (came ? 1.0 : 0.0)) * (chance - (came ? 1.0 : 0.0));
  const auto bin = std::min(kBins - 1, static_cast<std::size_t>(chance * kBins));
  ++count_[bin];
  chances_[bin] += chance;
  came_in_[bin] += came ? 1.0 : 0.0;
}

double ChanceScores::brier_of_mean() const {
  const double share = cases_ == 0 ? 0.0 : static_cast<double>(came_) / cases_;
  return share * (1.0 - share);
}

ChanceScores::Bin ChanceScores::bin(std::size_t index) const {
  if (count_[index] == 0) return {};
  return {count_[index], chances_[index] / count_[index], came_in_[index] / count_[index]};
}

void ChanceScores::add(const ChanceScores& other) {
  cases_ += other.cases_;
  came_ += other.came_;
  square_ += other.square_;
  for (std::size_t i = 0; i < kBins; ++i) {
    count_[i] += other.count_[i];
    chances_[i] += other.chances_[i];
    came_in_[i] += other.came_in_[i];
  }
}

void NightScores::add(const NightScores& other) {
  nights += other.nights;
  minimum_error += other.minimum_error;
  minimum_inside += other.minimum_inside;
  for (std::size_t i = 0; i < falls.size(); ++i) {
    Fall& mine = falls[i];
    const Fall& theirs = other.falls[i];
    mine.both += theirs.both;
    mine.hours_error += theirs.hours_error;
    mine.inside += theirs.inside;
    mine.asked += theirs.asked;
    mine.missed += theirs.missed;
    mine.false_alarms += theirs.false_alarms;
  }
}

}  // namespace setwell::reference
