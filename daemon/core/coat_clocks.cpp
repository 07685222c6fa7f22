#include "daemon/core/coat_clocks.hpp"

#include <algorithm>
#include <cmath>
#include <string_view>

namespace setwell::core {

namespace {

std::optional<quantity::Hours> opens_at_least(const Material& material, Load load) {
  std::optional<quantity::Hours> most;
  if (load == Load::none) return most;
  for (const LoadedRule& rule : material.loaded) {
    if (rule.load != word(load) || !rule.opens_at_least) continue;
    most = std::max(most.value_or(*rule.opens_at_least), *rule.opens_at_least);
  }
  return most;
}

/// Slows an opening so that at the reference temperature it comes at `least` or later.
RateFactors load_factors(const TimeModel& model, double reference_c, quantity::Hours least) {
  const LnTime t = model.at(reference_c);
  RateFactors f;
  f.slow = 1.0 / std::max(1.0, least.count() / std::exp(t.high));
  f.expected = 1.0 / std::max(1.0, least.count() / std::exp(t.expected));
  return f;
}

class Builder {
 public:
  Builder(const Material& material, Load load, const Strictness& strictness, const PriorBook& book,
          std::span<const LearnedShift> learned)
      : material_(material),
        strictness_(strictness),
        book_(book),
        opens_at_least_(opens_at_least(material, load)),
        learned_(learned) {}

  std::shared_ptr<const SheetClocks> build() {
    add(Milestone::flash_off_over);
    add(Milestone::tack_free);
    add_rules(Milestone::recoat_opens, &RecoatRule::opens);
    add_rules(Milestone::recoat_closes, &RecoatRule::closes);
    add_rules(Milestone::gap_begins, &RecoatRule::gap_begins);
    add_rules(Milestone::gap_ends, &RecoatRule::gap_ends);
    for (const Milestone m : {Milestone::sandable, Milestone::handling, Milestone::packing,
                              Milestone::full_cure, Milestone::full_strength})
      add(m);
    return clocks_;
  }

 private:
  void add(Milestone milestone) {
    if (const TimeTable* table = table_of(material_, milestone)) add(*table, milestone, -1);
  }

  void add_rules(Milestone milestone, std::optional<TimeTable> RecoatRule::*member) {
    for (std::size_t i = 0; i < material_.recoat.size(); ++i) {
      const RecoatRule& rule = material_.recoat[i];
      const int index = static_cast<int>(i);
      if (rule.*member) {
        add(*(rule.*member), milestone, index);
      } else if (milestone == Milestone::recoat_opens && opens_at_least_ &&
                 rule.kind != RuleKind::after_full_cure) {
        // Open at once, but not with this load in it.
        const StatedTime time{Wording::exact, *opens_at_least_, *opens_at_least_};
        add(TimeTable{{Row{material_.reference_temperature, time, rule.where}}}, milestone, index);
      }
    }
  }

  void add(const TimeTable& table, Milestone milestone, int rule) {
    if (counts_lamp(material_.family, milestone)) return add_lamp(table, milestone, rule);
    const TimeModel model(table, material_.family, milestone, book_);
    SheetClock clock;
    clock.milestone = milestone;
    clock.rule = rule;
    clock.one_temperature = model.one_temperature();
    if (!model.never()) tabulate(clock, model);
    clocks_->push_back(std::move(clock));
  }

  void add_lamp(const TimeTable& table, Milestone milestone, int rule) {
    SheetClock clock;
    clock.milestone = milestone;
    clock.rule = rule;
    clock.one_temperature = table.rows.size() == 1;
    clock.lamp = lamp_minutes(table, milestone == Milestone::recoat_opens ? opens_at_least_ : std::nullopt,
                              strictness_);
    clocks_->push_back(std::move(clock));
  }

  void tabulate(SheetClock& clock, const TimeModel& model) const {
    const CureFloor floor = floor_for(material_.cure_floor, model, material_.family);
    const LearnedShift* shift = shift_of(clock);
    clock.learned = shift != nullptr;
    clock.rates.emplace(model, floor, strictness_, shift);
    clock.coldest_c = model.coldest_row_c();
    clock.warmest_c = model.warmest_row_c();
    if (clock.milestone == Milestone::full_cure) clock.last_quarter_c = full_cure_least_c(model, floor);
    if (clock.milestone == Milestone::recoat_opens && opens_at_least_)
      clock.load = load_factors(model, material_.reference_temperature.degrees(), *opens_at_least_);
  }

  [[nodiscard]] const LearnedShift* shift_of(const SheetClock& clock) const {
    const auto found = std::find_if(learned_.begin(), learned_.end(), [&](const LearnedShift& shift) {
      return shift.milestone == clock.milestone && shift.rule == clock.rule;
    });
    return found == learned_.end() ? nullptr : &*found;
  }

  const Material& material_;
  const Strictness& strictness_;
  const PriorBook& book_;
  std::optional<quantity::Hours> opens_at_least_;
  std::span<const LearnedShift> learned_;
  std::shared_ptr<SheetClocks> clocks_ = std::make_shared<SheetClocks>();
};

}  // namespace

std::shared_ptr<const SheetClocks> clocks_of(const Material& material, Load load,
                                             const Strictness& strictness, const PriorBook& book,
                                             std::span<const LearnedShift> learned) {
  return Builder(material, load, strictness, book, learned).build();
}

}  // namespace setwell::core
