#include <atomic>
#include <charconv>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <optional>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <unistd.h>

#include "sensors/decode/formats/room_csv.hpp"
#include "sensors/room/faults.hpp"
#include "sensors/room/feed.hpp"
#include "sensors/room/generator.hpp"
#include "sensors/room/payloads.hpp"

namespace {

using namespace setwell;
using namespace std::chrono_literals;
using quantity::Error;
using quantity::ErrorKind;
using quantity::Result;
using room::SensorMessage;

volatile std::sig_atomic_t interrupted = 0;

struct Options {
  std::string from;
  std::uint64_t seed = 1;
  std::string season = "winter";
  bool heated = false;
  bool set_back = false;
  double days = 7.0;
  double step_minutes = 5.0;
  std::vector<std::string> faults;
  std::string begin;
  std::string end;
  room::FeedSettings broker;
  std::string password_file;
  room::Topics topics;
  std::string speed = "1";
  bool csv = false;
};

/// Where the line of the span lies; nothing: open on that side.
struct Bounds {
  std::optional<quantity::Instant> begin;
  std::optional<quantity::Instant> end;
};

int exit_code(const Error& error) {
  switch (error.kind) {
    case ErrorKind::refused:
      return 1;
    case ErrorKind::usage:
      return 2;
    case ErrorKind::unreachable:
      return 3;
    case ErrorKind::not_found:
      return 4;
    case ErrorKind::invalid:
      return 5;
  }
  return 1;
}

Result<std::optional<quantity::Instant>> read_time(const std::string& option, const std::string& text) {
  if (text.empty()) return std::optional<quantity::Instant>();
  const auto at = quantity::parse_rfc3339(text);
  if (at) return at;
  return Error{ErrorKind::usage,
               fmt::format("{} wants a time such as 2031-03-04T10:00:00Z, not '{}'", option, text)};
}

Result<Bounds> read_bounds(const Options& options) {
  const auto begin = read_time("--begin", options.begin);
  if (!begin) return begin.error();
  const auto end = read_time("--end", options.end);
  if (!end) return end.error();
  return Bounds{*begin, *end};
}

/// Times real time; nothing: as fast as the broker takes it.
Result<std::optional<double>> read_speed(const std::string& text) {
  if (text == "max") return std::optional<double>();
  double factor = 0.0;
  const auto [rest, error] = std::from_chars(text.data(), text.data() + text.size(), factor);
  if (error == std::errc() && rest == text.data() + text.size() && factor > 0.0 && factor <= 1e9)
    return std::optional(factor);
  return Error{ErrorKind::usage, fmt::format("--speed wants a positive number or max, not '{}'", text)};
}

Result<std::string> read_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) return Error{ErrorKind::not_found, fmt::format("cannot read {}", path)};
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

Result<std::vector<SensorMessage>> recorded(const Options& options, const Bounds& bounds) {
  const auto text = read_file(options.from);
  if (!text) return text.error();
  const auto rows = decode::parse_room_csv(*text);
  if (!rows) return Error{rows.error().kind, fmt::format("{}: {}", options.from, rows.error().detail)};
  std::vector<SensorMessage> messages;
  for (const auto& row : *rows) {
    if ((bounds.begin && row.at < *bounds.begin) || (bounds.end && row.at >= *bounds.end)) continue;
    messages.push_back({row.at, row.at, row.temperature_c, row.humidity_pct, false});
  }
  return messages;
}

quantity::Instant this_minute() {
  return std::chrono::floor<std::chrono::minutes>(std::chrono::system_clock::now());
}

room::RoomSpec spec_of(const Options& options, const Bounds& bounds) {
  room::RoomSpec spec;
  spec.seed = options.seed;
  spec.season = options.season == "summer" ? room::Season::summer : room::Season::winter;
  if (options.heated) spec.heating = room::Heating::steady;
  if (options.set_back) spec.heating = room::Heating::night_set_back;
  spec.begin = bounds.begin.value_or(this_minute());
  const auto days = std::chrono::duration<double, std::ratio<86400>>(options.days);
  spec.end = bounds.end.value_or(spec.begin + std::chrono::round<quantity::Span>(days));
  spec.step = std::chrono::round<quantity::Span>(quantity::Minutes(options.step_minutes));
  return spec;
}

/// As a sensor with two decimals sends it.
double two_decimals(double value) {
  return std::round(value * 100.0) / 100.0;
}

std::vector<SensorMessage> invented(const Options& options, const Bounds& bounds) {
  std::vector<SensorMessage> messages;
  for (const auto& row : room::generate(spec_of(options, bounds)))
    messages.push_back({row.at, row.at, two_decimals(row.temperature.degrees()),
                        two_decimals(row.humidity.in_percent()), false});
  return messages;
}

Result<std::vector<SensorMessage>> messages_of(const Options& options) {
  const auto bounds = read_bounds(options);
  if (!bounds) return bounds.error();
  auto messages = options.from.empty() ? invented(options, *bounds) : recorded(options, *bounds);
  if (!messages) return messages.error();
  if (messages->empty()) return Error{ErrorKind::invalid, "there is no row in that span"};
  std::vector<room::Fault> faults;
  for (const auto& word : options.faults)
    faults.push_back(*room::fault_named(word));
  return room::with_faults(std::move(*messages), faults, options.seed);
}

void print(const std::vector<SensorMessage>& messages) {
  std::fputs("time,temperature_c,humidity_pct\n", stdout);
  for (const auto& message : messages)
    if (!message.retained) std::fputs(room::csv_line(message).c_str(), stdout);
}

