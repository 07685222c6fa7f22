#include "daemon/core/house_text.hpp"

#include <fmt/format.h>

namespace setwell::core {
namespace {

NoticeText sensor_silent(NoticeLines& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {}.", c.channel));
  words.line(
      "Nothing is told open meanwhile, and windows may close early. Look at the sensor's battery and reach, "
      "or "
      "read the air by hand: setwell read ZONE --air … --rh …");
  const auto last = c.from ? ", last reading " + words.moment(*c.from) : std::string(", no reading yet");
  return {NoticeLines::shortened(fmt::format("{}: check the sensor, silent over a coat since {}{}", c.zone,
                                             words.since(), last)),
          std::move(words).body()};
}

NoticeText sensor_stuck(NoticeLines& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {} tells the same value while its neighbour moves.", c.channel));
  return {NoticeLines::shortened(
              fmt::format("{}: check the sensor, perhaps stuck since {}", c.zone, words.since())),
          std::move(words).body()};
}

NoticeText sensor_implausible(NoticeLines& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {}.", c.channel));
  words.line(
      "Most of what it sends cannot be true and is not used; setwell sensors names the reasons. Look at its "
      "place, its "
      "battery and its unit in the settings, or read the air by hand: setwell read ZONE --air … --rh …");
  return {NoticeLines::shortened(
              fmt::format("{}: check the sensor, implausible values since {}", words.zone(), words.since())),
          std::move(words).body()};
}

NoticeText battery_low(NoticeLines& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {}.", c.channel));
  words.line(
      "Some sensors freeze or tell wrong values on a weak battery. Change it while no coat needs the "
      "readings.");
  const auto left = c.value ? fmt::format(", {:.0f} % left", *c.value) : std::string();
  return {NoticeLines::shortened(fmt::format("{}: change the sensor's battery{}, low since {}", words.zone(),
                                             left, words.since())),
          std::move(words).body()};
}

NoticeText broker_away(NoticeLines& words) {
  words.line(
      "Nothing new is told open meanwhile. Look at the broker and the network; setwell status names the next "
      "step.");
  return {"Message broker away since " + words.since() + ": no readings come in", std::move(words).body()};
}

NoticeText disk_filling(NoticeLines& words) {
  const auto& c = words.content();
  words.line("Readings and entries need it. Nothing acknowledged is lost meanwhile.");
  return {fmt::format("Disk nearly full, {:.0f} % free: make space", c.value.value_or(0)),
          std::move(words).body()};
}

}  // namespace

NoticeText house_text(NoticeKind kind, NoticeLines& words) {
  switch (kind) {
    case NoticeKind::sensor_silent:
      return sensor_silent(words);
    case NoticeKind::sensor_stuck:
      return sensor_stuck(words);
    case NoticeKind::sensor_implausible:
      return sensor_implausible(words);
    case NoticeKind::battery_low:
      return battery_low(words);
    case NoticeKind::broker_away:
      return broker_away(words);
    case NoticeKind::disk_filling:
      return disk_filling(words);
    default:
      return {};
  }
}

}  // namespace setwell::core
