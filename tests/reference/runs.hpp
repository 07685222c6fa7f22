#pragma once

#include <string_view>

#include <boost/json/object.hpp>

#include "tests/reference/compare.hpp"

/// Runs one reference vector through the code and answers what it computed, under the keys of `expected`.
namespace setwell::reference {

using Run = boost::json::object (*)(const boost::json::object& inputs);

/// One kind of vectors. A vector of no known shape within a kind throws, which counts as failed.
struct Kind {
  std::string_view name;
  Run run;
  ToleranceOf tolerance_of = stated_tolerance;
};

/// The kind with this name, nullptr for an unknown one.
[[nodiscard]] const Kind* kind_named(std::string_view name);

// Each file of runs, by kind.
[[nodiscard]] boost::json::object run_psychrometrics(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_rate_factors(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_drying_factors(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_drying_dose(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_factor_to_energy(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_equivalent_age(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_progress_bounds(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_milestones(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_energy_fit(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_surface_lag(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_touch_posterior(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_time_spread(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_whole_clock(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_two_windows(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_pot_life_clock(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_drying_bounds(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_silence_envelope(const boost::json::object& inputs);
[[nodiscard]] boost::json::object run_learning(const boost::json::object& inputs);

}  // namespace setwell::reference
