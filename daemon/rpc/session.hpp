#pragma once

#include <array>
#include <memory>
#include <string>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>

#include "daemon/api/frame.hpp"
#include "daemon/rpc/dispatcher.hpp"
#include "daemon/rpc/listener.hpp"

namespace setwell::rpc {

/// One client: reads a line, has it answered, writes the answer, and so on until it leaves, is too slow, too
/// long or too silent, or the daemon stops. Brings in Asio's coroutines. Thread: loop only.
class Session : public std::enable_shared_from_this<Session> {
 public:
  using Socket = boost::asio::local::stream_protocol::socket;

  Session(Socket socket, const Dispatcher& dispatcher, boost::asio::thread_pool* reader, runtime::Log log,
          const Limits& limits);

  /// The conversation; ends when it is over. `self` keeps the session for as long.
  [[nodiscard]] static boost::asio::awaitable<void> converse(std::shared_ptr<Session> self);

  /// Reads nothing any more, and ends when the answer under way has left.
  void stop();
  void close();

 private:
  /// Why the last wait ended.
  enum class Step { done, over };

  [[nodiscard]] boost::asio::awaitable<Step> read_more();
  [[nodiscard]] boost::asio::awaitable<Step> answer(std::string line);
  [[nodiscard]] boost::asio::awaitable<Outcome> carry_out(Ready ready);
  [[nodiscard]] boost::asio::awaitable<Step> write(const std::string& line);

  Socket socket_;
  const Dispatcher& dispatcher_;
  boost::asio::thread_pool* reader_;
  runtime::Log log_;
  Limits limits_;
  boost::asio::steady_timer deadline_;
  std::array<char, 16 * 1024> bytes_{};
  api::LineCutter lines_{api::kLongestRequest};
  Caller caller_;
  bool stopping_ = false;
};

}  // namespace setwell::rpc
