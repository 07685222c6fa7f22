#pragma once

#include <atomic>
#include <optional>
#include <string>

#include "daemon/notices/route_sender.hpp"
#include "sensors/mqtt/publisher.hpp"

namespace setwell::notices {

/// The piece that a parcel is the retained state of: what follows `piece/` in its collapse key. Nothing for
/// an event. The text may be empty.
[[nodiscard]] std::optional<std::string> piece_of(const ledger::Parcel& parcel);

/// Publishes at QoS 1: events to `<topic>/event`, not retained; the state of a piece, retained, to
/// `<topic>/piece/<id>`. Without a connection, or without a publisher, it is `away`. A piece whose id cannot
/// be part of a topic is `final`. `send` blocks as long as the publisher does. The publisher is not owned and
/// must outlive this route.
class MqttRoute : public RouteSender {
 public:
  MqttRoute(std::string topic, mqtt::Publisher* publisher)
      : topic_(std::move(topic)), publisher_(publisher) {}
  [[nodiscard]] SendResult send(const ledger::Delivery& delivery) override;
  void cancel() noexcept override { cancelled_ = true; }

 private:
  std::string topic_;
  mqtt::Publisher* publisher_;
  std::atomic<bool> cancelled_ = false;
};

}  // namespace setwell::notices
