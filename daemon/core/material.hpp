#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/measure.hpp"
#include "sensors/quantity/relative_humidity.hpp"

/// What a manufacturer's datasheet states about one material, as values. Nothing here is computed: every
/// figure is a statement with the place it stands at.
namespace setwell::core {

/// The chemistry, which decides how temperature, humidity and film act where the sheet is silent.
enum class Family {
  epoxy,                    ///< amine-cured, solvent-free
  urethane,                 ///< two-part
  moisture_cured_urethane,  ///< one-part, needs water from the air
  alkyd,                    ///< oil-modified, dries by oxygen
  solvent_lacquer,          ///< dries by evaporation alone
  water_borne,
  light_cured,
};
inline constexpr std::array kFamilies{
    Family::epoxy,      Family::urethane,        Family::moisture_cured_urethane,
    Family::alkyd,      Family::solvent_lacquer, Family::water_borne,
    Family::light_cured};
/// `epoxy`, `moisture-cured-urethane`, … as written in sheets.
[[nodiscard]] std::string_view word(Family family);

/// A moment in a coat's (or a batch's) life. Each has its own clock.
enum class Milestone {
  pot_life_over,
  flash_off_over,
  tack_free,
  recoat_opens,
  recoat_closes,
  gap_begins,
  gap_ends,
  sandable,
  handling,
  packing,
  full_cure,
  full_strength,
};
inline constexpr std::size_t kMilestoneCount = 12;
/// `recoat-opens`, … as in sheets and in `--json`.
[[nodiscard]] std::string_view word(Milestone milestone);

/// How a sheet words a time.
enum class Wording {
  exact,     ///< "4 h": low == high
  range,     ///< "4 to 6 h"
  at_least,  ///< "at least 4 h": low only matters, high == low
  at_most,   ///< "at most 48 h": high == low
  no_limit,  ///< "no limit": a closing that never comes
};

/// A time a sheet states. Invariant (kept by whoever builds it): 0 < low <= high unless `no_limit`.
struct StatedTime {
  Wording wording = Wording::exact;
  quantity::Hours low{0};
  quantity::Hours high{0};
  friend bool operator==(const StatedTime&, const StatedTime&) = default;
};

/// One row of a table: at this temperature, this time.
struct Row {
  quantity::Celsius at{0.0};
  StatedTime time;
  std::string where;  ///< where it stands in the datasheet
  friend bool operator==(const Row&, const Row&) = default;
};

/// All that a sheet states about one milestone: rows in rising temperature, at least one, no two alike.
struct TimeTable {
  std::vector<Row> rows;
  friend bool operator==(const TimeTable&, const TimeTable&) = default;
};

/// The kinds of recoat rule a sheet can state (one per material that may go on top).
enum class RuleKind {
  open_only,        ///< from an opening on, no end
  open_close,       ///< a window; "sand first" after it
  early_gap_late,   ///< early window, gap in which it must not be coated, late window
  after_full_cure,  ///< only when fully cured
  while_tacky,      ///< from an opening (or at once) while it still prints; firm closes it
};
[[nodiscard]] std::string_view word(RuleKind kind);

/// When a coat of `top` may go on this material.
struct RecoatRule {
  std::string top = "any";  ///< a sheet's id, a family's word, `self`, or `any`
  RuleKind kind = RuleKind::open_only;
  std::optional<TimeTable> opens;  ///< none: open at once (early windows, while-tacky rules)
  std::optional<TimeTable>
      closes;  ///< open_close, while_tacky: the closing; early_gap_late: the late closing
  std::optional<TimeTable> gap_begins;  ///< early_gap_late: the end of the early window
  std::optional<TimeTable> gap_ends;    ///< early_gap_late: the late window's opening
  bool touch_opens = true;              ///< whether the maker's `firm` (or `tacky`) may open it
  std::string where;
  friend bool operator==(const RecoatRule&, const RecoatRule&) = default;
};

/// A bound on a condition, either side open.
template <typename Value>
struct Between {
  std::optional<Value> least;
  std::optional<Value> most;
  friend bool operator==(const Between&, const Between&) = default;
};

/// A condition range a sheet gives: `advised` is recommended, `limit` must not be passed.
struct Conditions {
  Between<quantity::Celsius> temperature;
  Between<quantity::RelativeHumidity> humidity;
  std::optional<quantity::CelsiusDelta> dew_margin;  ///< least surface minus dew point
  friend bool operator==(const Conditions&, const Conditions&) = default;
};

/// Conditions of one phase. `lasts` is how long after application they hold; none: until tack-free.
struct PhaseConditions {
  Conditions advised;
  Conditions limit;
  std::optional<quantity::Hours> lasts;
  std::string where;
  friend bool operator==(const PhaseConditions&, const PhaseConditions&) = default;
};

/// Two-part mixing. Ratios are parts of A to one part of B.
struct Mix {
  std::optional<double> by_weight;
  std::optional<double> by_volume;
  std::optional<quantity::GramsPerCubicCentimetre> density_a;
  std::optional<quantity::GramsPerCubicCentimetre> density_b;
  double tolerance = 0.03;  ///< of the ratio by weight, as a fraction
  std::optional<quantity::Minutes> stir;
  std::optional<quantity::Minutes> induction;  ///< stand after mixing, inside pot life
  std::string where;
  friend bool operator==(const Mix&, const Mix&) = default;
};

/// A change to the rules for coats loaded with flake, glitter or pigment.
struct LoadedRule {
  std::string load;                               ///< `flake`, `glitter`, `pigment`
  std::optional<quantity::Hours> opens_at_least;  ///< not before this, at reference temperature
  std::string note;
  std::string where{};
  friend bool operator==(const LoadedRule&, const LoadedRule&) = default;
};

/// A caution of the sheet, shown where the act needs it. Topics are words: flame, breathing, skin, dust,
/// food, heat.
struct Caution {
  std::string topic;
  std::string text;
  std::string where{};
  friend bool operator==(const Caution&, const Caution&) = default;
};

/// One material, as one edition of its sheet states it.
struct Material {
  quantity::SheetId id;
  std::string name;
  std::string document;  ///< which datasheet
  std::string edition;   ///< its edition or revision
  std::string date;      ///< its date, as written there
  Family family = Family::epoxy;

