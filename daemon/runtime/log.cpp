#include "daemon/runtime/log.hpp"

#include <cstdlib>
#include <mutex>
#include <string>
#include <utility>

#include <fmt/format.h>
#include <spdlog/logger.h>
#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/base_sink.h>
#include <spdlog/sinks/stdout_sinks.h>

#include "daemon/runtime/seldom.hpp"

namespace setwell::runtime {

namespace {

constexpr std::chrono::minutes kSeldomPause{10};

class LineSink final : public spdlog::sinks::base_sink<std::mutex> {
 public:
  explicit LineSink(Log::Line line) : line_(std::move(line)) {}

 private:
  void sink_it_(const spdlog::details::log_msg& message) override {
    spdlog::memory_buf_t formatted;
    formatter_->format(message, formatted);
    std::string_view text(formatted.data(), formatted.size());
    if (text.ends_with('\n')) text.remove_suffix(1);
    line_(text);
  }
  void flush_() override {}

  Log::Line line_;
};

/// The priority a journal takes from the front of a line (`<4>`).
class PriorityFlag final : public spdlog::custom_flag_formatter {
 public:
  void format(const spdlog::details::log_msg& message, const std::tm&, spdlog::memory_buf_t& out) override {
    fmt::format_to(std::back_inserter(out), "<{}>", priority(message.level));
  }
  [[nodiscard]] std::unique_ptr<custom_flag_formatter> clone() const override {
    return std::make_unique<PriorityFlag>();
  }

 private:
  static int priority(spdlog::level::level_enum level) {
    switch (level) {
      case spdlog::level::err:
        return 3;
      case spdlog::level::warn:
        return 4;
      case spdlog::level::info:
        return 6;
      default:
        return 7;
    }
  }
};

spdlog::level::level_enum to_spdlog(LogLevel level) {
  switch (level) {
    case LogLevel::debug:
      return spdlog::level::debug;
    case LogLevel::info:
      return spdlog::level::info;
    case LogLevel::warning:
      return spdlog::level::warn;
    case LogLevel::error:
      break;
  }
  return spdlog::level::err;
}

bool under_a_journal() {
  return std::getenv("JOURNAL_STREAM") != nullptr;
}

std::unique_ptr<spdlog::formatter> journal_formatter() {
  auto formatter = std::make_unique<spdlog::pattern_formatter>();
  formatter->add_flag<PriorityFlag>('*').set_pattern("%*%v");
  return formatter;
}

std::unique_ptr<spdlog::formatter> formatter_of(std::string pattern) {
  return std::make_unique<spdlog::pattern_formatter>(std::move(pattern), spdlog::pattern_time_type::utc);
}

std::string one_line(std::string_view text) {
  std::string line(text);
  for (char& c : line) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = '?';
  }
  return line;
}

std::shared_ptr<spdlog::logger> logger_to(std::shared_ptr<spdlog::sinks::sink> sink, LogLevel least) {
  auto logger = std::make_shared<spdlog::logger>("setwelld", std::move(sink));
  logger->set_level(to_spdlog(least));
  // A log that cannot be written must not stop what is logged; there is nowhere left to say so.
  logger->set_error_handler([](const std::string&) {});
  return logger;
}

}  // namespace

struct Log::State {
  std::shared_ptr<spdlog::logger> logger;
  std::mutex mutex;
  Seldom seldom{kSeldomPause};
};

Log Log::to_standard_error(LogLevel least) {
  auto sink = std::make_shared<spdlog::sinks::stderr_sink_mt>();
  sink->set_formatter(under_a_journal() ? journal_formatter() : formatter_of("%Y-%m-%dT%H:%M:%SZ %l: %v"));
  auto state = std::make_shared<State>();
  state->logger = logger_to(std::move(sink), least);
  return Log(std::move(state));
}

Log Log::to_lines(Line line, LogLevel least) {
  auto sink = std::make_shared<LineSink>(std::move(line));
  sink->set_formatter(formatter_of("%l: %v"));
  auto state = std::make_shared<State>();
  state->logger = logger_to(std::move(sink), least);
  return Log(std::move(state));
}

void Log::write(LogLevel level, std::string_view text) const {
  if (!state_->logger->should_log(to_spdlog(level))) return;
  state_->logger->log(to_spdlog(level), one_line(text));
}

void Log::seldom(LogLevel level, std::string_view key, std::string_view text, SteadyInstant now) const {
  std::optional<std::uint64_t> held_back;
  {
    const std::lock_guard lock(state_->mutex);
    held_back = state_->seldom.let_through(key, now);
  }
  if (!held_back) return;
  write(level, *held_back == 0 ? std::string(text) : fmt::format("{} ({} more like this)", text, *held_back));
}

}  // namespace setwell::runtime
