#include "tests/reference/forecast_fit.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "daemon/core/forecast_view.hpp"

namespace setwell::reference {

using core::AirQuantity;
using core::Features;
using core::kFeatures;
using core::kKnots;

namespace {

constexpr std::size_t kMostCases = 3000;
/// A room of six weeks counts in full.
constexpr double kFullCases = 1000;
constexpr double kLeastDeparture = 0.15;
constexpr double kShrunk = 0.02;
/// Before three days a shape is none.
constexpr core::HourIndex kBegin = 72;
constexpr int kRounds = 4;

using Matrix = std::array<Features, kFeatures>;

Features gauss(Matrix m, Features b) {
  for (std::size_t i = 0; i < kFeatures; ++i) {
    for (std::size_t j = i + 1; j < kFeatures; ++j) {
      const double f = m[j][i] / m[i][i];
      for (std::size_t k = i; k < kFeatures; ++k)
        m[j][k] -= f * m[i][k];
      b[j] -= f * b[i];
    }
  }
  for (std::size_t i = kFeatures; i-- > 0;) {
    for (std::size_t k = i + 1; k < kFeatures; ++k)
      b[i] -= m[i][k] * b[k];
    b[i] /= m[i][i];
  }
  return b;
}

struct Sums {
  Matrix squares{};
  Features products{};

  void take(const RoomCases::Case& each, double scale, const Features& so_far, bool first, double weight) {
    Features x = each.x;
    x[core::kConstantFeature] = 0;
    for (double& value : x)
      value /= scale;
    const double y = each.y / scale;
    const double error = first ? 1.0 : std::fabs(y - core::dot(x, so_far));
    const double w = weight / std::max(error, kLeastDeparture);
    for (std::size_t i = 0; i < kFeatures; ++i) {
      for (std::size_t j = 0; j < kFeatures; ++j)
        squares[i][j] += w * x[i] * x[j];
      products[i] += w * x[i] * y;
    }
  }

  [[nodiscard]] Features solved() const {
    Matrix m = squares;
    for (std::size_t i = 0; i < kFeatures; ++i)
      m[i][i] += kShrunk * std::max(m[i][i], 1e-6) + 1e-9;
    return gauss(m, products);
  }
};

Features fitted(const std::vector<const std::vector<RoomCases::Case>*>& rooms) {
  Features out{};
  for (int round = 0; round < kRounds; ++round) {
    Sums sums;
    for (const auto* cases : rooms) {
      const double n = static_cast<double>(cases->size());
      double scale = 1e-6;
      for (const auto& each : *cases)
        scale += std::fabs(each.y) / n;
      for (const auto& each : *cases)
        sums.take(each, scale, out, round == 0, std::min(1.0, n / kFullCases) / n);
    }
    out = sums.solved();
  }
  out[core::kConstantFeature] = 0;
  return out;
}

std::string rows_of(const std::array<Features, kKnots.size()>& knots) {
  std::string text;
  for (const auto& knot : knots) {
    text += "    Features{";
    for (std::size_t i = 0; i < kFeatures; ++i)
      text += fmt::format("{}{:.3f}", i == 0 ? "" : ", ", knot[i] + 0.0);
    text += "},\n";
  }
  return text;
}

}  // namespace

RoomCases cases_of(const RecordedRoom& room) {
  RoomCases out;
  core::HourSeries series;
  const auto count = static_cast<core::HourIndex>(room.hours.size());
  const auto step = std::max<core::HourIndex>(1, count / static_cast<core::HourIndex>(kMostCases));
  for (core::HourIndex i = 0; i < count; ++i) {
    const auto hour = room.first + i;
    series.append(hour, room.hours[static_cast<std::size_t>(i)]);
    if (i < kBegin || i % step != 0) continue;
    for (const auto quantity : core::kAirQuantities) {
      const core::ForecastView view(series, quantity, hour);
      if (!view.any()) continue;
      for (std::size_t k = 0; k < kKnots.size(); ++k) {
        const double told = room.value(quantity, hour + kKnots[k]);
        if (std::isnan(told)) continue;
        out.cases[static_cast<std::size_t>(quantity)][k].push_back(
            {view.features(kKnots[k]), told - view.shape(kKnots[k])});
      }
    }
  }
  return out;
}

core::ForecastPrior fitted_prior(const std::vector<RoomCases>& rooms, std::size_t leave_out) {
  core::ForecastPrior prior;
  for (std::size_t q = 0; q < 2; ++q) {
    for (std::size_t k = 0; k < kKnots.size(); ++k) {
      std::vector<const std::vector<RoomCases::Case>*> taken;
      for (std::size_t r = 0; r < rooms.size(); ++r) {
        if (r != leave_out && rooms[r].cases[q][k].size() >= 50) taken.push_back(&rooms[r].cases[q][k]);
      }
      if (!taken.empty()) prior.usual[q][k] = fitted(taken);
    }
  }
  return prior;
}

std::string prior_text(const core::ForecastPrior& prior, const std::vector<RecordedRoom>& rooms) {
  std::string names;
  for (const auto& room : rooms)
    names += (names.empty() ? "" : ", ") + room.name;
  return fmt::format(
      "// How rooms usually depart from their daily shape: coefficients of forecast_view.hpp's features, in "
      "its\n"
      "// order, a row per hour ahead of kKnots. Written by `setwell_forecast ROOMS --write-prior FILE`.\n"
      "// Provenance: least absolute departures over the recorded rooms\n"
      "// {}.\n"
      "// clang-format off\n"
      "inline constexpr std::array<Features, 6> kUsualTemperature{{{{\n{}}}}};\n"
      "inline constexpr std::array<Features, 6> kUsualHumidity{{{{\n{}}}}};\n"
      "// clang-format on\n",
      names, rows_of(prior.usual[0]), rows_of(prior.usual[1]));
}

}  // namespace setwell::reference
