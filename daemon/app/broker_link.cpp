#include "daemon/app/broker_link.hpp"

#include <future>
#include <utility>

namespace setwell::app {

namespace {
/// Notices wait in the outbox, not here.
constexpr std::size_t kPublicationsWaiting = 64;
}  // namespace

mqtt::PublishOutcome QueuedPublisher::publish(const mqtt::Publication& publication) noexcept {
  try {
    auto promise = std::make_shared<std::promise<mqtt::PublishOutcome>>();
    auto outcome = promise->get_future();
    // Every publication taken is answered once, also when the sender stops, so the wait ends.
    const bool taken =
        sender_.offer(publication, [promise](mqtt::PublishOutcome what) { promise->set_value(what); });
    return taken ? outcome.get() : mqtt::PublishOutcome::failed;
  } catch (...) {
    return mqtt::PublishOutcome::failed;
  }
}

BrokerLink::BrokerLink(mqtt::SourceSettings settings, mqtt::SourceHandlers handlers, mqtt::Keeper& keeper)
    : source_(std::move(settings), std::move(handlers), keeper),
      sender_(source_, kPublicationsWaiting, {[this] { source_.tend(); }, std::chrono::milliseconds(1000)}),
      publisher_(sender_) {}

void BrokerLink::start() {
  source_.start();
}

void BrokerLink::stop() noexcept {
  source_.interrupt();
  sender_.stop();
  source_.stop();
}

}  // namespace setwell::app
