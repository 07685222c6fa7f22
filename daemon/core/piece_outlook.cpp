#include "daemon/core/piece_outlook.hpp"

#include <algorithm>

#include <fmt/core.h>

namespace setwell::core {

using quantity::Instant;

namespace {

bool passed(const Outlook& outlook, Milestone milestone, int rule,
            std::optional<Instant> Bounded<std::optional<Instant>>::*track, Instant by) {
  const ClockReading* clock = outlook.clock(milestone, rule);
  return clock && clock->at.*track && *(clock->at.*track) <= by;
}

bool surely_open(const CoatOutlook& coat, int rule, Instant at) {
  using At = Bounded<std::optional<Instant>>;
  const auto slow = [&](Milestone m, int r) { return passed(coat.outlook, m, r, &At::slow, at); };
  const bool states_opening = coat.outlook.clock(Milestone::recoat_opens, rule) != nullptr;
  const bool opened = !states_opening || slow(Milestone::recoat_opens, rule);
  switch (coat.material->recoat[static_cast<std::size_t>(rule)].kind) {
    case RuleKind::open_only:
    case RuleKind::open_close:
    case RuleKind::while_tacky:
      return opened;
    case RuleKind::after_full_cure:
      return slow(Milestone::full_cure, -1);
    case RuleKind::early_gap_late:
      break;
  }
  const bool in_gap = passed(coat.outlook, Milestone::gap_begins, rule, &At::fast, at);
  return slow(Milestone::gap_ends, rule) || (opened && !in_gap);
}

/// Takes one coat's clock into the piece's: the later time, the lesser progress.
class Whole {
 public:
  explicit Whole(Milestone milestone) { whole_.milestone = milestone; }

  void take(const CoatOutlook& coat) {
    const ClockReading* clock = coat.outlook.clock(whole_.milestone);
    if (!clock || clock->no_limit) return;
    any_ = true;
    whole_.basis.insert(clock->basis.begin(), clock->basis.end());
    ClockReading mine = *clock;
    if (whole_.not_known.empty()) whole_.not_known = mine.not_known;
    if (coat.covered && !mine.reached.slow) {
      if (covered_in_sure_time(coat)) {
        counts_as_reached(mine, *coat.covered);
      } else {
        if (whole_.not_known.empty())
          whole_.not_known = fmt::format("coat {} was covered before its sure time", coat.number);
        mine.at.slow = mine.at.expected = std::nullopt;
      }
    }
    join(mine);
  }

  std::optional<ClockReading> result() const {
    if (!any_) return std::nullopt;
    return whole_;
  }

 private:
  static void counts_as_reached(ClockReading& clock, Instant covered) {
    clock.progress = {1, 1, 1};
    clock.reached = {true, true, true};
    clock.at = {covered, covered, clock.at.fast ? std::min(*clock.at.fast, covered) : covered};
  }

  void join(const ClockReading& mine) {
    const auto less = [](double& a, double b) { a = std::min(a, b); };
    less(whole_.progress.slow, mine.progress.slow);
    less(whole_.progress.expected, mine.progress.expected);
    less(whole_.progress.fast, mine.progress.fast);
    whole_.reached.slow = whole_.reached.slow && mine.reached.slow;
    whole_.reached.expected = whole_.reached.expected && mine.reached.expected;
    whole_.reached.fast = whole_.reached.fast && mine.reached.fast;
    if (first_) whole_.at = mine.at;
    first_ = false;
    later(whole_.at.slow, mine.at.slow);
    later(whole_.at.expected, mine.at.expected);
    later(whole_.at.fast, mine.at.fast);
  }

  static void later(std::optional<Instant>& a, const std::optional<Instant>& b) {
    if (!a || !b)
      a = std::nullopt;
    else
      a = std::max(*a, *b);
  }

  static ClockReading begun() {
    ClockReading r;
    r.progress = {1, 1, 1};
    r.reached = {true, true, true};
    return r;
  }

  ClockReading whole_ = begun();
  bool any_ = false;
  bool first_ = true;
};

}  // namespace

bool covered_in_sure_time(const CoatOutlook& coat) {
  if (!coat.covered) return true;
  if (coat.rule >= 0) return surely_open(coat, coat.rule, *coat.covered);
  for (std::size_t i = 0; i < coat.material->recoat.size(); ++i)
    if (!surely_open(coat, static_cast<int>(i), *coat.covered)) return false;
  return true;
}

std::vector<ClockReading> piece_milestones(std::span<const CoatOutlook> coats) {
  std::vector<ClockReading> out;
  for (const Milestone milestone : {Milestone::handling, Milestone::packing, Milestone::full_cure}) {
    Whole whole(milestone);
    for (const CoatOutlook& coat : coats)
      whole.take(coat);
    if (auto reading = whole.result()) out.push_back(std::move(*reading));
  }
  return out;
}

}  // namespace setwell::core
