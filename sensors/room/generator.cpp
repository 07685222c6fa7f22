#include "sensors/room/generator.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "sensors/air/saturation.hpp"
#include "sensors/room/random.hpp"

namespace setwell::room {
namespace {

using namespace std::chrono_literals;
using quantity::Hours;

/// A season outside: mean and half the daily swing in °C, weather's spread in K, relative humidity at the
/// mean.
struct Climate {
  double mean;
  double swing;
  double weather;
  double humidity;
};
constexpr Climate kWinter{3.0, 2.5, 2.5, 0.85};
constexpr Climate kSummer{18.0, 6.0, 2.5, 0.68};

constexpr double kWarmestHour = 15.0;
constexpr Hours kWeatherLasts{36};
constexpr Hours kVapourLasts{18};
/// Spread of the vapour pressure outside, in its logarithm.
constexpr double kVapourSpread = 0.12;
constexpr Hours kWallLag{8};
constexpr Hours kHeatingLag{0.7};
/// What an unheated room has above the outside from sun, lamps and people, in K by day; half of it by night.
constexpr double kOwnWarmth = 4.0;
constexpr double kDaySetPoint = 20.0;
constexpr double kNightSetPoint = 14.0;
/// Draughts, doors and the thermostat's hysteresis: spread in K and how long they last.
constexpr double kDraughtSpread = 0.3;
constexpr Hours kDraughtLasts{0.5};
/// Vapour given off inside, in Pa, and its spread.
constexpr double kOwnVapour = 150.0;
constexpr double kOwnVapourSpread = 60.0;
constexpr Hours kOwnVapourLasts{4};

/// A first-order autoregressive wanderer, mean 0, with a spread and a lasting time.
class Wanderer {
 public:
  Wanderer(double spread, Hours lasts, Hours step, Random& random)
      : random_(random),
        keeps_(std::exp(-step / lasts)),
        kick_(spread * std::sqrt(1.0 - keeps_ * keeps_)),
        value_(spread * random.normal()) {}
  [[nodiscard]] double next() {
    value_ = keeps_ * value_ + kick_ * random_.normal();
    return value_;
  }

 private:
  Random& random_;
  double keeps_;
  double kick_;
  double value_;
};

double hour_of_day(quantity::Instant at) {
  return Hours(at - std::chrono::floor<std::chrono::days>(at)).count();
}

bool is_day(double hour) {
  return hour >= 6.0 && hour < 21.0;
}

/// From `value` towards `target` in one step with a time constant: exact for a target that stands still.
double approach(double value, double target, Hours step, Hours lag) {
  return target + (value - target) * std::exp(-step / lag);
}

class Room {
 public:
  Room(const RoomSpec& spec, Random& random)
      : climate_(spec.season == Season::winter ? kWinter : kSummer),
        heating_(spec.heating),
        step_(spec.step),
        weather_(climate_.weather, kWeatherLasts, step_, random),
        vapour_(kVapourSpread, kVapourLasts, step_, random),
        draught_(kDraughtSpread, kDraughtLasts, step_, random),
        own_vapour_(kOwnVapourSpread, kOwnVapourLasts, step_, random) {}

  [[nodiscard]] RoomAir at(quantity::Instant at) {
    const double hour = hour_of_day(at);
    const double outside = climate_.mean +
                           climate_.swing * std::cos(2.0 * std::numbers::pi * (hour - kWarmestHour) / 24.0) +
                           weather_.next();
    const double inside = room_temperature(outside, hour) + draught_.next();
    return {at, quantity::Celsius(inside), humidity(outside, inside)};
  }

 private:
  [[nodiscard]] double room_temperature(double outside, double hour) {
    const double drift = outside + kOwnWarmth * (is_day(hour) ? 1.0 : 0.5);
    if (std::exchange(first_, false)) body_ = heating_ == Heating::none ? drift : kDaySetPoint;
    body_ = heating_ == Heating::none ? approach(body_, drift, step_, kWallLag) : heated(drift, hour);
    return body_;
  }

  /// The heater holds the set-point from below; otherwise the room drifts as its walls let it.
  [[nodiscard]] double heated(double drift, double hour) const {
    const double goal = heating_ == Heating::steady || is_day(hour) ? kDaySetPoint : kNightSetPoint;
    if (body_ <= goal)
      return std::max(approach(body_, goal, step_, kHeatingLag), approach(body_, drift, step_, kWallLag));
    return std::max(approach(body_, drift, step_, kWallLag), goal);
  }

  [[nodiscard]] quantity::RelativeHumidity humidity(double outside, double inside) {
    const double mean = climate_.humidity * air::water_saturation_pa(climate_.mean);
    const double wandering = mean * std::exp(vapour_.next());
    const double brought = std::min(wandering, air::water_saturation_pa(outside));
    const double held = brought + std::max(0.0, kOwnVapour + own_vapour_.next());
    return quantity::RelativeHumidity::percent(
        std::clamp(100.0 * held / air::water_saturation_pa(inside), 5.0, 98.0));
  }

  Climate climate_;
  Heating heating_;
  Hours step_;
  Wanderer weather_;
  Wanderer vapour_;
  Wanderer draught_;
  Wanderer own_vapour_;
  bool first_ = true;
  double body_ = 0.0;
};

}  // namespace

std::vector<RoomAir> generate(const RoomSpec& spec) {
  std::vector<RoomAir> rows;
  if (spec.step < 1s) return rows;
  Random random(spec.seed);
  Room room(spec, random);
  for (auto at = spec.begin; at < spec.end; at += spec.step)
    rows.push_back(room.at(at));
  return rows;
}

}  // namespace setwell::room
