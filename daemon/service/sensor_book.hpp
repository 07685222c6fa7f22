#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/fold.hpp"
#include "daemon/ledger/ledger.hpp"
#include "daemon/service/newest_readings.hpp"
#include "daemon/service/zone_air.hpp"
#include "daemon/settings/settings.hpp"
#include "sensors/decode/raw_message.hpp"
#include "sensors/screen/duplicates.hpp"
#include "sensors/screen/screen.hpp"

/// From raw messages to the air of the zones.
namespace setwell::service {

using Zones = std::map<quantity::ZoneId, ZoneAir>;

/// A sensor that is not at the piece reads air that may be this much warmer or colder than the air there, K.
inline constexpr double kPlacementKelvin = 0.5;

/// Whether a channel tells the air of its zone, which every clock there runs on.
[[nodiscard]] bool feeds_air(const decode::ChannelSpec& spec);
/// That, or the surface at a place, in place of the lag.
[[nodiscard]] bool moves_clocks(const decode::ChannelSpec& spec);

/// One series of readings: a channel of the settings, or several gateways that hear the same probe.
struct Series {
  std::vector<const decode::ChannelSpec*> ways;
  quantity::ChannelId id;
  ledger::ChannelNumber number;
  std::size_t rank = 0;  ///< among the series of its zone and quantity, as the settings list them
  ledger::ChannelState state;
  quantity::Instant watched_from{};  ///< when it was first listened for
  NewestReadings newest;             ///< what screening looks at, of the ledger
  [[nodiscard]] const decode::ChannelSpec& spec() const { return *ways.front(); }
};

/// The air of a zone, or the surface at one of its places, may mean something else now from a moment on.
struct AirChange {
  quantity::ZoneId zone;
  quantity::Instant at;
  std::string place{};  ///< empty for the air
};

/// Decodes and screens messages, stores what they said, and keeps the zones' air. Thread: loop only;
/// everything that writes must be called inside a transaction.
class SensorBook {
 public:
  /// Follows the settings' channels; `zones` is filled with the trusted readings since `since` and the
  /// readings by hand in `hand`.
  void load(const settings::Settings& settings, ledger::Ledger& ledger, Zones& zones, quantity::Instant since,
            const std::vector<core::Event<core::HandReading>>& hand, quantity::Instant now);

  /// Takes one message. `previous` holds the last messages of the connection before this one.
  std::vector<AirChange> take(const decode::RawMessage& message,
                              const std::vector<decode::RawMessage>& previous, ledger::Ledger& ledger,
                              Zones& zones);

  /// The moment a message says it was measured at, by any channel that reads it.
  [[nodiscard]] std::optional<quantity::Instant> device_time(const decode::RawMessage& message) const;

  /// The hand readings as they stand now: new ones are put in, struck ones taken out.
  std::vector<AirChange> hand_changed(const std::vector<core::Event<core::HandReading>>& hand, Zones& zones);

  [[nodiscard]] const std::vector<Series>& series() const { return series_; }

 private:
  void take_by(Series& series, const decode::ChannelSpec& way, const decode::RawMessage& message,
               bool repeated, ledger::Ledger& ledger, Zones& zones, std::vector<AirChange>& changes);
  void take_value(Series& series, const decode::DecodedValue& value, const decode::RawMessage& message,
                  ledger::Ledger& ledger, Zones& zones, std::vector<AirChange>& changes);
  /// Screens what a new value (`fresh`), or a birth at `around`, may change.
  void screen_again(Series& series, quantity::Instant around, const ledger::ReadingKey* fresh,
                    const decode::RawMessage& message, ledger::Ledger& ledger, Zones& zones,
                    std::vector<AirChange>& changes);
  void take_verdict(Series& series, const ledger::StoredReading& row, const screen::Verdict& verdict,
                    const decode::RawMessage* message, ledger::Ledger& ledger);
  void apply(const Series& series, quantity::Instant at, double value, bool counts,
             const ledger::Ledger& ledger, Zones& zones, std::vector<AirChange>& changes) const;
  /// A humidity as it is at the true temperature: the housing's offset warmed or cooled the element, which
  /// leaves the vapour pressure alone. Other quantities as they are.
  [[nodiscard]] double told_by(const Series& series, quantity::Instant at, double value,
                               const ledger::Ledger& ledger) const;
  /// The humidities of a thermometer's housing, once one of its readings came or went.
  void follow_thermometer(const Series& thermometer, quantity::Instant at, const ledger::Ledger& ledger,
                          Zones& zones, std::vector<AirChange>& changes) const;
  [[nodiscard]] const Series* thermometer_beside(const Series& series) const;
  [[nodiscard]] bool redelivered(const decode::RawMessage& message,
                                 const std::vector<decode::RawMessage>& previous);
  static ledger::RefusedRow refused_row(const std::string& source, const decode::RawMessage& message,
                                        quantity::Refusal reason);
  bool take_presence(const decode::RawMessage& message, ledger::Ledger& ledger, Zones& zones,
                     std::vector<AirChange>& changes);

  std::vector<Series> series_;
  std::map<quantity::ChannelId, std::vector<quantity::Instant>> births_;
  std::vector<core::Event<core::HandReading>> hand_;
  std::int64_t connection_ = 0;
  std::vector<screen::Delivery> unmatched_;  ///< of the previous connection's last messages
};

}  // namespace setwell::service
