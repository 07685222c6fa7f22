#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/api/rpc_envelope.hpp"
#include "daemon/rpc/method_table.hpp"

namespace setwell::rpc {

/// What is remembered of a client between its lines.
struct Caller {
  bool greeted = false;
  std::string client;  ///< as it called itself
};

/// A method about to be carried out, and for whom. Lives as long as the dispatcher.
struct Ready {
  const Method* method = nullptr;
  api::Call call;
};

/// The answer line, nothing for a notification; and what the log should hear of, if the daemon itself failed.
struct Outcome {
  std::optional<std::string> line;
  std::string broken;
};

/// From a line to the line that answers it: reads the call, checks it against the method table, has it
/// carried out. Adds `hello` (must be a client's first call) and `describe`. Knows no sockets. Thread: all
/// functions are const and keep no state; each runs on the calling thread.
class Dispatcher {
 public:
  /// `methods`: names must differ, from each other and from `hello` and `describe`.
  explicit Dispatcher(std::vector<Method> methods);

  /// Reads a line. Either what is to be carried out, or the outcome already: every refusal, `hello`,
  /// `describe`.
  [[nodiscard]] std::variant<Ready, Outcome> read(std::string_view line, Caller& caller) const;
  /// Calls the handler, or the planner and what it planned. An exception of theirs is answered as error
  /// -32603 and reported in `broken`.
  [[nodiscard]] Outcome carry_out(const Ready& ready) const;
  /// The same in two parts, for a method with a planner: on the loop, then on the reader.
  [[nodiscard]] std::variant<Work, Outcome> plan(const Ready& ready) const;
  [[nodiscard]] static Outcome finish(const Ready& ready, const Work& work);
  /// Both in one.
  [[nodiscard]] Outcome answer(std::string_view line, Caller& caller) const;

  /// The answer to a line that is longer than allowed.
  [[nodiscard]] static std::string too_long();
  /// The answer to a client for whom there is no room.
  [[nodiscard]] static std::string too_many();

 private:
  [[nodiscard]] std::optional<api::CallFault> objection(const api::Call& call, const Caller& caller) const;
  [[nodiscard]] Outcome hello(const api::Call& call, Caller& caller) const;
  [[nodiscard]] boost::json::object describe() const;

  std::map<std::string, Method, std::less<>> methods_;
};

}  // namespace setwell::rpc
