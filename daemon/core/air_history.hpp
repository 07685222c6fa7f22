#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/surface_history.hpp"
#include "sensors/quantity/instant.hpp"

/// One zone's air as it was recorded: what lies between readings, and what is known over a silence.
namespace setwell::core {

/// One quantity over one piece of time.
struct Stretch {
  bool silent = false;
  /// A silence that has ended: readings on both sides bound the envelope. Over an open one (still going on,
  /// or before the first reading) slow clocks stand still.
  bool closed = false;
  double from = 0, to = 0;  ///< value at both ends when not silent; linear between
  double error = 0;
  double least = 0, most = 0;  ///< the envelope when silent
  double middle = 0;           ///< what the expected clock takes when silent
  /// Ahead of the record: `least`, `middle` and `most` are a forecast's, and nothing is silent.
  bool foretold = false;
  friend bool operator==(const Stretch&, const Stretch&) = default;
};

/// A piece of time over which both quantities are linear or silent. Humidity at either end of a piece is the
/// newest one told by then (held as long as its limit lasts), so a piece is final once its end is recorded;
/// but for those of a silence of humidity, which both its edges bound from the moment the later one is told.
struct AirPiece {
  quantity::Instant from, to;
  Stretch temperature;              ///< °C
  std::optional<Stretch> humidity;  ///< %, nothing where the zone never had any
  friend bool operator==(const AirPiece&, const AirPiece&) = default;
};

/// Time-ordered trusted readings of one zone. A value; the same points give the same pieces bit for bit, in
/// whatever order they were put in.
class AirHistory {
 public:
  struct Limits {
    quantity::Span temperature_silent_after{std::chrono::minutes(15)};
    quantity::Span humidity_silent_after{std::chrono::minutes(15)};
  };
  AirHistory() = default;
  explicit AirHistory(Limits limits) : limits_(limits) {}

  /// Puts a point in its place; a second one at the same time replaces the first. Answers whether anything
  /// changed. What no air can be (not a number, colder than -60 or warmer than 150 °C, outside 0 … 105 %, a
  /// negative or unknown error) is not taken in: whoever screens readings lets none through, and no clock
  /// would survive one.
  bool put_temperature(const AirPoint& point);
  bool put_humidity(const AirPoint& point);
  /// Takes a point out again (a verdict changed). Answers whether it was there.
  bool drop_temperature(quantity::Instant at);
  bool drop_humidity(quantity::Instant at);
  /// A place whose surface is measured; nothing for others.
  void add_place(const std::string& place, quantity::Span silent_after);
  [[nodiscard]] const SurfaceHistory* surface(std::string_view place) const;
  [[nodiscard]] SurfaceHistory* surface(std::string_view place);
  /// Forgets points before `at`.
  void forget_before(quantity::Instant at);

  /// Up to where pieces are final for now: the newest temperature reading.
  [[nodiscard]] std::optional<quantity::Instant> recorded_upto() const;
  /// The pieces that cover [from, to), to <= recorded_upto(); boundaries are readings, midnights UTC, inside
  /// a silence full hours UTC, and the two ends. Before the first reading: a silence.
  [[nodiscard]] std::vector<AirPiece> pieces(quantity::Instant from, quantity::Instant to) const;
  /// At most `most` whole pieces from `from` on, none reaching past `until` (they are never cut there): what
  /// a run that must not depend on its slicing goes by. With `left`, as `as_left`.
  [[nodiscard]] std::vector<AirPiece> whole_pieces(
      quantity::Instant from, quantity::Instant until, std::size_t most,
      std::optional<quantity::Instant> left = std::nullopt) const;
  /// What was known of [from, left) by `left`, readings after it put aside: how a piece's stay here ends.
  /// Final at `left`, whatever the zone records later. Works without any reading, too.
  [[nodiscard]] std::vector<AirPiece> as_left(quantity::Instant from, quantity::Instant left) const;
  /// What is known of [recorded_upto, now): the last value held as long as its limit lasts, after that a
  /// silence with its envelope. Never part of a state that is kept.
  [[nodiscard]] std::vector<AirPiece> tail(quantity::Instant now) const;
  /// When the silence now going on began: the newest temperature reading plus its limit, if that is past.
  [[nodiscard]] std::optional<quantity::Instant> silent_since(quantity::Instant now) const;
  /// The air that a future moment is taken to have while there is no forecast: yesterday's same hour, else
  /// the last good value; beyond a day ahead the same hour of the last recorded day. Nothing without
  /// readings.
  [[nodiscard]] std::optional<AirPiece> assumed(quantity::Instant from, quantity::Instant to) const;

  [[nodiscard]] const std::vector<AirPoint>& temperature() const { return temperature_; }
  [[nodiscard]] const std::vector<AirPoint>& humidity() const { return humidity_; }

  [[nodiscard]] const Limits& limits() const { return limits_; }
  friend bool operator==(const AirHistory& a, const AirHistory& b) {
    return a.temperature_ == b.temperature_ && a.humidity_ == b.humidity_ && a.surfaces_ == b.surfaces_;
  }

 private:
  Limits limits_;
  std::vector<AirPoint> temperature_;
  std::vector<AirPoint> humidity_;
  std::map<std::string, SurfaceHistory, std::less<>> surfaces_;  ///< by place
};

}  // namespace setwell::core
