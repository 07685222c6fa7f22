#include "sensors/room/payloads.hpp"

#include <fmt/format.h>

namespace setwell::room {

std::vector<TopicMessage> payloads_of(const SensorMessage& message, const Topics& topics) {
  const std::string time = quantity::rfc3339_utc(message.device_time);
  std::vector<TopicMessage> all;
  const auto add = [&](const std::string& topic, std::string payload) {
    if (!topic.empty()) all.push_back({topic, std::move(payload), message.retained});
  };
  add(topics.both, fmt::format(R"({{"time":"{}","temperature":{},"humidity":{}}})", time, message.temperature,
                               message.humidity));
  add(topics.temperature, fmt::format(R"({{"time":"{}","temperature":{}}})", time, message.temperature));
  add(topics.humidity, fmt::format(R"({{"time":"{}","humidity":{}}})", time, message.humidity));
  return all;
}

std::string csv_line(const SensorMessage& message) {
  return fmt::format("{},{},{}\n", quantity::rfc3339_utc(message.at), message.temperature, message.humidity);
}

}  // namespace setwell::room
