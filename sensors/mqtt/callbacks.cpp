#include "sensors/mqtt/client.hpp"
#include "sensors/mqtt/filters.hpp"

// Everything in this file runs on the library's own thread while its process-wide lock is held: a call that
// waits for anything of the library never returns, an exception ends the process, and a message is
// acknowledged when its callback returns.
namespace setwell::mqtt {
namespace {

/// Calls one of the handlers; what it throws must not reach the library.
template <typename Handler, typename... Args>
void tell(const Handler& handler, const Args&... args) {
  if (!handler) return;
  try {
    handler(args...);
  } catch (...) {
  }
}

std::vector<std::string> topics_of(const ::mqtt::token& token) {
  const auto topics = token.get_topics();
  std::vector<std::string> names;
  for (std::size_t i = 0; topics && i < topics->size(); ++i)
    names.push_back((*topics)[i]);
  return names;
}

/// Codes 1 … 5 are the broker's own (MQTT 3.1.1, 3.2.2.3); the rest are the library's.
std::string why_refused(int code) {
  switch (code) {
    case 1:
      return "the broker does not speak MQTT 3.1.1";
    case 2:
      return "the broker does not take our client id";
    case 3:
      return "the broker is not ready";
    case 4:
      return "the broker does not take our user name or password";
    case 5:
      return "the broker does not let us in";
    default:
      return "no answer";
  }
}

}  // namespace

void Source::Client::Listener::on_success(const ::mqtt::token& token) try {
  (client_.*success_)(token);
} catch (...) {
}

void Source::Client::Listener::on_failure(const ::mqtt::token& token) try {
  (client_.*failure_)(token);
} catch (...) {
}

void Source::Client::install_handlers() {
  client_.set_connected_handler([this](const std::string&) { on_connected(); });
  client_.set_connection_lost_handler([this](const std::string&) { on_lost(); });
  client_.set_message_callback([this](::mqtt::const_message_ptr message) {
    if (message) on_message(*message);
  });
}

void Source::Client::on_connected() noexcept {
  if (stopping_) return;
  try {
    session_.connected(now());
    subscribe_all();
    if (!unwanted_gone_) unsubscribe_unwanted();
  } catch (...) {
    // Lost again meanwhile, or no memory: `tend` subscribes within 10 s, the next connection unsubscribes.
  }
  tell_changed();
}

void Source::Client::on_lost() noexcept {
  try {
    session_.lost(now());
  } catch (...) {
  }
  tell_changed();
}

void Source::Client::on_message(const ::mqtt::message& message) noexcept {
  session_.deliver({message.get_topic(),
                    {message.get_payload().data(), message.get_payload().size()},
                    message.get_qos(),
                    message.is_retained(),
                    message.is_duplicate()},
                   now());
}

void Source::Client::on_connect_answered(const ::mqtt::token& token) {
  // The token is complete before its listener hears of it, so this does not wait.
  session_.session_found(token.get_connect_response().is_session_present());
}

void Source::Client::on_connect_failed(const ::mqtt::token& token) {
  session_.first_attempt_failed(why_refused(token.get_return_code()));
}

void Source::Client::subscribe_all() {
  const auto topics = ::mqtt::string_collection::create(subscriptions_);
  const ::mqtt::iasync_client::qos_collection at_least_once(subscriptions_.size(), 1);
  client_.subscribe(topics, at_least_once, nullptr, subscribe_listener_);
}

void Source::Client::on_subscribed(const ::mqtt::token& token) {
  const ::mqtt::subscribe_response answer = token.get_subscribe_response();
  std::vector<int> codes;
  for (const auto code : answer.get_reason_codes())
    codes.push_back(static_cast<int>(code));
  session_.subscribed(topics_of(token), codes);
}

void Source::Client::on_subscribe_failed(const ::mqtt::token&) {
  // A lost connection, or a lone filter refused; either way it is asked for again within 10 s.
}

void Source::Client::unsubscribe_unwanted() {
  if (unwanted_.empty()) return;
  client_.unsubscribe(::mqtt::string_collection::create(unwanted_), nullptr, unsubscribe_listener_);
}

void Source::Client::on_unsubscribed(const ::mqtt::token&) {
  unwanted_gone_ = true;
  tell_held(filters_);
}

void Source::Client::on_unsubscribe_failed(const ::mqtt::token&) {
  // Asked for again on the next connection.
}

void Source::Client::tell_held(const std::vector<std::string>& filters) const {
  tell(handlers_.filters_held, filters);
}

void Source::Client::tell_changed() const {
  tell(handlers_.changed);
}

}  // namespace setwell::mqtt
