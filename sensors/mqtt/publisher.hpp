#pragma once

#include <string>

namespace setwell::mqtt {

/// One publication of ours.
struct Publication {
  std::string topic;
  std::string payload;
  bool retained = false;
};

enum class PublishOutcome { accepted, not_connected, failed };

/// A way to publish at QoS 1.
/// Thread: `publish` is called on the sender thread only; it may block until the broker answers or the
/// deadline of the implementation passes (10 s).
class Publisher {
 public:
  Publisher() = default;
  Publisher(const Publisher&) = delete;
  Publisher& operator=(const Publisher&) = delete;
  virtual ~Publisher() = default;

  /// `accepted` once the broker acknowledged it. `not_connected` at once while there is no connection.
  [[nodiscard]] virtual PublishOutcome publish(const Publication& publication) noexcept = 0;
};

}  // namespace setwell::mqtt
