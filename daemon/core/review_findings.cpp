#include "daemon/core/review_findings.hpp"

#include <algorithm>

namespace setwell::core {

void Findings::set(Finding finding, double value, std::string text) {
  all_[static_cast<std::size_t>(finding)] = {std::clamp(value, -1.0, 1.0), std::move(text)};
}

double short_of(const ClockReading* clock) {
  if (clock == nullptr) return 0;
  if (clock->progress.slow >= 1.0) return -1;
  if (clock->progress.fast < 1.0) return 1;
  constexpr double kHalf = 0.6, kNear = 0.15;
  if (clock->progress.expected >= 1.0 + kNear) return -kHalf;
  if (clock->progress.expected <= 1.0 - kNear) return kHalf;
  return 0;
}

Findings findings_of(const CaseFile& file, const Facts& facts) {
  Findings findings;
  find_in_air(file, facts, findings);
  find_in_mix(file, facts, findings);
  find_in_interval(file, facts, findings);
  find_in_steps(file, facts, findings);
  find_in_mates(file, facts, findings);
  find_noticed(facts, findings);
  return findings;
}

void find_noticed(const Facts& facts, Findings& findings) {
  struct Link {
    Observed what;
    Finding finding;
  };
  constexpr std::array kLinks = std::to_array<Link>({
      {Observed::unvented_burner, Finding::burner},
      {Observed::fumes_nearby, Finding::fumes},
      {Observed::draught, Finding::draught},
      {Observed::sun, Finding::sun},
      {Observed::heat_tool, Finding::heat_tool},
      {Observed::served_hot, Finding::served_hot},
      {Observed::no_heat_in_pot, Finding::no_heat},
      {Observed::pot_hot, Finding::pot_hot},
      {Observed::mix_thick, Finding::mix_thick},
      {Observed::pump_slip, Finding::pump_slip},
      {Observed::walls_scraped, Finding::walls_scraped},
      {Observed::old_hardener, Finding::old_stock},
      {Observed::much_additive, Finding::additive},
      {Observed::whipped, Finding::whipped},
      {Observed::new_stuff, Finding::new_stuff},
      {Observed::porous_body, Finding::porous},
      {Observed::washes_off, Finding::washes_off},
      {Observed::wipes_and_returns, Finding::wipes_and_returns},
      {Observed::clears_in_days, Finding::clears},
      {Observed::grows_with_time, Finding::grows},
      {Observed::returns_after_popping, Finding::pops_return},
      {Observed::at_once, Finding::at_once},
      {Observed::hardens_when_warmed, Finding::hardens_warm},
      {Observed::big_bubbles, Finding::big_bubbles},
      {Observed::all_over, Finding::all_over},
      {Observed::hard_elsewhere, Finding::same_top_good_elsewhere},
      {Observed::other_dries_here, Finding::other_top_good_here},
      {Observed::decal_kept_top, Finding::decal_kept_top},
      {Observed::cut_through, Finding::cut_through},
      {Observed::shadowed, Finding::shadowed},
      {Observed::dusty, Finding::dusty},
  });
  for (const auto& link : kLinks) {
    const double value = facts.saw(link.what);
    if (value == 0) continue;
    findings.set(link.finding, value,
                 (value > 0 ? "noticed: " : "looked for, and not so: ") + std::string(meaning(link.what)));
  }
}

}  // namespace setwell::core
