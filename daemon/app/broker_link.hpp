#pragma once

#include <memory>

#include "sensors/mqtt/publisher.hpp"
#include "sensors/mqtt/sender.hpp"
#include "sensors/mqtt/source.hpp"

namespace setwell::app {

/// Publishes through the sender's thread, which alone may publish; waits for what became of it.
/// Thread: any but the sender's own.
class QueuedPublisher final : public mqtt::Publisher {
 public:
  explicit QueuedPublisher(mqtt::Sender& sender) : sender_(sender) {}
  [[nodiscard]] mqtt::PublishOutcome publish(const mqtt::Publication& publication) noexcept override;

 private:
  mqtt::Sender& sender_;
};

/// The broker: source, sender, and the publisher that notices use, in the order they depend on each other.
class BrokerLink {
 public:
  BrokerLink(mqtt::SourceSettings settings, mqtt::SourceHandlers handlers, mqtt::Keeper& keeper);
  void start();
  /// At most about 5 s. Afterwards nothing is published any more.
  void stop() noexcept;
  [[nodiscard]] mqtt::LinkFacts facts() const { return source_.facts(); }
  [[nodiscard]] mqtt::Publisher& publisher() { return publisher_; }

 private:
  mqtt::Source source_;
  mqtt::Sender sender_;
  QueuedPublisher publisher_;
};

}  // namespace setwell::app