/// Returns early when interrupted.
void sleep_until(std::chrono::steady_clock::time_point due) {
  while (interrupted == 0 && std::chrono::steady_clock::now() < due)
    std::this_thread::sleep_for(
        std::min<std::chrono::steady_clock::duration>(100ms, due - std::chrono::steady_clock::now()));
}

void publish(const std::vector<SensorMessage>& messages, const room::Topics& topics,
             std::optional<double> speed, room::Feed& feed) {
  const auto began = std::chrono::steady_clock::now();
  for (const auto& message : messages) {
    if (speed) {
      const quantity::Seconds after = message.at - messages.front().at;
      sleep_until(began + std::chrono::round<std::chrono::nanoseconds>(after / *speed));
    }
    if (interrupted != 0) return;
    for (const auto& each : room::payloads_of(message, topics))
      feed.publish(each);
  }
}

room::Topics topics_of(const Options& options) {
  room::Topics topics = options.topics;
  if (topics.both.empty() && topics.temperature.empty() && topics.humidity.empty())
    topics.both = "workshop/bench";
  return topics;
}

Result<int> feed_broker(const Options& options, const std::vector<SensorMessage>& messages) {
  const auto speed = read_speed(options.speed);
  if (!speed) return speed.error();
  room::FeedSettings broker = options.broker;
  if (!options.password_file.empty()) {
    const auto text = read_file(options.password_file);
    if (!text) return text.error();
    broker.password = text->substr(0, text->find_first_of("\r\n"));
  }
  try {
    room::Feed feed(broker);
    publish(messages, topics_of(options), *speed, feed);
    feed.finish();
    fmt::print("published {} messages, {} acknowledged\n", feed.published(), feed.acknowledged());
    return feed.published() == feed.acknowledged() ? 0 : 1;
  } catch (const room::FeedFailed& failed) {
    return Error{ErrorKind::unreachable, failed.what()};
  }
}

Result<int> run(const Options& options) {
  const auto messages = messages_of(options);
  if (!messages) return messages.error();
  if (!options.csv) return feed_broker(options, *messages);
  print(*messages);
  return 0;
}

void describe_room(CLI::App& app, Options& options) {
  app.add_option("--from", options.from, "a recorded room: CSV with time,temperature_c,humidity_pct")
      ->type_name("ROOM.csv");
  app.add_option("--seed", options.seed, "of the invented room and of the faults")->capture_default_str();
  app.add_option("--season", options.season, "winter or summer")
      ->check(CLI::IsMember({"winter", "summer"}))
      ->capture_default_str();
  app.add_flag("--heated", options.heated, "kept at 20 °C");
  app.add_flag("--set-back", options.set_back, "heated to 20 °C by day and 14 °C from 21:00 to 06:00 UTC");
  app.add_option("--days", options.days, "length of the invented room")
      ->check(CLI::Range(0.001, 3660.0))
      ->capture_default_str();
  app.add_option("--step", options.step_minutes, "minutes between its rows")
      ->check(CLI::Range(1.0 / 60.0, 1440.0))
      ->capture_default_str();
  std::vector<std::string> words;
  for (const auto word : room::fault_names())
    words.emplace_back(word);
  app.add_option("--fault", options.faults, "what the sensor does wrong; may be given several times")
      ->check(CLI::IsMember(words));
  app.add_option("--begin", options.begin, "first time taken, RFC 3339 (invented room: now)")->type_name("T");
  app.add_option("--end", options.end, "first time no longer taken")->type_name("T");
}

void describe_feed(CLI::App& app, Options& options) {
  app.add_option("--broker", options.broker.broker, "where to publish")
      ->type_name("HOST:PORT")
      ->capture_default_str();
  app.add_option("--user", options.broker.user, "login, where the broker wants one");
  app.add_option("--password-file", options.password_file, "its password is the first line of this file");
  app.add_option("--topic", options.topics.both,
                 "one JSON message for both quantities (workshop/bench unless another topic is given)");
  app.add_option("--topic-temperature", options.topics.temperature, "a JSON message for the temperature");
  app.add_option("--topic-humidity", options.topics.humidity, "a JSON message for the humidity");
  app.add_option("--speed", options.speed, "times real time, or max: as fast as the broker takes it")
      ->type_name("N|max")
      ->capture_default_str();
  app.add_option("--window", options.broker.window, "messages that may wait for the broker's acknowledgement")
      ->check(CLI::Range(20, 100))
      ->capture_default_str();
  app.add_flag("--csv", options.csv, "print the room instead of publishing it");
}

}  // namespace

int main(int count, char** arguments) {
  Options options;
  CLI::App app("A stand-in for sensors: publishes a recorded or an invented room to an MQTT broker.",
               "setwell-room");
  app.set_version_flag("--version", "setwell-room " SETWELL_VERSION);
  app.footer("Example: setwell-room --season winter --days 3 --speed max --topic workshop/bench");
  describe_room(app, options);
  describe_feed(app, options);
  try {
    app.parse(count, arguments);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : 2;
  }
  std::signal(SIGINT, [](int) { interrupted = 1; });
  std::signal(SIGTERM, [](int) { interrupted = 1; });
  const auto code = run(options);
  if (!code) fmt::print(stderr, "setwell-room: {}\n", code.error().detail);
  std::fflush(nullptr);
  // The MQTT library's threads may still be at work.
  ::_exit(code ? *code : exit_code(code.error()));
}
