#include "daemon/rpc/session.hpp"

#include <utility>
#include <variant>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/experimental/awaitable_operators.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace setwell::rpc {

namespace asio = boost::asio;
using namespace asio::experimental::awaitable_operators;

namespace {

constexpr auto kAsTuple = asio::as_tuple(asio::use_awaitable);

}  // namespace

Session::Session(Socket socket, const Dispatcher& dispatcher, asio::thread_pool* reader, runtime::Log log,
                 const Limits& limits)
    : socket_(std::move(socket)),
      dispatcher_(dispatcher),
      reader_(reader),
      log_(std::move(log)),
      limits_(limits),
      deadline_(socket_.get_executor()) {}

asio::awaitable<void> Session::converse(std::shared_ptr<Session> self) {
  while (!self->stopping_ && co_await self->read_more() == Step::done) {
    while (auto line = self->lines_.next()) {
      if (self->stopping_ || co_await self->answer(std::move(*line)) == Step::over) co_return self->close();
      // One call a turn: whoever sends many at once does not keep the loop from everybody else.
      co_await asio::post(asio::use_awaitable);
    }
    if (self->lines_.too_long()) {
      co_await self->write(Dispatcher::too_long());
      break;
    }
  }
  self->close();
}

void Session::stop() {
  stopping_ = true;
  boost::system::error_code ignored;
  socket_.shutdown(Socket::shutdown_receive, ignored);
}

void Session::close() {
  boost::system::error_code ignored;
  socket_.close(ignored);
}

asio::awaitable<Session::Step> Session::read_more() {
  deadline_.expires_after(limits_.idle);
  const auto first =
      co_await (socket_.async_read_some(asio::buffer(bytes_), kAsTuple) || deadline_.async_wait(kAsTuple));
  const auto* read = std::get_if<0>(&first);
  if (read == nullptr || std::get<0>(*read)) co_return Step::over;
  lines_.add(std::string_view(bytes_.data(), std::get<1>(*read)));
  co_return Step::done;
}

asio::awaitable<Session::Step> Session::answer(std::string line) {
  auto read = dispatcher_.read(line, caller_);
  Outcome outcome;
  if (auto* done = std::get_if<Outcome>(&read)) {
    outcome = std::move(*done);
  } else {
    outcome = co_await carry_out(std::move(std::get<Ready>(read)));
  }
  if (!outcome.broken.empty()) log_.error(outcome.broken);
  if (!outcome.line) co_return Step::done;
  co_return co_await write(*outcome.line);
}

asio::awaitable<Outcome> Session::carry_out(Ready ready) {
  if (!ready.method->planner || reader_ == nullptr) co_return dispatcher_.carry_out(ready);
  auto planned = dispatcher_.plan(ready);
  if (auto* done = std::get_if<Outcome>(&planned)) co_return std::move(*done);
  // By value: this conversation may be over before the reader is.
  const auto work = [](Ready what, Work rest) -> asio::awaitable<Outcome> {
    co_return Dispatcher::finish(what, rest);
  };
  // Spawned over there and waited for here: what follows is on the loop again.
  co_return co_await asio::co_spawn(reader_->get_executor(),
                                    work(std::move(ready), std::move(std::get<Work>(planned))),
                                    asio::use_awaitable);
}

asio::awaitable<Session::Step> Session::write(const std::string& line) {
  std::size_t written = 0;
  while (written < line.size()) {
    deadline_.expires_after(limits_.write);
    const auto rest = asio::buffer(line.data() + written, line.size() - written);
    const auto first = co_await (socket_.async_write_some(rest, kAsTuple) || deadline_.async_wait(kAsTuple));
    const auto* moved = std::get_if<0>(&first);
    if (moved == nullptr || std::get<0>(*moved)) co_return Step::over;
    written += std::get<1>(*moved);
  }
  co_return Step::done;
}

}  // namespace setwell::rpc
