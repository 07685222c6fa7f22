#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/notice.hpp"
#include "sensors/decode/channel.hpp"
#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/measure.hpp"
#include "sensors/quantity/time_zone.hpp"

/// All that a workshop sets, as one value that is replaced as a whole and never changed. Every default stands
/// here and, with its reason, in config/setwelld.toml.
namespace setwell::settings {

enum class TemperatureUnit { celsius, fahrenheit };
enum class ClockFace { hours_24, hours_12 };

/// Hours of each day by the clock on the wall, 0 to 24 h after midnight; `to` at or before `from` runs into
/// the next day. Both alike: the whole day where hours are waking ones, none of it where they are quiet.
struct DayHours {
  std::chrono::minutes from{0};
  std::chrono::minutes to{0};
  friend bool operator==(const DayHours&, const DayHours&) = default;
};

struct Workshop {
  std::string name = "workshop";
  quantity::TimeZone time_zone;  ///< UTC unless set
  TemperatureUnit temperature = TemperatureUnit::celsius;
  ClockFace clock = ClockFace::hours_24;
  DayHours waking{std::chrono::hours(7), std::chrono::hours(22)};
  DayHours quiet{std::chrono::hours(22), std::chrono::hours(7)};
  std::vector<std::chrono::weekday> days_off;
  /// Kinds of notice that quiet hours do not hold.
  std::vector<core::NoticeKind> cannot_wait{
      core::NoticeKind::pot_life_ending, core::NoticeKind::too_cold, core::NoticeKind::dew_margin_lost,
      core::NoticeKind::sensor_silent, core::NoticeKind::sensor_implausible};
  quantity::Hours sanded_lasts{24.0};  ///< a sanded coat may be coated this long
  quantity::Minutes per_piece{4.0};    ///< the maker's own time to coat one piece
  quantity::Minutes stirring{3.0};     ///< where the sheet says nothing
  double k = 3.1;                      ///< how many spreads the sure bounds keep away
  double scatter = 0.10;               ///< between pieces coated alike, in ln time
  quantity::Grams scale{1.0};          ///< the scale's step
};

/// Where readings come from. File names as written; whoever opens them says what is wrong with them.
struct Broker {
  std::string host = "localhost";
  int port = 1883;
  std::string client_id = "setwelld";
  std::string user;           ///< empty: none
  std::string password_file;  ///< empty: none
  std::chrono::seconds keepalive{20};
  bool tls = false;
  std::string ca_file;           ///< empty: the system's
  std::string certificate_file;  ///< empty: none
  std::string key_file;          ///< empty: none; set exactly when the certificate is
  friend bool operator==(const Broker&, const Broker&) = default;
};

enum class ZoneKind { room, heated };

struct Zone {
  quantity::ZoneId id;
  ZoneKind kind = ZoneKind::room;
  std::optional<quantity::Celsius> set_point;  ///< exactly for a heated one
  std::vector<std::string> places;             ///< names; a number of places is named 1, 2, …
};

struct Form {
  quantity::FormId id;
  quantity::SquareCentimetres area{1.0};
  quantity::Minutes lag{1.0};  ///< time constant of the surface behind the air
};

enum class RouteKind { log, mqtt, mail, webhook, command };

/// How the way to a mail server is kept private. `none` only to this very machine.
enum class MailSecurity { starttls, tls, none };

/// Where mail is handed in.
struct MailServer {
  std::string host;
  int port = 0;  ///< 587 for starttls, 465 for tls, 25 for none, unless set
  MailSecurity security = MailSecurity::starttls;
  std::string user;           ///< empty: none
  std::string password_file;  ///< exactly where there is a user
  std::string from;
  std::vector<std::string> to;
  friend bool operator==(const MailServer&, const MailServer&) = default;
};

struct Route {
  quantity::RouteId id;
  RouteKind kind = RouteKind::log;
  std::vector<core::NoticeKind> kinds;  ///< only these kinds of notice; empty: all
  bool instant = false;                 ///< also gets what is only of use at once
  std::string topic = "setwell";        ///< mqtt: what its topics begin with
  std::vector<std::string> argv;        ///< command: program and arguments, run without a shell
  MailServer mail{};                    ///< mail
  std::string url{};                    ///< webhook: https, or http to this very machine
  std::string secret_file{};            ///< webhook: what its signature is made with
  std::string ca_file{};                ///< mail, webhook: empty: the system's
  std::chrono::seconds limit{30};       ///< mail, webhook, command: longer than this nothing may take
  friend bool operator==(const Route&, const Route&) = default;
};

struct Entry {
  bool mqtt = false;  ///< take logging lines from the broker
  friend bool operator==(const Entry&, const Entry&) = default;
};

struct Settings {
  Workshop workshop;
  Broker broker;
  std::vector<Zone> zones;
  std::vector<decode::ChannelSpec> channels;
  std::vector<Form> forms;
  std::vector<Route> routes;
  Entry entry;

  [[nodiscard]] const Zone* zone(const quantity::ZoneId& id) const;
  [[nodiscard]] const Form* form(const quantity::FormId& id) const;
  [[nodiscard]] const Route* route(const quantity::RouteId& id) const;
};

}  // namespace setwell::settings
