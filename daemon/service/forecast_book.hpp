#pragma once

#include <map>
#include <optional>
#include <vector>

#include "daemon/core/forecast_room.hpp"
#include "daemon/ledger/ledger.hpp"
#include "daemon/service/sensor_book.hpp"
#include "daemon/settings/settings.hpp"

/// The forecasts of all zones: they learn as hours close, are issued anew as quarters of an hour close, and
/// are kept until the next. Thread: loop only.
namespace setwell::service {

class ForecastBook {
 public:
  /// Takes up what was stored for the zones of the settings.
  void load(const settings::Settings& settings, const ledger::Ledger& ledger);

  /// The air of a zone from a moment on may mean something else than was learned.
  void air_changed(const quantity::ZoneId& zone, quantity::Instant at);

  /// Learns the hours that have closed by `now` and marks forecasts for issuing where a quarter of an hour
  /// has. A quarter closes a minute late: sensors send one quantity after the other. Stores every
  /// kStoredEvery hours; call inside a transaction.
  void refit(const settings::Settings& settings, const Zones& zones, const SensorBook& sensors,
             ledger::Ledger& ledger, quantity::Instant now);

  /// The newest forecast of a zone, or why there is none. Issued when first asked for after its quarter
  /// closed, then kept. Good until the next refit.
  [[nodiscard]] const core::ForecastAnswer& of(const quantity::ZoneId& zone, const Zones& zones);

  /// A restart learns the hours since from the readings.
  static constexpr core::HourIndex kStoredEvery = 6;

 private:
  struct Heat {
    quantity::Celsius set_point;
    bool on = false;
  };
  /// What was learned up to and with an hour.
  struct Mark {
    core::HourIndex hour = 0;
    core::RoomForecaster room;
  };
  static constexpr core::HourIndex kMarkedEvery = 24;
  static constexpr std::size_t kMarks = 2;
  struct Entry {
    core::RoomForecaster room;
    /// Late readings are learned from the newest mark before them, as if they had come in time; what comes
    /// later than the oldest mark only corrects the hours that later views see.
    std::vector<Mark> marks;
    bool from_nothing = true;                  ///< it began without anything stored
    std::optional<quantity::Instant> changed;  ///< air learned before may be another
    std::optional<Heat> heat;                  ///< only where a channel tells whether it is on
    std::optional<core::ForecastAnswer> answer;
  };
  static void remember(Entry& entry, core::HourIndex hour);
  static void go_back(Entry& entry, core::HourIndex before);
  void learn(Entry& entry, const quantity::ZoneId& zone, const core::AirHistory& history,
             ledger::Ledger& ledger);
  [[nodiscard]] core::ForecastAnswer issue(const Entry& entry, const core::AirHistory& history) const;
  [[nodiscard]] core::ForecastAnswer issue_heated(const Entry& entry, const Zones& zones);

  std::map<quantity::ZoneId, Entry> entries_;
  std::optional<quantity::ZoneId> room_;  ///< where heated zones stand: the first zone that is a room
  quantity::Instant quarter_{};
};

/// The last quarter of an hour that has closed by `now`.
[[nodiscard]] quantity::Instant closed_quarter(quantity::Instant now);

}  // namespace setwell::service
