#pragma once

#include <optional>
#include <set>
#include <string_view>

#include "daemon/core/air_history.hpp"
#include "daemon/core/fold.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/outlook.hpp"

/// The pot-life clock of a batch: what is left of a mix. The fast clock is the one that warns.
namespace setwell::core {

struct BatchOutlook {
  quantity::Instant now;
  Bounded<double> progress;  ///< slow <= expected <= fast; usable no more at 1
  /// When it was (past) or will be used up, taking the assumed air; nothing when not within 30 days.
  Bounded<std::optional<quantity::Instant>> over;
  /// Time left by each clock, 0 when over. The slow clock leaves the most.
  Bounded<std::optional<quantity::Span>> left;
  /// When the fast clock reaches 70 %: the moment of the notice.
  std::optional<quantity::Instant> told_at;
  std::set<Basis> basis;
  std::string_view caution;  ///< what to say besides (pot_life.hpp); empty when nothing

  /// Seconds left, 0 when over; nothing when beyond reach.
  [[nodiscard]] Bounded<std::optional<double>> left_s() const;
  friend bool operator==(const BatchOutlook&, const BatchOutlook&) = default;
};

/// From the mixing on (the fast clock starts at mixed - error, the slow at mixed + error) in the air of the
/// batch's zone, or its resin's logged temperature where that is the warmer. Nothing where no time may be
/// given: the sheet states no pot life, the mix is above 3 kg or in an insulated pot, or its zone (`air`, may
/// be null) has never told a temperature. `k` is Strictness::k. Pure; costs well under a millisecond for a
/// pot life of hours.
[[nodiscard]] std::optional<BatchOutlook> batch_outlook(const Batch& batch, const Material& material,
                                                        const AirHistory* air, double k,
                                                        quantity::Instant now);

}  // namespace setwell::core
