#include "daemon/core/arrhenius.hpp"
#include "daemon/core/drying.hpp"
#include "daemon/core/quadrature.hpp"
#include "sensors/air/psychrometrics.hpp"
#include "sensors/air/saturation.hpp"
#include "tests/reference/inputs.hpp"
#include "tests/reference/runs.hpp"

namespace setwell::reference {
namespace json = boost::json;
using quantity::Celsius;
using quantity::RelativeHumidity;

namespace {

constexpr double kTriplePoint = 0.01;
constexpr double kMoistureEnergy = 30.0;
constexpr int kPiecesPerSample = 64;

json::value degrees(const std::optional<Celsius>& value) {
  return value ? json::value(value->degrees()) : json::value(nullptr);
}

/// Air, humidity and surface at one instant.
struct Damp {
  double at_s, air_c, rh, surface_c;
};

Damp between(const Damp& a, const Damp& b, double f) {
  const auto mix = [f](double x, double y) { return x + (y - x) * f; };
  return {mix(a.at_s, b.at_s), mix(a.air_c, b.air_c), mix(a.rh, b.rh), mix(a.surface_c, b.surface_c)};
}

double force(const Damp& d) {
  return core::drying_force_pa(d.surface_c, d.air_c, d.rh);
}

/// Where the driving force changes sign between two instants of unlike sign.
Damp zero_between(Damp a, Damp b) {
  const bool rising = force(a) < 0;
  for (int i = 0; i < 80; ++i) {
    const Damp middle = between(a, b, 0.5);
    ((force(middle) < 0) == rising ? a : b) = middle;
  }
  return a;
}

struct Dose {
  double reference_h = 0;
  double condensing_h = 0;
};

void add_piece(Dose& dose, const Damp& a, const Damp& b, double reference_c, double reference_rh) {
  const double hours = (b.at_s - a.at_s) / 3600.0;
  if (force(between(a, b, 0.5)) < 0) dose.condensing_h += hours;
  dose.reference_h += hours * core::gauss5(0.0, 1.0, [&](double f) {
                        const Damp d = between(a, b, f);
                        return core::drying_factor(d.surface_c, d.air_c, d.rh, reference_c, reference_rh);
                      });
}

void add_sample(Dose& dose, const Damp& a, const Damp& b, double reference_c, double reference_rh) {
  for (int i = 0; i < kPiecesPerSample; ++i) {
    const Damp from = between(a, b, static_cast<double>(i) / kPiecesPerSample);
    const Damp to = between(a, b, (i + 1.0) / kPiecesPerSample);
    if ((force(from) < 0) == (force(to) < 0)) {
      add_piece(dose, from, to, reference_c, reference_rh);
      continue;
    }
    const Damp zero = zero_between(from, to);
    add_piece(dose, from, zero, reference_c, reference_rh);
    add_piece(dose, zero, to, reference_c, reference_rh);
  }
}

std::vector<Damp> damp_samples(const json::object& inputs) {
  std::vector<Damp> all;
  if (const json::value* same = inputs.if_contains("samples_s_C_pct")) {
    for (const json::value& s : same->as_array()) {
      all.push_back({number(s.at(0)), number(s.at(1)), number(s.at(2)), number(s.at(1))});
    }
    return all;
  }
  for (const json::value& s : inputs.at("samples_s_air_rh_surface").as_array()) {
    all.push_back({number(s.at(0)), number(s.at(1)), number(s.at(2)), number(s.at(3))});
  }
  return all;
}

}  // namespace

json::object run_psychrometrics(const json::object& inputs) {
  const Celsius air(number(inputs, "t_C"));
  const RelativeHumidity humidity = RelativeHumidity::percent(number(inputs, "rh_pct"));
  const double t = air.degrees();
  json::object got;
  got["psat_water_Pa"] = air::water_saturation_pa(t);
  got["psat_ice_Pa"] = t <= kTriplePoint ? json::value(air::ice_saturation_pa(t)) : json::value(nullptr);
  got["e_Pa"] = air::vapour_pa(t, humidity.in_percent());
  got["dew_point_C"] = degrees(air::dew_point(air, humidity));
  got["frost_point_C"] = degrees(air::frost_point(air, humidity));
  got["abs_humidity_g_m3"] = air::absolute_humidity(air, humidity);
  got["dlnpsat_dT_per_K"] = air::water_saturation_slope(t);
  const auto slopes = air::dew_point_slopes(air, humidity);
  got["dTd_dT"] = slopes ? json::value(slopes->per_kelvin) : json::value(nullptr);
  got["dTd_dRH_K_per_pct"] = slopes ? json::value(slopes->per_percent) : json::value(nullptr);
  return got;
}

json::object run_drying_factors(const json::object& inputs) {
  const double air = number(inputs, "air_C");
  const double rh = number(inputs, "rh_pct");
  const double surface = number(inputs, "surface_C");
  const double ref = number(inputs, "ref_C");
  const double ref_rh = number(inputs, "ref_rh_pct");
  const auto margin = air::dew_margin(Celsius(air), RelativeHumidity::percent(rh), Celsius(surface), {},
                                      air::SurfaceFrom::same_sensor);
  const double moisture = core::moisture_ratio(air, rh, ref, ref_rh);
  json::object got;
  got["driving_force_Pa"] = core::drying_force_pa(surface, air, rh);
  got["waterborne_factor"] = core::drying_factor(surface, air, rh, ref, ref_rh);
  got["solvent_factor_38kJ"] = core::rate_factor(core::kSolventEnergy, surface, ref);
  got["moisture_conc_ratio"] = moisture;
  got["moisture_cure_factor_m1_Ea30"] = moisture * core::rate_factor(kMoistureEnergy, surface, ref);
  got["dew_margin_K"] = margin ? json::value(margin->margin.kelvin()) : json::value(nullptr);
  return got;
}

json::object run_drying_dose(const json::object& inputs) {
  const std::vector<Damp> samples = damp_samples(inputs);
  Dose dose;
  for (std::size_t i = 0; i + 1 < samples.size(); ++i) {
    add_sample(dose, samples[i], samples[i + 1], number(inputs, "ref_C"), number(inputs, "ref_rh_pct"));
  }
  return {{"dose_ref_h", dose.reference_h}, {"condensing_h", dose.condensing_h}};
}

}  // namespace setwell::reference
