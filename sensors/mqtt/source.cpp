#include "sensors/mqtt/source.hpp"

#include <algorithm>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "sensors/mqtt/client.hpp"
#include "sensors/mqtt/filters.hpp"

namespace setwell::mqtt {
namespace {

using namespace std::chrono_literals;

constexpr auto kConnectWithin = 30s;
constexpr auto kReconnectAfterLeast = 1s;
constexpr auto kReconnectAfterMost = 30s;
constexpr auto kPublishWithin = 10s;
constexpr auto kStopWithin = 4500ms;
/// How often a wait looks up to see whether it still makes sense.
constexpr auto kGlance = 100ms;

Steady steady_now() {
  return std::chrono::steady_clock::now();
}

::mqtt::ssl_options encryption(const BrokerAddress& address) {
  ::mqtt::ssl_options tls;
  if (!address.ca_file.empty()) tls.set_trust_store(address.ca_file);
  if (!address.certificate_file.empty()) {
    tls.set_key_store(address.certificate_file);
    tls.set_private_key(address.key_file);
  }
  tls.set_enable_server_cert_auth(true);
  tls.set_verify(true);
  return tls;
}

}  // namespace

std::string canary_topic(const BrokerAddress& address) {
  return "setwell/canary/" + address.client_id;
}

Source::Client::Client(SourceSettings settings, SourceHandlers handlers, Keeper& keeper)
    : address_(std::move(settings.broker)),
      handlers_(std::move(handlers)),
      filters_(tidy(std::move(settings.filters))),
      unwanted_(removed(tidy(std::move(settings.held_before)), filters_)),
      subscriptions_(filters_),
      session_(keeper, canary_topic(address_), settings.connections_so_far,
               Watch(steady_now(), settings.pace)),
      connect_listener_(*this, &Client::on_connect_answered, &Client::on_connect_failed),
      subscribe_listener_(*this, &Client::on_subscribed, &Client::on_subscribe_failed),
      unsubscribe_listener_(*this, &Client::on_unsubscribed, &Client::on_unsubscribe_failed),
      client_(uri_of(address_), address_.client_id, ::mqtt::create_options(MQTTVERSION_3_1_1), nullptr) {
  subscriptions_.push_back(session_.canary_topic());
  install_handlers();
}

Moment Source::Client::now() const {
  const auto wall =
      handlers_.now
          ? handlers_.now()
          : std::chrono::time_point_cast<std::chrono::milliseconds>(std::chrono::system_clock::now());
  return {wall, steady_now()};
}

::mqtt::connect_options Source::Client::options() const {
  ::mqtt::connect_options options;
  options.set_mqtt_version(MQTTVERSION_3_1_1);
  options.set_clean_session(false);
  options.set_keep_alive_interval(address_.keepalive);
  options.set_connect_timeout(kConnectWithin);
  options.set_automatic_reconnect(kReconnectAfterLeast, kReconnectAfterMost);
  if (!address_.user.empty()) {
    options.set_user_name(address_.user);
    options.set_password(address_.password);
  }
  if (address_.tls) options.set_ssl(encryption(address_));
  return options;
}

void Source::Client::start() {
  started_ = true;
  tell_held(joined(filters_, unwanted_));
  client_.connect(options(), nullptr, connect_listener_);
}

void Source::Client::tend() {
  const Watch::Due due = session_.due(now());
  if (due.leave) tell_leave(*due.leave);
  if (due.probe && answers(address_)) tell_leave(LeaveReason::cannot_reconnect);
  if (due.subscribe) subscribe_all();
  if (due.canary) send_canary();
}

void Source::Client::tell_leave(LeaveReason reason) const {
  if (handlers_.leave) handlers_.leave(reason);
}

void Source::Client::send_canary() {
  // QoS 0: it passes what is queued for us instead of waiting behind hours of it, and is never queued itself.
  const std::string number = fmt::format("{}", ++canaries_);
  client_.publish(session_.canary_topic(), number.data(), number.size(), 0, false);
}

bool Source::Client::gone(std::int64_t connection) const {
  return interrupted_ || !session_.is_connected() || session_.connection() != connection;
}

bool Source::Client::wait_until_kept(Steady deadline) const {
  while (session_.stalled(steady_now())) {
    if (steady_now() >= deadline) return false;
    std::this_thread::sleep_for(kGlance);
  }
  return true;
}

PublishOutcome Source::Client::publish(const Publication& publication) {
  if (!allowed_topic(publication.topic)) return PublishOutcome::failed;
  const auto connection = session_.connection();
  if (gone(connection)) return PublishOutcome::not_connected;
  const Steady deadline = steady_now() + kPublishWithin;
  // The library's publish waits for its lock without a deadline, and a stalled keeper holds that.
  if (!wait_until_kept(deadline)) return PublishOutcome::failed;
  if (gone(connection)) return PublishOutcome::not_connected;
  const auto token = client_.publish(publication.topic, publication.payload.data(),
                                     publication.payload.size(), 1, publication.retained);
  return await(*token, connection, deadline);
}

PublishOutcome Source::Client::await(::mqtt::delivery_token& token, std::int64_t connection,
                                     Steady deadline) const {
  while (!token.wait_for(kGlance)) {
    if (gone(connection)) return PublishOutcome::not_connected;
    if (steady_now() >= deadline) return PublishOutcome::failed;
  }
  return PublishOutcome::accepted;
}

bool Source::Client::disconnect(Steady deadline) try {
  const auto token = client_.disconnect(std::chrono::milliseconds(200));
  while (!token->wait_for(kGlance))
    if (steady_now() >= deadline) return false;
  return true;
} catch (const ::mqtt::exception&) {
  return false;  // no connection to end
}

StopOutcome Source::Client::stop() {
  stopping_ = interrupted_ = true;
  const Steady deadline = steady_now() + kStopWithin;
  const bool quiet = started_ && wait_until_kept(deadline);
  disconnected_ = quiet && disconnect(deadline);
  if (disconnected_ || !started_) return StopOutcome::disconnected;
  abandoned_ = true;
  session_.abandon();
  return StopOutcome::abandoned;
}

Source::Source(SourceSettings settings, SourceHandlers handlers, Keeper& keeper)
    : client_(std::make_unique<Client>(std::move(settings), std::move(handlers), keeper)) {}

Source::~Source() {
  if (client_->may_be_destroyed() || (!client_->abandoned() && stop() == StopOutcome::disconnected)) return;
  // Destroying a client whose threads are at work hangs or crashes in the library; the process is leaving.
  static_cast<void>(client_.release());
}

void Source::start() {
  client_->start();
}

void Source::tend() noexcept try { client_->tend(); } catch (...) {
  // Lost meanwhile; the next connection subscribes, and the watch asks again.
}

PublishOutcome Source::publish(const Publication& publication) noexcept try {
  return client_->publish(publication);
} catch (const ::mqtt::exception& error) {
  return error.get_return_code() == MQTTASYNC_DISCONNECTED ? PublishOutcome::not_connected
                                                           : PublishOutcome::failed;
} catch (...) {
  return PublishOutcome::failed;
}

void Source::interrupt() noexcept {
  client_->interrupt();
}

StopOutcome Source::stop() noexcept try { return client_->stop(); } catch (...) {
  return StopOutcome::abandoned;
}

LinkFacts Source::facts() const {
  return client_->session().facts(client_->now());
}

}  // namespace setwell::mqtt
