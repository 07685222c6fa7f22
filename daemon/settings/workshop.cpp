#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "daemon/settings/parts.hpp"

namespace setwell::settings {
namespace {

using toml_text::Table;

std::optional<int> two_digits(std::string_view text, int most) {
  int value = 0;
  if (text.size() != 2) return std::nullopt;
  const auto [end, error] = std::from_chars(text.data(), text.data() + 2, value);
  if (error != std::errc{} || end != text.data() + 2 || value < 0 || value > most) return std::nullopt;
  return value;
}

std::optional<std::chrono::minutes> time_of_day(std::string_view text) {
  if (text.size() != 5 || text[2] != ':') return std::nullopt;
  const auto hour = two_digits(text.substr(0, 2), 24);
  const auto minute = two_digits(text.substr(3), hour == 24 ? 0 : 59);
  if (!hour || !minute) return std::nullopt;
  return std::chrono::hours(*hour) + std::chrono::minutes(*minute);
}

DayHours read_hours(Table& table, std::string_view key, DayHours unset) {
  constexpr std::string_view kRight = "from-to in 24-hour local time, like \"22:00-07:00\"";
  const auto written = table.text(key);
  if (!written) return unset;
  const std::string_view text = *written;
  const auto dash = text.find('-');
  const auto from = time_of_day(text.substr(0, std::min(dash, text.size())));
  const auto to = dash == std::string_view::npos ? std::nullopt : time_of_day(text.substr(dash + 1));
  if (from && to) return {*from, *to};
  table.fault(key, fmt::format("\"{}\" are no hours of a day", text), std::string(kRight));
  return unset;
}

constexpr std::string_view kDays[] = {"sunday",   "monday", "tuesday", "wednesday",
                                      "thursday", "friday", "saturday"};

std::optional<std::chrono::weekday> weekday_named(std::string_view word) {
  for (unsigned i = 0; i < 7; ++i) {
    if (word == kDays[i]) return std::chrono::weekday(i);
  }
  return std::nullopt;
}

void read_days_off(Table& table, Workshop& workshop) {
  for (const std::string& typed : table.texts("days_off")) {
    if (const auto day = weekday_named(typed)) {
      workshop.days_off.push_back(*day);
    } else {
      table.not_among("days_off", typed, {std::begin(kDays), std::end(kDays)});
    }
  }
}

void read_model(Table& table, Workshop& workshop) {
  workshop.sanded_lasts = table.figure("sanded_lasts", toml_text::hours).value_or(workshop.sanded_lasts);
  if (const auto t = table.figure("per_piece", toml_text::hours_or_none)) workshop.per_piece = *t;
  if (const auto t = table.figure("stirring", toml_text::hours_or_none)) workshop.stirring = *t;
  workshop.k = table.number("k", 1.0, 8.0).value_or(workshop.k);
  workshop.scatter = table.number("scatter", 0.01, 0.5).value_or(workshop.scatter);
  workshop.scale = table.figure("scale", toml_text::mass).value_or(workshop.scale);
}

std::chrono::seconds read_keepalive(Table& table, std::chrono::seconds unset) {
  const auto written = table.figure("keepalive", toml_text::hours);
  if (!written) return unset;
  const auto seconds = std::chrono::round<std::chrono::seconds>(*written);
  if (seconds >= std::chrono::seconds(5) && seconds <= std::chrono::hours(1)) return seconds;
  table.fault("keepalive", "out of range", "5 s to 1 h");
  return unset;
}

std::string text_or(Table& table, std::string_view key, std::string unset) {
  return table.text(key).value_or(std::move(unset));
}

void need_something(Table& table, std::string_view key, const std::string& text) {
  if (text.empty()) table.fault(key, "empty", "a name, or without this key");
}

void read_tls(Table& table, Broker& broker) {
  broker.tls = table.truth("tls").value_or(false);
  broker.ca_file = text_or(table, "ca_file", "");
  broker.certificate_file = text_or(table, "certificate_file", "");
  broker.key_file = text_or(table, "key_file", "");
  for (const auto& [key, file] : {std::pair<std::string_view, const std::string&>{"ca_file", broker.ca_file},
                                  {"certificate_file", broker.certificate_file},
                                  {"key_file", broker.key_file}}) {
    if (!file.empty() && !broker.tls)
      table.fault(key, "of no use without encryption", "tls = true beside it");
  }
  if (broker.certificate_file.empty() == broker.key_file.empty()) return;
  const bool no_key = broker.key_file.empty();
  table.fault(no_key ? "certificate_file" : "key_file", "half of a pair",
              no_key ? "key_file beside it" : "certificate_file beside it");
}

}  // namespace

std::vector<core::NoticeKind> read_kinds(Table& table, std::string_view key,
                                         std::vector<core::NoticeKind> unset) {
  if (!table.find(key)) return unset;
  std::vector<std::string_view> words;
  for (const core::NoticeKind kind : core::kNoticeKinds)
    words.push_back(core::word(kind));
  std::vector<core::NoticeKind> kinds;
  for (const std::string& typed : table.texts(key)) {
    const auto found = std::find(words.begin(), words.end(), typed);
    if (found == words.end()) {
      table.not_among(key, typed, words);
    } else {
      kinds.push_back(core::kNoticeKinds[static_cast<std::size_t>(found - words.begin())]);
    }
  }
  return kinds;
}

std::optional<quantity::TimeZone> read_time_zone(Table& table, std::string_view key,
                                                 const ZoneLookup& zones) {
  const auto name = table.text(key);
  if (!name) return std::nullopt;
  auto zone = zones ? zones(*name) : std::nullopt;
  if (!zone) {
    table.fault(key, fmt::format("no time zone is called \"{}\"", *name),
                "a name of the time zone database, like \"Europe/Vienna\" or \"UTC\"");
  }
  return zone;
}

Workshop read_workshop(Table& table, const ZoneLookup& zones) {
  Workshop workshop;
  workshop.name = text_or(table, "name", workshop.name);
  if (auto zone = read_time_zone(table, "time_zone", zones)) workshop.time_zone = std::move(*zone);
  workshop.temperature = table
                             .choice<TemperatureUnit>("temperature", {{"C", TemperatureUnit::celsius},
                                                                      {"F", TemperatureUnit::fahrenheit}})
                             .value_or(workshop.temperature);
  workshop.clock =
      table.choice<ClockFace>("clock", {{"24h", ClockFace::hours_24}, {"12h", ClockFace::hours_12}})
          .value_or(workshop.clock);
  workshop.waking = read_hours(table, "waking", workshop.waking);
  workshop.quiet = read_hours(table, "quiet", workshop.quiet);
  workshop.cannot_wait = read_kinds(table, "cannot_wait", workshop.cannot_wait);
  read_days_off(table, workshop);
  read_model(table, workshop);
  table.done();
  return workshop;
}

Broker read_broker(Table& table) {
  Broker broker;
  broker.host = text_or(table, "host", broker.host);
  need_something(table, "host", broker.host);
  broker.port = static_cast<int>(table.whole("port", 1, 65535).value_or(broker.port));
  broker.client_id = text_or(table, "client_id", broker.client_id);
  need_something(table, "client_id", broker.client_id);
  broker.user = text_or(table, "user", "");
  broker.password_file = text_or(table, "password_file", "");
  if (!broker.password_file.empty() && broker.user.empty()) {
    table.fault("password_file", "a password without a user", "user beside it");
  }
  broker.keepalive = read_keepalive(table, broker.keepalive);
  read_tls(table, broker);
  table.done();
  return broker;
}

}  // namespace setwell::settings
