#include <cmath>
#include <numbers>

#include "daemon/core/arrhenius.hpp"
#include "daemon/core/temperature_path.hpp"
#include "tests/reference/inputs.hpp"
#include "tests/reference/runs.hpp"

namespace setwell::reference {
namespace json = boost::json;
using core::EnergyRange;
using core::PathPoint;

namespace {

constexpr int kPiecesOfSine = 1440;

/// The rate of a vector: Arrhenius, and nothing below `t_min_C` where it has one.
struct CutRate {
  double energy, reference_c;
  std::optional<double> least_c;
  double operator()(double c) const {
    return least_c && c < *least_c ? 0.0 : core::rate_factor(energy, c, reference_c);
  }
  [[nodiscard]] std::vector<double> kinks() const {
    return least_c ? std::vector<double>{*least_c} : std::vector<double>{};
  }
};

CutRate cut_rate(const json::object& inputs) {
  return {number(inputs, "Ea_kJ_mol"), number(inputs, "t_ref_C"), maybe(inputs, "t_min_C")};
}

json::object steps(const json::object& inputs, const CutRate& rate) {
  double sum = 0;
  for (const json::value& piece : inputs.at("pieces").as_array()) {
    const json::object& p = piece.as_object();
    sum += rate(number(p, "t_C")) * number(p, "duration_s") / 3600.0;
  }
  return {{"equivalent_age_h", sum}};
}

json::object sine(const json::object& inputs, const CutRate& rate) {
  const double duration = number(inputs, "duration_s");
  const double step = number(inputs, "sample_step_s");
  const auto at = [&](double s) {
    const double angle =
        2.0 * std::numbers::pi * s / number(inputs, "period_s") + number(inputs, "phase_rad");
    return number(inputs, "mean_C") + number(inputs, "amplitude_K") * std::sin(angle);
  };
  double smooth = 0;
  for (int i = 0; i < kPiecesOfSine; ++i) {
    smooth += core::gauss5(duration * i / kPiecesOfSine, duration * (i + 1) / kPiecesOfSine,
                           [&](double s) { return rate(at(s)) / 3600.0; });
  }
  std::vector<PathPoint> path;
  for (double s = 0; s <= duration; s += step)
    path.push_back({s, std::round(at(s) * 1e6) / 1e6});
  return {{"equivalent_age_h_continuous", smooth},
          {"equivalent_age_h_linear_samples", core::integral_h(path, rate.kinks(), rate)}};
}

/// The recorded path, and its age at each of the moments asked for by `expected` (passed along as
/// `_expected`).
json::object recorded(const json::object& inputs, const CutRate& rate) {
  const std::vector<PathPoint> path = path_of(inputs.at("samples"));
  json::object got{{"equivalent_age_h", core::integral_h(path, rate.kinks(), rate)}};
  const json::object& expected = inputs.at("_expected").as_object();
  if (const json::value* moments = expected.if_contains("checkpoints")) {
    json::array ages;
    for (const json::value& moment : moments->as_array()) {
      const double s = number(moment.at(0));
      ages.push_back(json::array{s, core::integral_h(core::path_until(path, s), rate.kinks(), rate)});
    }
    got["checkpoints"] = std::move(ages);
  }
  return got;
}

/// The least of ∫ f dt over one unknown constant energy: A(E) is convex, so its slope has one zero at most.
double least_constant(const std::vector<PathPoint>& path, EnergyRange range, double reference_c) {
  const auto slope = [&](double energy) {
    return core::integral_h(path, {}, [&](double c) {
      return (core::inverse_rt(reference_c) - core::inverse_rt(c)) *
             core::rate_factor(energy, c, reference_c);
    });
  };
  const auto age = [&](double energy) {
    return core::integral_h(path, {}, [&](double c) { return core::rate_factor(energy, c, reference_c); });
  };
  double low = range.low;
  double high = range.high;
  if (slope(low) >= 0) return age(low);
  if (slope(high) <= 0) return age(high);
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (slope(middle) < 0 ? low : high) = middle;
  }
  return age(low);
}

json::object over_a_silence(const json::object& inputs) {
  const EnergyRange range = energies_of(inputs);
  const double ref = number(inputs, "t_ref_C");
  const double offset = number(inputs, "sensor_offset_K");
  const auto& envelope = inputs.at("gap_envelope_C").as_array();
  const std::vector<PathPoint> before = path_of(inputs.at("before"));
  const std::vector<PathPoint> after = path_of(inputs.at("after"));
  const double silent = after.front().at_s - before.back().at_s;
  const std::vector<double> kinks{ref};
  const auto slow = [&](double c) { return core::slowest_rate_factor(range, c, ref); };
  const auto fast = [&](double c) { return core::fastest_rate_factor(range, c, ref); };
  double lower = slow(number(envelope.at(0))) * silent / 3600.0;
  double upper = fast(number(envelope.at(1))) * silent / 3600.0;
  for (const char* part : {"before", "after"}) {
    lower += core::integral_h(path_of(inputs.at(part), -offset), kinks, slow);
    upper += core::integral_h(path_of(inputs.at(part), offset), kinks, fast);
  }
  return {{"pointwise_lower_h", lower}, {"pointwise_upper_h", upper}, {"gap_s", silent}};
}

json::object over_energies(const json::object& inputs) {
  const EnergyRange range = energies_of(inputs);
  const double ref = number(inputs, "t_ref_C");
  const double offset = number(inputs, "sensor_offset_K");
  const std::vector<PathPoint> colder = path_of(inputs.at("samples"), -offset);
  const std::vector<PathPoint> warmer = path_of(inputs.at("samples"), offset);
  const std::vector<double> kinks{ref};
  const auto age = [&](const std::vector<PathPoint>& path, double energy) {
    return core::integral_h(path, {}, [&](double c) { return core::rate_factor(energy, c, ref); });
  };
  json::object got;
  got["pointwise_lower_h"] =
      core::integral_h(colder, kinks, [&](double c) { return core::slowest_rate_factor(range, c, ref); });
  got["pointwise_upper_h"] =
      core::integral_h(warmer, kinks, [&](double c) { return core::fastest_rate_factor(range, c, ref); });
  got["const_Ea_lower_h"] = least_constant(colder, range, ref);
  got["const_Ea_upper_h"] = std::max(age(warmer, range.low), age(warmer, range.high));
  got["nominal_mid_Ea_h"] = age(path_of(inputs.at("samples")), 0.5 * (range.low + range.high));
  return got;
}

json::object crossings(const json::object& inputs) {
  const CutRate rate = cut_rate(inputs);
  const std::vector<PathPoint> path = path_of(inputs.at("samples"));
  json::array at;
  for (const json::value& target : inputs.at("milestones_ref_h").as_array()) {
    at.push_back(or_null(core::reached_s(path, rate.kinks(), number(target), rate)));
  }
  return {{"crossing_s", std::move(at)}};
}

json::object window(const json::object& inputs) {
  const EnergyRange range = energies_of(inputs);
  const double ref = number(inputs, "t_ref_C");
  const double offset = number(inputs, "sensor_offset_K");
  const std::vector<PathPoint> colder = path_of(inputs.at("samples"), -offset);
  const std::vector<PathPoint> warmer = path_of(inputs.at("samples"), offset);
  const std::vector<double> kinks{ref};
  const auto slowly = [&](const char* of) {
    return core::reached_s(colder, kinks, number(inputs.at(of).at(1)),
                           [&](double c) { return core::slowest_rate_factor(range, c, ref); });
  };
  const auto quickly = [&](const char* of) {
    return core::reached_s(warmer, kinks, number(inputs.at(of).at(0)),
                           [&](double c) { return core::fastest_rate_factor(range, c, ref); });
  };
  const std::optional<double> opens = slowly("opens_ref_h");
  const std::optional<double> closes = quickly("closes_ref_h");
  json::object got;
  got["latest_opening_s"] = or_null(opens);
  got["earliest_opening_s"] = or_null(quickly("opens_ref_h"));
  got["earliest_closing_s"] = or_null(closes);
  got["latest_closing_s"] = or_null(slowly("closes_ref_h"));
  got["safe_window_s"] = opens ? json::value(json::array{*opens, or_null(closes)}) : json::value(nullptr);
  got["safe_window_exists"] = opens && (!closes || *opens < *closes);
  return got;
}

}  // namespace

