#pragma once

#include <functional>
#include <memory>
#include <string_view>

#include "daemon/runtime/clocks.hpp"

namespace setwell::runtime {

enum class LogLevel { debug, info, warning, error };

/// The daemon's log: one line per event, to standard error. Under a journal each line carries its priority
/// and no time of its own; by hand it carries UTC and a word. Control characters in a text (it may quote a
/// payload) are written as `?`, so one event is always one line. Failing to write is never a failure of the
/// caller. Thread: any. Copies share one log.
class Log {
 public:
  using Line = std::function<void(std::string_view)>;

  /// To standard error; `least`: what is below it is dropped.
  [[nodiscard]] static Log to_standard_error(LogLevel least = LogLevel::info);
  /// Hands every line (`warning: text`) to `line`, one at a time.
  [[nodiscard]] static Log to_lines(Line line, LogLevel least = LogLevel::info);

  void debug(std::string_view text) const { write(LogLevel::debug, text); }
  void info(std::string_view text) const { write(LogLevel::info, text); }
  void warning(std::string_view text) const { write(LogLevel::warning, text); }
  void error(std::string_view text) const { write(LogLevel::error, text); }
  void write(LogLevel level, std::string_view text) const;

  /// For what may repeat without end: one line per key in ten minutes; the next one says how many were held
  /// back.
  void seldom(LogLevel level, std::string_view key, std::string_view text, SteadyInstant now) const;

 private:
  struct State;
  explicit Log(std::shared_ptr<State> state) : state_(std::move(state)) {}

  std::shared_ptr<State> state_;
};

}  // namespace setwell::runtime
