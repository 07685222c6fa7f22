#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

/// The vocabulary of a review: what the maker sees, what else was noticed, and what may have caused it.
namespace setwell::core {

/// What a coat that went wrong looks or feels like.
enum class Sign {
  soft,
  sticky_spots,
  never_dried,
  greasy,
  cloudy,
  craters,
  bubbles,
  dimples,
  dust,
  imprint,
  wavy,
  peeling,
  off_the_body,
  wrinkled,
  yellow,
  sags,
  decal_lift,
  lumps,
  rings,
  colour_bled,
  soft_when_hot,
};
[[nodiscard]] std::string_view word(Sign sign);
[[nodiscard]] std::optional<Sign> sign_from(std::string_view word);
/// What the maker sees, in half a sentence.
[[nodiscard]] std::string_view meaning(Sign sign);
[[nodiscard]] std::span<const Sign> all_signs();

/// What was noticed beside the entries: circumstances, and trials made since. Kept as the kind of a `noted`
/// step; `not-` before the word says that it was looked for and is not so.
enum class Observed {
  unvented_burner,
  fumes_nearby,
  draught,
  sun,
  heat_tool,
  served_hot,
  no_heat_in_pot,
  pot_hot,
  pot_warmed,
  mix_thick,
  pump_slip,
  walls_scraped,
  old_hardener,
  much_additive,
  whipped,
  at_tape,
  at_hands,
  new_stuff,
  porous_body,
  body_scuffed,
  body_degreased,
  washes_off,
  wipes_and_returns,
  clears_in_days,
  grows_with_time,
  returns_after_popping,
  at_once,
  hardens_when_warmed,
  big_bubbles,
  all_over,
  hard_elsewhere,
  other_dries_here,
  decal_kept_top,
  cut_through,
  shadowed,
  dusty,
};
[[nodiscard]] std::string_view word(Observed observed);
[[nodiscard]] std::string_view meaning(Observed observed);
[[nodiscard]] std::span<const Observed> all_observed();
/// An observation as it was noted: there, or looked for and not there.
struct Noticed {
  Observed what = Observed::draught;
  bool so = true;
};
/// `washes-off`, `not-washes-off`; nothing for other words.
[[nodiscard]] std::optional<Noticed> noticed_from(std::string_view word);

/// Why a coat may have gone wrong. Each is a mechanism, not a fault of a person.
enum class Cause {
  cold_cure,
  too_hot,
  blush,
  moisture,
  too_dry,
  ratio_off,
  poor_mixing,
  past_pot_life,
  pot_ran_away,
  stock,
  additive,
  not_yet_cured,
  light_short,
  window_missed,
  recoated_in_gap,
  recoated_too_soon,
  solvent_attack,
  base_not_cured,
  residue,
  airborne,
  body_not_prepared,
  outgassing,
  air_stirred_in,
  too_thick,
  too_thin,
  rotator_stopped,
  dust_settled,
  packed_early,
  light_or_age,
  warm_service,
  load_disturbed,
  decal_base,
  decal_water,
  sanded_through,
};
[[nodiscard]] std::string_view word(Cause cause);
/// In a sentence.
[[nodiscard]] std::string_view meaning(Cause cause);
[[nodiscard]] std::span<const Cause> all_causes();
/// Whether the air of the workshop is to blame.
[[nodiscard]] bool is_weather(Cause cause);

/// What the records can say for or against a cause.
enum class Finding {
  under_floor,
  cold,
  clock_short,
  not_yet,
  night_fall,
  hot,
  damp,
  humidity_rose,
  dry_air,
  warming,
  cold_piece,
  cold_mix,
  ratio_off,
  stirred_short,
  past_pot_life,
  last_of_batch,
  pot_heated,
  batch_mate_bad,
  batch_mate_good,
  other_batch_bad,
  other_batch_good,
  other_zone_good,
  other_material_bad,
  lot_bad,
  lot_good_elsewhere,
  too_soon,
  in_gap,
  too_late,
  tacky_when_coated,
  unwashed,
  blush_air,
  below_uncured,
  alkyd_on_epoxy,
  foreign_solvent,
  wet_in_wet,
  amine_epoxy,
  moisture_curing,
  light_cured,
  load_too_soon,
  decal_on_soft,
  decal_sealed_early,
  has_decal,
  sanded_between,
  thick,
  thin,
  rotator_stopped,
  moved_wet,
  packed_early,
  body_unprepared,
  not_wiped,
  lamp_short,
  lies_there,
  burner,
  fumes,
  draught,
  sun,
  heat_tool,
  served_hot,
  no_heat,
  pot_hot,
  mix_thick,
  pump_slip,
  walls_scraped,
  old_stock,
  additive,
  whipped,
  new_stuff,
  porous,
  washes_off,
  wipes_and_returns,
  clears,
  grows,
  pops_return,
  at_once,
  hardens_warm,
  big_bubbles,
  all_over,
  same_top_good_elsewhere,
  other_top_good_here,
  decal_kept_top,
  cut_through,
  shadowed,
  dusty,
  two_part,
  has_below,
};
inline constexpr std::size_t kFindingCount = static_cast<std::size_t>(Finding::has_below) + 1;
[[nodiscard]] std::string_view word(Finding finding);
/// What one would want to know, where the records are silent.
[[nodiscard]] std::string_view question(Finding finding);
/// How it can still be found out; empty where it cannot.
[[nodiscard]] std::string_view trial(Finding finding);

}  // namespace setwell::core
