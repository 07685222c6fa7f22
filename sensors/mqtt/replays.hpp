#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <unordered_map>

namespace setwell::mqtt {

/// Tells apart the retained values of a connection that say something from their repeats.
///
/// Every subscription brings all retained values again, and filters are subscribed every few seconds. A value
/// that is the one its topic's last retained or last live message had is a repeat. Remembers at most
/// kMostTopics topics; beyond that everything counts as new.
///
/// Not thread-safe.
class Replays {
 public:
  static constexpr std::size_t kMostTopics = 4096;

  void forget();
  /// A retained delivery: whether it repeats what this connection already brought.
  [[nodiscard]] bool repeats(const std::string& topic, std::string_view payload);
  /// A live delivery.
  void live(const std::string& topic, std::string_view payload);

 private:
  /// Of payloads: enough to know one again, and a repeat taken for new costs only a row.
  struct Last {
    std::size_t retained = 0;
    std::size_t live = 0;
  };
  std::unordered_map<std::string, Last> topics_;
};

}  // namespace setwell::mqtt
