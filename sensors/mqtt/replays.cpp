#include "sensors/mqtt/replays.hpp"

#include <functional>

namespace setwell::mqtt {
namespace {

std::size_t mark_of(std::string_view payload) {
  return std::hash<std::string_view>{}(payload);
}

}  // namespace

void Replays::forget() {
  topics_.clear();
}

bool Replays::repeats(const std::string& topic, std::string_view payload) {
  const std::size_t mark = mark_of(payload);
  const auto known = topics_.find(topic);
  if (known == topics_.end()) {
    if (topics_.size() < kMostTopics) topics_.emplace(topic, Last{mark, mark});
    return false;
  }
  const bool repeat = known->second.retained == mark || known->second.live == mark;
  known->second.retained = mark;
  return repeat;
}

void Replays::live(const std::string& topic, std::string_view payload) {
  const auto known = topics_.find(topic);
  if (known != topics_.end()) known->second.live = mark_of(payload);
}

}  // namespace setwell::mqtt
