#include <algorithm>
#include <cmath>

#include "daemon/core/interval_fit.hpp"
#include "daemon/core/posterior.hpp"
#include "daemon/core/surface.hpp"
#include "daemon/core/time_model.hpp"
#include "tests/reference/inputs.hpp"
#include "tests/reference/runs.hpp"

namespace setwell::reference {
namespace json = boost::json;

namespace {

json::object whole_fit(const json::object& inputs) {
  std::vector<core::TimeRange> points;
  for (const json::value& point : inputs.at("points").as_array()) {
    const json::object& p = point.as_object();
    points.push_back({number(p, "t_C"), number(p, "time_lo_h"), number(p, "time_hi_h")});
  }
  const std::optional<core::EnergyFit> fit = core::fit_energy(points, number(inputs, "t_ref_C"));
  if (!fit) return {};
  const bool feasible = fit->feasible.has_value();
  const auto only = [feasible](double value) { return feasible ? json::value(value) : json::value(nullptr); };
  const core::FeasibleLines lines = fit->feasible.value_or(core::FeasibleLines{});
  json::object got;
  got["Ea_kJ_mol"] = fit->energy;
  got["t_at_ref_h"] = fit->time_at_reference_h;
  got["Ea_std_err_kJ_mol"] = or_null(fit->standard_error);
  got["max_abs_residual_ln"] = fit->largest_residual_ln;
  got["feasible"] = feasible;
  got["Ea_min_kJ_mol"] = only(lines.least_energy);
  got["Ea_max_kJ_mol"] = only(lines.most_energy);
  got["t_at_ref_min_h"] = only(lines.least_time_h);
  got["t_at_ref_max_h"] = only(lines.most_time_h);
  got["secant_Ea_cold_to_warm_kJ_mol"] = json::array(fit->secants.begin(), fit->secants.end());
  return got;
}

core::Row row_of(const json::object& point) {
  const quantity::Hours time(number(point, "time_h"));
  return {quantity::Celsius(number(point, "t_C")), {core::Wording::exact, time, time}, {}};
}

/// Inside the table the model's own chord; beyond it, which the model weighs against a prior, the end pair's
/// energy from the fit.
json::object table_time(const json::object& inputs) {
  core::TimeTable table;
  std::vector<core::TimeRange> ranges;
  for (const json::value& point : inputs.at("points").as_array()) {
    table.rows.push_back(row_of(point.as_object()));
    const double hours = table.rows.back().time.low.count();
    ranges.push_back({table.rows.back().at.degrees(), hours, hours});
  }
  std::sort(table.rows.begin(), table.rows.end(),
            [](const core::Row& a, const core::Row& b) { return a.at < b.at; });
  const double t = number(inputs, "t_C");
  const core::TimeModel model(table, core::Family::epoxy, core::Milestone::recoat_opens);
  const bool colder = t < model.coldest_row_c();
  const bool warmer = t > model.warmest_row_c();
  if (!colder && !warmer) return {{"time_h", std::exp(model.at(t).expected)}, {"extrapolated", false}};
  const std::optional<core::EnergyFit> fit = core::fit_energy(ranges, t);
  const core::Row& end = colder ? table.rows.front() : table.rows.back();
  const double energy = colder ? fit->secants.front() : fit->secants.back();
  const double factor = core::rate_factor(energy, t, end.at.degrees());
  return {{"time_h", end.time.low.count() / factor}, {"extrapolated", true}};
}

json::object surface_at_times(const json::object& inputs, double air, double slope_per_s) {
  const core::SurfacePath path =
      core::follow(number(inputs, "surface0_C"), air, slope_per_s, number(inputs, "tau_s"));
  json::array at;
  for (const json::value& time : inputs.at("times_s").as_array())
    at.push_back(path.at(number(time)));
  return {{"surface_C", std::move(at)}};
}

json::object surface_of_record(const json::object& inputs) {
  const double tau = number(inputs, "tau_s");
  const double energy = number(inputs, "Ea_kJ_mol");
  const double ref = number(inputs, "t_ref_C");
  const std::vector<core::PathPoint> air = path_of(inputs.at("samples"));
  double surface = number(inputs, "surface0_C");
  double age = 0;
  json::array at{surface};
  for (std::size_t i = 0; i + 1 < air.size(); ++i) {
    const double d = air[i + 1].at_s - air[i].at_s;
    core::SurfaceSection section;
    section.to = d;
    section.expected = core::follow(surface, air[i].celsius, (air[i + 1].celsius - air[i].celsius) / d, tau);
    section.lower = section.upper = section.expected;
    core::for_each_step(section, [&](double from, double to) {
      age += core::gauss5(from, to, [&](double s) {
        return core::rate_factor(energy, section.expected.at(s), ref) / 3600.0;
      });
    });
    surface = section.expected.at(d);
    at.push_back(surface);
  }
  return {{"surface_C_at_samples", std::move(at)}, {"equivalent_age_h_of_surface", age}};
}

}  // namespace

json::object run_energy_fit(const json::object& inputs) {
  return inputs.contains("t_ref_C") ? whole_fit(inputs) : table_time(inputs);
}

json::object run_surface_lag(const json::object& inputs) {
  if (inputs.contains("samples")) return surface_of_record(inputs);
  if (inputs.contains("air0_C")) {
    return surface_at_times(inputs, number(inputs, "air0_C"), number(inputs, "ramp_K_per_h") / 3600.0);
  }
  return surface_at_times(inputs, number(inputs, "air_C"), 0.0);
}

json::object run_touch_posterior(const json::object& inputs) {
  core::LearningPrior prior{number(inputs, "prior_mean_ln"), number(inputs, "prior_sd_ln"),
                            number(inputs, "piece_sd_ln"), 1.0};
  std::vector<core::RatioInterval> seen;
  for (const json::value& observation : inputs.at("observations").as_array()) {
    const json::object& o = observation.as_object();
    seen.push_back({maybe(o, "ratio_lo"), maybe(o, "ratio_hi"), 0.0});
  }
  const core::Posterior posterior(prior, seen);
  return {{"post_mean_ln", posterior.mean_ln()},
          {"post_sd_ln", posterior.spread_ln()},
          {"ln_evidence", posterior.ln_evidence()},
          {"q05_ln", posterior.quantile_ln(0.05)},
          {"q50_ln", posterior.quantile_ln(0.50)},
          {"q95_ln", posterior.quantile_ln(0.95)},
          {"pred_q05_ratio", posterior.next_piece_ratio(0.05)},
          {"pred_q95_ratio", posterior.next_piece_ratio(0.95)},
          {"opening_multiplier", posterior.opening_multiplier()},
          {"closing_multiplier", posterior.closing_multiplier()}};
}

}  // namespace setwell::reference
