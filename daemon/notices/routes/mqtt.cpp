#include "daemon/notices/routes/mqtt.hpp"

#include <string_view>

namespace setwell::notices {
namespace {

constexpr std::string_view kPiece = "piece/";

/// What MQTT forbids in the topic of a message, and the level separator, which would make it another topic.
bool fits_a_topic(const std::string& piece) {
  return !piece.empty() && piece.find_first_of(std::string_view("+#/\0", 4)) == std::string::npos;
}

}  // namespace

std::optional<std::string> piece_of(const ledger::Parcel& parcel) {
  if (!parcel.collapse_key.starts_with(kPiece)) return std::nullopt;
  return parcel.collapse_key.substr(kPiece.size());
}

SendResult MqttRoute::send(const ledger::Delivery& delivery) {
  if (publisher_ == nullptr || cancelled_) return SendResult::away("no connection to the broker");
  mqtt::Publication publication{topic_ + "/event", delivery.parcel.body, false};
  if (const auto piece = piece_of(delivery.parcel)) {
    if (!fits_a_topic(*piece)) return SendResult::final("\"" + *piece + "\" cannot be part of a topic");
    publication.topic = topic_ + "/piece/" + *piece;
    publication.retained = true;
  }
  switch (publisher_->publish(publication)) {
    case mqtt::PublishOutcome::accepted:
      return SendResult::sent();
    case mqtt::PublishOutcome::not_connected:
      return SendResult::away("no connection to the broker");
    case mqtt::PublishOutcome::failed:
      return SendResult::failed("the broker did not acknowledge the message");
  }
  return SendResult::failed("the publisher gave no answer");
}

}  // namespace setwell::notices
