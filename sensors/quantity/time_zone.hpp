#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "sensors/quantity/instant.hpp"

namespace setwell::quantity {

using LocalTime = std::chrono::local_time<std::chrono::milliseconds>;

/// A civil time zone as a plain value: the changes of offset that are known, and nothing read from anywhere.
/// Before the first change the first offset holds; after the last change the last one does, so whoever builds
/// one must list changes far enough ahead (the zone loader goes 40 years past the day it reads).
class TimeZone {
 public:
  struct Change {
    Instant at;                   ///< from this moment on
    std::chrono::minutes offset;  ///< local minus UTC
    friend bool operator==(const Change&, const Change&) = default;
  };

  /// UTC.
  TimeZone() = default;
  /// `changes` must be in time order; `before` holds ahead of the first.
  TimeZone(std::string name, std::chrono::minutes before, std::vector<Change> changes);

  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] std::chrono::minutes offset_at(Instant at) const;
  [[nodiscard]] LocalTime to_local(Instant at) const;
  /// All moments that carry this local time: one as a rule, two in a repeated hour, none in a skipped one.
  [[nodiscard]] std::vector<Instant> moments_of(LocalTime local) const;
  /// The moment of a local time that always answers: the earlier of two; in a skipped hour the moment the
  /// clock jumped over it.
  [[nodiscard]] Instant earliest_of(LocalTime local) const;

 private:
  std::string name_ = "UTC";
  std::chrono::minutes before_{0};
  std::vector<Change> changes_;
};

}  // namespace setwell::quantity
