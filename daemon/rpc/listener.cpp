#include "daemon/rpc/listener.hpp"

#include <set>
#include <utility>

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <fmt/format.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/rpc/session.hpp"
#include "daemon/rpc/socket_file.hpp"
#include "daemon/runtime/guarded_spawn.hpp"

namespace setwell::rpc {

namespace asio = boost::asio;
using Protocol = asio::local::stream_protocol;

namespace {

constexpr auto kAsTuple = asio::as_tuple(asio::use_awaitable);
/// After a failed accept (no descriptors left, mostly) before the next.
constexpr std::chrono::milliseconds kPauseAfterFailure{200};

/// One try, without waiting: the socket is new and the text short, so there is room for it.
void send_off(Protocol::socket socket, const std::string& text) {
  [[maybe_unused]] const auto sent =
      ::send(socket.native_handle(), text.data(), text.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
}

}  // namespace

struct Listener::State : std::enable_shared_from_this<State> {
  State(asio::io_context& its_loop, int socket, std::filesystem::path its_path,
        const Dispatcher& its_dispatcher, asio::thread_pool* its_reader, runtime::Log its_log,
        Limits its_limits)
      : loop(its_loop),
        acceptor(loop, Protocol(), socket),
        pause(loop),
        path(std::move(its_path)),
        dispatcher(its_dispatcher),
        reader(its_reader),
        log(std::move(its_log)),
        limits(its_limits) {
    struct stat own {};
    if (::stat(path.c_str(), &own) == 0) inode = own.st_ino;
  }

  static asio::awaitable<void> accept_clients(std::shared_ptr<State> self) {
    while (self->acceptor.is_open()) {
      auto [failed, socket] = co_await self->acceptor.async_accept(kAsTuple);
      if (!failed) {
        self->admit(std::move(socket));
      } else if (self->acceptor.is_open()) {
        self->log.seldom(runtime::LogLevel::warning, "accept", "cannot take a client: " + failed.message(),
                         std::chrono::steady_clock::now());
        self->pause.expires_after(kPauseAfterFailure);
        co_await self->pause.async_wait(kAsTuple);
      }
    }
  }

  void admit(Protocol::socket socket) {
    if (sessions.size() >= limits.clients) return send_off(std::move(socket), Dispatcher::too_many());
    auto session = std::make_shared<Session>(std::move(socket), dispatcher, reader, log, limits);
    sessions.insert(session);
    runtime::guarded_spawn(
        loop.get_executor(), "client", Session::converse(session),
        [log = log, session](std::string_view name, std::string_view what) {
          log.error(fmt::format("{}: {}", name, what));
          session->close();
        },
        [self = shared_from_this(), session] { self->forget(session); });
  }

  void forget(const std::shared_ptr<Session>& session) {
    sessions.erase(session);
    if (sessions.empty() && !acceptor.is_open()) pause.cancel();
  }

  void start() {
    runtime::guarded_spawn(loop.get_executor(), "socket", accept_clients(shared_from_this()),
                           [log = log](std::string_view name, std::string_view what) {
                             log.error(fmt::format("{}: {}", name, what));
                           });
  }

  void stop() {
    if (!acceptor.is_open()) return;
    boost::system::error_code ignored;
    acceptor.close(ignored);
    remove_own_file();
    for (const auto& session : sessions) {
      session->stop();
    }
    drain();
  }

  /// Answers under way get a while to leave; then whoever is still there is closed.
  void drain() {
    pause.expires_after(sessions.empty() ? std::chrono::milliseconds(0) : limits.drain);
    pause.async_wait([self = shared_from_this()](const boost::system::error_code&) {
      for (const auto& session : self->sessions) {
        session->close();
      }
    });
  }

  /// Only the file we made: whoever replaced it meanwhile keeps theirs.
  void remove_own_file() const {
    struct stat found {};
    if (::lstat(path.c_str(), &found) == 0 && found.st_ino == inode) ::unlink(path.c_str());
  }

  asio::io_context& loop;
  Protocol::acceptor acceptor;
  asio::steady_timer pause;
  std::filesystem::path path;
  const Dispatcher& dispatcher;
  asio::thread_pool* reader;
  runtime::Log log;
  Limits limits;
  ino_t inode = 0;
  std::set<std::shared_ptr<Session>> sessions;
};

quantity::Result<std::unique_ptr<Listener>> Listener::open(asio::io_context& loop,
                                                           const std::filesystem::path& path,
                                                           const Dispatcher& dispatcher,
                                                           asio::thread_pool* reader, runtime::Log log,
                                                           Limits limits) {
  const auto socket = listen_at(path);
  if (!socket) return socket.error();
  return std::unique_ptr<Listener>(
      new Listener(std::make_shared<State>(loop, *socket, path, dispatcher, reader, std::move(log), limits)));
}

Listener::Listener(std::shared_ptr<State> state) : state_(std::move(state)) {}

Listener::~Listener() {
  stop();
}

void Listener::start() {
  state_->start();
}

void Listener::stop() {
  state_->stop();
}

std::size_t Listener::clients() const {
  return state_->sessions.size();
}

}  // namespace setwell::rpc
