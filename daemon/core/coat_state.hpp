#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <optional>
#include <vector>

#include "daemon/core/coat_clocks.hpp"
#include "daemon/core/coat_run.hpp"
#include "daemon/core/outside.hpp"
#include "daemon/core/surface.hpp"

/// Inside CoatRun: how its numbers are laid out, and what it derives once from a case.
namespace setwell::core {

/// What each clock counts. The last two serve touch tests only.
enum class Track : std::size_t { slow, expected, fast, expected_upper, likely };
inline constexpr std::size_t kTracks = 5;
inline constexpr std::array kAllTracks{Track::fast, Track::expected, Track::slow, Track::expected_upper,
                                       Track::likely};

/// The coat's own timing and constants, fixed for the life of a run.
struct CoatPlan {
  std::shared_ptr<const SheetClocks> clocks;
  RateFactors film;
  std::vector<ConditionRule> conditions;
  quantity::Instant fast_start, expected_start, slow_start;
  std::optional<quantity::Instant> covered;  ///< only where covering stops the slow clocks
  bool humidity_matters = false;
  double lamp_ms = 0;  ///< how long it was under the lamp, counted from the coat on
  double tau_s = 360;
  int tack_free = -1;  ///< index of the clock until which the cure's conditions hold by default
  int flash_off = -1;
  std::vector<quantity::Instant> cuts;  ///< sorted: where something begins or ends in the middle of a piece
};
[[nodiscard]] CoatPlan plan_of(const CoatCase& coat);

/// A view of the flat numbers. Moments are kept as milliseconds, exact in a double; NaN is "not yet".
class CoatNumbers {
 public:
  static constexpr std::size_t kPerClock = 2 * kTracks + 2;
  static constexpr std::size_t kPerCondition = 3;
  static constexpr std::size_t kUpto = 0, kSurfaceKnown = 1, kLower = 2, kExpected = 3, kUpper = 4,
                               kBlush = 5, kBlushHours = 6, kCondensing = 7, kUnderFloor = 8, kWatch = 9;

  static std::size_t size(const CoatPlan& plan) {
    return first_clock(plan) + kPerClock * plan.clocks->size();
  }
  static std::size_t first_clock(const CoatPlan& plan) {
    return kWatch + kPerCondition * plan.conditions.size();
  }
  CoatNumbers(std::vector<double>& numbers, const CoatPlan& plan) : n_(numbers), clocks_(first_clock(plan)) {}

  double& operator[](std::size_t i) { return n_[i]; }
  double& worst(std::size_t condition) { return n_[kWatch + kPerCondition * condition]; }
  double& since(std::size_t condition) { return n_[kWatch + kPerCondition * condition + 1]; }
  /// The last moment at which the condition was seen outside.
  double& last(std::size_t condition) { return n_[kWatch + kPerCondition * condition + 2]; }
  double& progress(std::size_t clock, Track t) { return n_[place(clock) + static_cast<std::size_t>(t)]; }
  double& at(std::size_t clock, Track t) { return n_[place(clock) + kTracks + static_cast<std::size_t>(t)]; }
  double& silence(std::size_t clock) { return n_[place(clock) + 2 * kTracks]; }
  double& assumed(std::size_t clock) { return n_[place(clock) + 2 * kTracks + 1]; }
  bool reached(std::size_t clock, Track t) { return progress(clock, t) >= 1.0; }
  Surface surface() const { return {n_[kLower], n_[kExpected], n_[kUpper]}; }
  void set_surface(const Surface& s) {
    n_[kLower] = s.lower;
    n_[kExpected] = s.expected;
    n_[kUpper] = s.upper;
  }

 private:
  std::size_t place(std::size_t clock) const { return clocks_ + kPerClock * clock; }
  std::vector<double>& n_;
  std::size_t clocks_;
};

[[nodiscard]] inline std::optional<quantity::Instant> moment(double ms) {
  if (std::isnan(ms)) return std::nullopt;
  return quantity::instant_from_ms(static_cast<std::int64_t>(ms));
}
[[nodiscard]] inline double number(quantity::Instant at) {
  return static_cast<double>(quantity::to_ms(at));
}

/// The numbers of a run that has not begun.
[[nodiscard]] std::vector<double> fresh_numbers(const CoatPlan& plan);

/// Whether every slow clock that can come has come, or can come no more: the lamp is off.
[[nodiscard]] bool all_reached(const CoatPlan& plan, const std::vector<double>& numbers);
/// The same of the clocks that run on air alone.
[[nodiscard]] bool air_is_done(const CoatPlan& plan, const std::vector<double>& numbers);

/// Whether a bound of the sheet still holds at a moment: its phase is not over.
[[nodiscard]] bool holds(const CoatPlan& plan, CoatNumbers& numbers, const ConditionRule& rule,
                         quantity::Instant at);
/// Whether the coat is surely not tack-free yet, so damp and cold can still spoil it.
[[nodiscard]] bool soft(const CoatPlan& plan, CoatNumbers& numbers);

/// The floor under which a soft coat stands still, °C; nothing where there is none, or its clock goes by the
/// lamp.
[[nodiscard]] std::optional<double> soft_floor_c(const CoatPlan& plan);

/// Carries the clocks that count lamp time up to a moment (lamp.cpp).
void run_lamp(const CoatPlan& plan, CoatNumbers& numbers, quantity::Instant upto);
/// Minutes under the lamp that a clock asks of this coat, its film counted in.
[[nodiscard]] double lamp_needed_min(const CoatPlan& plan, const SheetClock& clock, Track track);

/// The channel at the place where a piece lies, if there is one, and how much of it counts.
struct SurfaceSource {
  const SurfaceHistory* history = nullptr;
  quantity::Instant seen = quantity::Instant::max();  ///< readings after this are put aside
  SurfaceHistory::Past past = SurfaceHistory::Past::unknown;
};
/// Of the stay at a moment; what it holds must outlive the answer. `seen` is cut at the end of the stay.
[[nodiscard]] SurfaceSource surface_source(const CoatCase& coat, const AirOf& air, quantity::Instant at,
                                           quantity::Instant seen, SurfaceHistory::Past past);

/// Carries all clocks over one piece of air.
void run_piece(const CoatCase& coat, const CoatPlan& plan, std::vector<double>& numbers,
               const AirPiece& piece, const SurfaceSource& surface,
               Closeness closeness = Closeness::recorded);

}  // namespace setwell::core
