#pragma once

#include <string>
#include <vector>

#include "sensors/room/faults.hpp"

namespace setwell::room {

/// Where messages go: one JSON topic with both quantities, or one topic per quantity. Empty: not published.
struct Topics {
  std::string both;
  std::string temperature;
  std::string humidity;
};

struct TopicMessage {
  std::string topic;
  std::string payload;
  bool retained = false;
};

/// `{"time":"2031-03-04T10:00:00Z","temperature":18.42,"humidity":61.5}` and the like: the device's time, °C
/// and %.
[[nodiscard]] std::vector<TopicMessage> payloads_of(const SensorMessage& message, const Topics& topics);

/// A line of a recorded room: time sent, °C, %.
[[nodiscard]] std::string csv_line(const SensorMessage& message);

}  // namespace setwell::room
