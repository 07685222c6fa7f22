#pragma once

#include <chrono>
#include <cstddef>
#include <filesystem>
#include <memory>

#include "daemon/rpc/dispatcher.hpp"
#include "daemon/runtime/log.hpp"

namespace boost::asio {
class io_context;
class thread_pool;
}  // namespace boost::asio

namespace setwell::rpc {

struct Limits {
  std::size_t clients = 32;
  std::chrono::milliseconds write{10'000};    ///< an answer that does not move for this long ends its client
  std::chrono::milliseconds idle{3'600'000};  ///< so does a client that asks nothing
  std::chrono::milliseconds drain{1'000};     ///< on stop, for answers that are under way
};

/// The daemon's door for the command line: a unix socket that its owner and group may use. Each client is one
/// conversation, one call at a time: the next line is read when the answer to the last has been handed over,
/// so no client can pile up more than one answer here, whatever it sends and whether or not it reads. Thread:
/// loop only; what a method's planner leaves to do is carried out on the reader's thread.
class Listener {
 public:
  /// Binds `path` and listens. A socket left over by a dead daemon is replaced; one that answers, and any
  /// file that is no socket, is left alone: Error refused, with what to do. `loop`, `dispatcher` and `reader`
  /// (may be null: everything on the loop) must outlive it. Nothing is accepted before `start`.
  [[nodiscard]] static quantity::Result<std::unique_ptr<Listener>> open(boost::asio::io_context& loop,
                                                                        const std::filesystem::path& path,
                                                                        const Dispatcher& dispatcher,
                                                                        boost::asio::thread_pool* reader,
                                                                        runtime::Log log, Limits limits);
  /// As `stop`.
  ~Listener();
  Listener(const Listener&) = delete;
  Listener& operator=(const Listener&) = delete;

  void start();
  /// Takes nobody and no call any more, removes the socket, and gives answers under way `drain` to leave. Run
  /// the loop on for that; it runs out of our work within that time.
  void stop();
  [[nodiscard]] std::size_t clients() const;

 private:
  struct State;
  explicit Listener(std::shared_ptr<State> state);

  std::shared_ptr<State> state_;
};

}  // namespace setwell::rpc
