#include "tests/shops/sensor.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace setwell::shops {
namespace {

constexpr double kDay = 1440;
constexpr double kClockUnsetFor = 12;  ///< minutes after a reboot without the network's time

double rounded(double value, double resolution) {
  return std::round(value / resolution) * resolution;
}

quantity::Instant moment(const Room& room, double minute) {
  return room.begin + quantity::Span(std::llround(minute * 60000));
}

class Sensor {
 public:
  Sensor(const SensorTraits& traits, const Room& room, std::string topic, room::Random& random)
      : traits_(traits), room_(room), topic_(std::move(topic)), random_(random) {}

  std::vector<Arrival> run() {
    if (traits_.old_value_left) leave_old_value();
    for (double at = traits_.interval * random_.uniform(); at < room_.air.back().minute;
         at += traits_.interval)
      measure(at);
    std::stable_sort(all_.begin(), all_.end(),
                     [](const Arrival& a, const Arrival& b) { return a.minute < b.minute; });
    std::int64_t row = 0;
    for (Arrival& each : all_)
      finish(each, ++row);
    return std::move(all_);
  }

 private:
  static bool any(const std::vector<Spell>& spells, double minute) {
    return std::any_of(spells.begin(), spells.end(), [&](const Spell& s) { return s.holds(minute); });
  }

  void leave_old_value() {
    Arrival old = say(0, 35.0, 20.0, room_.begin - std::chrono::days(30));
    old.message.retained = true;
    all_.push_back(std::move(old));
  }

  void measure(double at) {
    const bool lost = random_.chance(traits_.lost);
    const TrueAir air = true_air_at(room_.air, at);
    double celsius = shown_celsius(traits_, air.celsius, at) + traits_.noise * random_.normal();
    double percent = air.percent + traits_.damp_offset + traits_.damp_noise * random_.normal();
    if (any(traits_.stuck, at) && last_) {
      celsius = last_->first;
      percent = last_->second;
    }
    last_ = {celsius, percent};
    if (lost || any(traits_.outages, at)) return;
    const double since_reboot = minutes_since_reboot(at);
    if (since_reboot < traits_.interval) {
      celsius = 85.0;
      percent = 0.0;
    }
    percent = std::clamp(percent, 0.5, 100.0);
    const bool unset = since_reboot < kClockUnsetFor;
    const auto told = unset ? quantity::Instant(quantity::Span(std::llround(since_reboot * 60000)))
                            : moment(room_, at + traits_.clock_error);
    all_.push_back(say(arrival_of(at), rounded(celsius, traits_.resolution),
                       rounded(percent, traits_.damp_resolution), told));
  }

  [[nodiscard]] double minutes_since_reboot(double at) const {
    double since = 1e9;
    for (const double reboot : traits_.reboots)
      if (at >= reboot) since = std::min(since, at - reboot);
    return since;
  }

  [[nodiscard]] double arrival_of(double at) const {
    for (const Spell& spell : traits_.held)
      if (spell.holds(at)) return spell.to;
    return at + 0.02;
  }

  [[nodiscard]] Arrival say(double arrives, double celsius, double percent, quantity::Instant told) const {
    Arrival out;
    out.minute = arrives;
    out.message.topic = topic_;
    out.message.payload = traits_.tells_time ? fmt::format(R"({{"at":"{}","t":{:.2f},"h":{:.1f}}})",
                                                           quantity::rfc3339_utc(told), celsius, percent)
                                             : fmt::format(R"({{"t":{:.2f},"h":{:.1f}}})", celsius, percent);
    return out;
  }

  void finish(Arrival& each, std::int64_t row) const {
    each.message.row = row;
    each.message.payload_size = each.message.payload.size();
    each.message.received = moment(room_, each.minute);
    each.message.connection = 1;
    each.message.since_connected = quantity::Span(std::llround(each.minute * 60000));
  }

  const SensorTraits& traits_;
  const Room& room_;
  std::string topic_;
  room::Random& random_;
  std::optional<std::pair<double, double>> last_;
  std::vector<Arrival> all_;
};

std::vector<Spell> some_spells(room::Random& random, double length, double per_day, double shortest,
                               double longest) {
  std::vector<Spell> spells;
  for (double at = kDay * random.uniform(); at < length; at += kDay) {
    if (!random.chance(per_day)) continue;
    spells.push_back({at, at + shortest + (longest - shortest) * random.uniform()});
  }
  return spells;
}

}  // namespace

SensorTraits traits_of(room::Random& random, double interval, double length) {
  SensorTraits traits;
  traits.interval = interval;
  traits.offset = 0.22 * (2 * random.uniform() - 1);
  traits.drift_per_day = 0.01 * random.normal();
  traits.noise = 0.03 + 0.05 * random.uniform();
  traits.resolution = random.chance(0.3) ? 0.01 : 0.1;
  traits.damp_offset = 2.5 * (2 * random.uniform() - 1);
  traits.damp_resolution = random.chance(0.5) ? 0.1 : 1.0;
  traits.tells_time = random.chance(0.6);
  traits.clock_error = 0.5 * (2 * random.uniform() - 1);
  traits.lost = random.chance(0.5) ? 0.01 : 0.0;
  if (random.chance(0.3)) traits.outages = some_spells(random, length, 0.4, 30, 240);
  if (traits.tells_time && random.chance(0.15)) traits.held = some_spells(random, length, 0.4, 30, 120);
  if (random.chance(0.05)) traits.stuck = some_spells(random, length, 0.2, 60, 240);
  if (random.chance(0.3))
    for (const Spell& spell : some_spells(random, length, 0.3, 1, 2))
      traits.reboots.push_back(spell.from);
  traits.old_value_left = random.chance(0.3);
  return traits;
}

std::vector<Arrival> arrivals_of(const SensorTraits& traits, const Room& room, const std::string& topic,
                                 room::Random& random) {
  return Sensor(traits, room, topic, random).run();
}

std::string channels_text(const SensorTraits& traits, const std::string& topic) {
  const double silent = std::max(15.0, std::ceil(3 * traits.interval + 1));
  std::string text;
  for (const auto& [quantity, path] : {std::pair{"air-temperature", "/t"}, {"relative-humidity", "/h"}}) {
    text += fmt::format(
        "[[channel]]\nzone = \"bench\"\ntopic = \"{}\"\nquantity = \"{}\"\nformat = \"json\"\npath = \"{}\"\n"
        "silent_after = \"{} min\"\n{}",
        topic, quantity, path, silent, traits.tells_time ? "time_path = \"/at\"\ntime_unit = \"iso\"\n" : "");
  }
  return text;
}

double shown_celsius(const SensorTraits& traits, double celsius, double minute) {
  return celsius + traits.offset + traits.drift_per_day * minute / kDay;
}

}  // namespace setwell::shops
