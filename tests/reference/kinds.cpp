#include "tests/reference/runs.hpp"

namespace setwell::reference {
namespace json = boost::json;

namespace {

bool is_temperature(std::string_view key) {
  return key == "dew_point_C" || key == "frost_point_C";
}

bool is_sensitivity(std::string_view key) {
  return key.starts_with("dTd_") || key.starts_with("dlnpsat_");
}

Tolerance psychrometric(const json::object&, std::string_view key) {
  if (is_temperature(key)) return {1e-8, 0};
  return {0, is_sensitivity(key) ? 1e-9 : 1e-12};
}

Tolerance of_rates(const json::object&, std::string_view) {
  return {0, 1e-12};
}

Tolerance of_drying(const json::object&, std::string_view key) {
  if (key == "dew_margin_K") return {1e-8, 0};
  if (key == "driving_force_Pa") return {1e-8, 1e-10};
  return {0, 1e-10};
}

constexpr Kind kKinds[] = {
    {"psychro", run_psychrometrics, psychrometric},
    {"rate_factors", run_rate_factors, of_rates},
    {"drying_factors", run_drying_factors, of_drying},
    {"drying_dose", run_drying_dose},
    {"q10_to_Ea", run_factor_to_energy},
    {"equivalent_age", run_equivalent_age},
    {"progress_bounds", run_progress_bounds},
    {"milestones", run_milestones},
    {"ea_fit", run_energy_fit},
    {"surface_lag", run_surface_lag},
    {"tack_posterior", run_touch_posterior},
    {"time_spread", run_time_spread},
    {"whole_clock", run_whole_clock},
    {"two_windows", run_two_windows},
    {"pot_life_clock", run_pot_life_clock},
    {"drying_bounds", run_drying_bounds},
    {"silence_envelope", run_silence_envelope},
    {"learning", run_learning},
};

}  // namespace

const Kind* kind_named(std::string_view name) {
  for (const Kind& kind : kKinds) {
    if (kind.name == name) return &kind;
  }
  return nullptr;
}

}  // namespace setwell::reference