json::object run_rate_factors(const json::object& inputs) {
  const double energy = number(inputs, "Ea_kJ_mol");
  const double t = number(inputs, "t_C");
  return {{"rate_factor", core::rate_factor(energy, t, number(inputs, "t_ref_C"))},
          {"dlnk_dT_per_K", core::rate_slope(energy, t)},
          {"q10_from_t_to_t_plus_10", core::factor_per_ten_kelvin(energy, t)}};
}

json::object run_factor_to_energy(const json::object& inputs) {
  return {{"Ea_kJ_mol", core::energy_from_factor(number(inputs, "q10"), number(inputs, "t_low_C"),
                                                 number(inputs, "t_high_C"))}};
}

json::object run_equivalent_age(const json::object& inputs) {
  const CutRate rate = cut_rate(inputs);
  if (inputs.contains("pieces")) return steps(inputs, rate);
  if (inputs.contains("amplitude_K")) return sine(inputs, rate);
  if (inputs.contains("samples")) return recorded(inputs, rate);
  return {{"equivalent_age_h", rate(number(inputs, "t_C")) * number(inputs, "duration_s") / 3600.0}};
}

json::object run_progress_bounds(const json::object& inputs) {
  return inputs.contains("gap_envelope_C") ? over_a_silence(inputs) : over_energies(inputs);
}

json::object run_milestones(const json::object& inputs) {
  return inputs.contains("opens_ref_h") ? window(inputs) : crossings(inputs);
}

}  // namespace setwell::reference
