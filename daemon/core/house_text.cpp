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
  words.line(fmt::format(
      "Channel {} still sends, but nothing it says is believed; setwell sensors tells why.", c.channel));
  words.line(
      "Nothing is told open meanwhile, and windows may close early. Read the air by hand: setwell read ZONE "
      "--air … --rh …");
  return {NoticeLines::shortened(
              fmt::format("{}: check the sensor, no believable reading since {}", c.zone, words.since())),
          std::move(words).body()};
}

NoticeText battery_low(NoticeLines& words) {
  const auto& c = words.content();
  words.line(
      fmt::format("Channel {}. A sensor that falls silent over a coat closes its windows early.", c.channel));
  return {NoticeLines::shortened(fmt::format("{}: put a fresh battery into the sensor, it tells {:g}", c.zone,
                                             c.value.value_or(0))),
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
