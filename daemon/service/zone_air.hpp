#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/air_history.hpp"

/// Several sources of one zone's air made into one history.
namespace setwell::service {

/// The trusted points of one quantity from all its sources, by rank: a point counts only where no source of a
/// smaller rank has one within `reach` of it. What counts depends on the points alone, never on the order in
/// which they came. Thread: loop only.
class RankedPoints {
 public:
  explicit RankedPoints(quantity::Span reach) : reach_(reach) {}

  /// What a change of one point changes in the history.
  struct Change {
    std::vector<core::AirPoint> shown;      ///< put these
    std::vector<quantity::Instant> hidden;  ///< take these out
  };
  /// Puts a point in. A point at the same time from the same rank replaces the earlier one.
  [[nodiscard]] Change put(std::size_t rank, const core::AirPoint& point);
  [[nodiscard]] Change drop(std::size_t rank, quantity::Instant at);

 private:
  /// By time. Most are added at the end: a third of the room that a map would take.
  using Points = std::vector<core::AirPoint>;
  [[nodiscard]] bool covered(std::size_t rank, quantity::Instant at) const;
  /// Visits the points of all ranks behind `rank` within reach of a moment.
  template <typename Visit>
  void behind(std::size_t rank, quantity::Instant around, Visit visit) const;

  quantity::Span reach_;
  std::map<std::size_t, Points> ranks_;
};

/// One zone's air: its history, fed by channels in the order of the settings and, last, by hand readings.
class ZoneAir {
 public:
  explicit ZoneAir(core::AirHistory::Limits limits);

  /// Each answers the earliest moment whose meaning may have changed; nothing when nothing has.
  std::optional<quantity::Instant> put_temperature(std::size_t rank, const core::AirPoint& point);
  std::optional<quantity::Instant> put_humidity(std::size_t rank, const core::AirPoint& point);
  std::optional<quantity::Instant> drop_temperature(std::size_t rank, quantity::Instant at);
  std::optional<quantity::Instant> drop_humidity(std::size_t rank, quantity::Instant at);
  /// Of a place of the zone's, which must have been added.
  std::optional<quantity::Instant> put_surface(const std::string& place, std::size_t rank,
                                               const core::AirPoint& point);
  std::optional<quantity::Instant> drop_surface(const std::string& place, std::size_t rank,
                                                quantity::Instant at);
  void add_place(const std::string& place, quantity::Span silent_after);

  [[nodiscard]] const core::AirHistory& history() const { return history_; }

 private:
  std::optional<quantity::Instant> apply_temperature(const RankedPoints::Change& change);
  std::optional<quantity::Instant> apply_humidity(const RankedPoints::Change& change);
  std::optional<quantity::Instant> apply_surface(const std::string& place,
                                                 const RankedPoints::Change& change);

  core::AirHistory history_;
  RankedPoints temperature_;
  RankedPoints humidity_;
  std::map<std::string, RankedPoints> surfaces_;
};

/// The rank of hand readings: behind every channel.
inline constexpr std::size_t kHandRank = 1000;

}  // namespace setwell::service