  quantity::Celsius reference_temperature{23.0};
  std::optional<quantity::RelativeHumidity> reference_humidity;
  std::optional<quantity::Micrometres> reference_film;
  std::optional<quantity::Grams> pot_test_mass;
  std::string reference_where{};

  std::optional<Mix> mix;
  std::optional<TimeTable> pot_life;
  std::optional<TimeTable> flash_off;
  std::optional<TimeTable> tack_free;
  std::optional<TimeTable> sandable;
  std::optional<TimeTable> handling;
  std::optional<TimeTable> packing;
  std::optional<TimeTable> full_cure;
  std::optional<TimeTable> full_strength;
  std::vector<RecoatRule> recoat;  ///< most particular `top` first

  std::optional<quantity::Celsius> apply_least;  ///< lowest application temperature: a warning
  std::optional<quantity::Celsius> cure_floor;   ///< cure stops below: stops the slow clock
  PhaseConditions application;
  PhaseConditions cure;

  std::vector<LoadedRule> loaded;
  std::vector<Caution> cautions;

  friend bool operator==(const Material&, const Material&) = default;
};

/// The table for a milestone that does not depend on what goes on top; nothing for those that do, and for
/// those the sheet does not state.
[[nodiscard]] const TimeTable* table_of(const Material& material, Milestone milestone);

/// The rule that holds when `top` goes on: by sheet id, then `self`, then family, then `any`. Nothing when
/// the sheet states none.
[[nodiscard]] const RecoatRule* rule_for(const Material& material, const quantity::SheetId& top,
                                         Family top_family);

}  // namespace setwell::core
