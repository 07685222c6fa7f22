#include "tests/shops/shop.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "tests/shops/engine.hpp"
#include "tests/shops/maker.hpp"
#include "tests/shops/sensor.hpp"

namespace setwell::shops {
namespace {

using quantity::Instant;

constexpr const char* kTopic = "shop/bench";
constexpr double kTouchSpread = 0.05;  ///< of what a finger feels, in ln time
constexpr double kWrongTouch = 0.1;
constexpr double kDay = 1440;
constexpr double kLag = 10;
constexpr int kCoarse = 8;

std::string settings_text(const ShopPlan& plan, const SensorTraits& traits) {
  return fmt::format(
             "[workshop]\nwaking = \"07:00-22:00\"\nquiet = \"00:00-00:00\"\nk = {:.2f}\nscatter = {:.3f}\n"
             "[[zone]]\nid = \"bench\"\n[[form]]\nid = \"cup\"\narea = \"300 cm2\"\nlag = \"{} min\"\n"
             "[[route]]\nid = \"journal\"\nkind = \"log\"\ninstant = true\n",
             plan.k, plan.stated_scatter, kLag) +
         channels_text(traits, kTopic);
}

std::vector<SheetFile> files_of(const std::vector<Variant>& variants) {
  std::vector<SheetFile> files;
  for (const Variant& variant : variants)
    files.push_back({variant.id, variant.text, variant.product->priors});
  return files;
}

/// One coat while the engine knows of it.
struct Following {
  CoatPlan* plan = nullptr;
  bool logged = false, ended = false;
  std::optional<double> test_from;               ///< minute of the notice
  std::optional<double> told_open, told_closed;  ///< minutes
  bool touch_due = false;
};

class Day {
 public:
  Day(const ShopPlan& plan, Shopful& shop, room::Random& random)
      : shop_(shop),
        random_(random),
        traits_(traits_of(random, shop.interval, shop.room.air.back().minute)),
        arrivals_(arrivals_of(traits_, shop.room, kTopic, random)),
        engine_(settings_text(plan, traits_), files_of(shop.variants), at(0)) {
    for (CoatPlan& coat : shop.coats)
      coats_.emplace_back().plan = &coat;
    std::sort(coats_.begin(), coats_.end(),
              [](const Following& a, const Following& b) { return a.plan->logged < b.plan->logged; });
  }

  void run() {
    hear_upto(shop_.begins - 5 * shop_.interval);
    std::size_t next = 0;
    double now = shop_.begins - 5 * shop_.interval;
    const double end = shop_.room.air.back().minute;
    while (now < end && !all_ended()) {
      now += shop_.interval * (next == coats_.size() && all_opened() ? kCoarse : 1);
      for (; next < coats_.size() && coats_[next].plan->logged <= now; ++next)
        log(coats_[next]);
      if (!hear_upto(now)) engine_.tick(at(now));
      listen(now);
      touch_what_is_due(now);
      end_what_is_told(now);
    }
    for (Following& each : coats_)
      settle(each, now);
  }

 private:
  [[nodiscard]] Instant at(double minute) const {
    return shop_.room.begin + quantity::Span(std::llround(minute * 60000));
  }
  [[nodiscard]] double minute(Instant instant) const {
    return quantity::Minutes(instant - shop_.room.begin).count();
  }

  /// Everything that has arrived by then. Answers whether anything had.
  bool hear_upto(double now) {
    std::vector<decode::RawMessage> messages;
    for (; heard_ < arrivals_.size() && arrivals_[heard_].minute <= now; ++heard_)
      messages.push_back(arrivals_[heard_].message);
    if (messages.empty()) return false;
    engine_.take_in(std::move(messages), at(now));
    return true;
  }

  void log(Following& each) {
    CoatPlan& plan = *each.plan;
    CoatRecord& record = plan.record;
    note_rules_of_thumb(plan);
    each.ended = record.never_logged;
    if (record.never_logged) return;
    const Instant now = at(plan.logged);
    engine_.make(plan.piece, now);
    api::CoatParams params;
    params.what = plan.variant->id;
    params.pieces = {plan.piece};
    params.zone = "bench";
    if (!plan.said.empty()) params.at = plan.said;
    if (plan.film_told) params.film_um = plan.film_um;
    if (plan.truth.brought_in_at)
      params.piece_from = fmt::format("{:.1f}C", *plan.truth.brought_in_at + 1.8 * random_.uniform() - 0.9);
    const auto shown = engine_.coat(params, now);
    each.logged = true;
    if (const auto expected = expected_opening(shown))
      record.expected_at_start = since_pouring(plan, *expected);
  }

  [[nodiscard]] double since_pouring(const CoatPlan& plan, Instant moment) const {
    return minute(moment) - plan.truth.poured;
  }

  /// What a maker without clocks would have gone by.
  void note_rules_of_thumb(CoatPlan& plan) const {
    const Variant& variant = *plan.variant;
    const double late = plan.said_minute - plan.truth.poured;
    plan.record.printed = late + variant.printed_minutes;
    double done = 0, now = plan.said_minute;
    const double step = std::max(1.0, variant.printed_minutes / 200);
    for (; done < 1 && now < shop_.room.air.back().minute; now += step) {
      const double celsius = shown_celsius(traits_, true_air_at(shop_.room.air, now).celsius, now);
      done += step / variant.printed_minutes * std::exp2((celsius - variant.printed_celsius) / 10);
    }
    if (done >= 1) plan.record.by_rule_of_thumb = now - plan.truth.poured;
  }

  Following* named(const std::string& piece) {
    for (Following& each : coats_)
      if (each.plan->piece == piece) return &each;
    return nullptr;
  }

  void listen(double now) {
    for (const Told& told : engine_.told(at(now)))
      for (const auto& piece : told.pieces)
        if (Following* each = named(piece)) hear(*each, told, now);
  }

  void hear(Following& each, const Told& told, double now) {
    CoatRecord& record = each.plan->record;
    if (told.kind == "touch-test" && !told.withdrawal) hear_test(each, now);
    if (told.kind == "safe-to-recoat") told.withdrawal ? take_back(each, now) : hear_open(each, told, now);
    if (told.kind == "closed" || told.kind == "closed-not-sandable" || told.kind == "gap-begins")
      hear_closed(each, now);
    if (told.kind == "too-cold") record.floor_told = true;
    if (told.kind == "dew-margin-lost") record.dew_told = true;
  }

  static void hear_test(Following& each, double now) {
    CoatRecord& record = each.plan->record;
    if (each.test_from) return;
    each.test_from = now;
    record.test_told_at = now - each.plan->truth.poured;
    each.touch_due = record.touched;
  }

  void hear_open(Following& each, const Told& told, double now) {
    CoatPlan& plan = *each.plan;
    CoatRecord& record = plan.record;
    each.told_open = now;
    const double from = told.from ? since_pouring(plan, *told.from) : now - plan.truth.poured;
    // The first telling counts, whatever was taken back: a maker acts on it.
    if (record.told_at) return;
    record.told_at = now - plan.truth.poured;
    record.told_from = from;
    if (told.until) record.until_at_notice = since_pouring(plan, *told.until);
    const auto shown = engine_.show(plan.piece, at(now));
    if (const auto expected = expected_opening(shown))
      record.expected_at_notice = since_pouring(plan, *expected);
  }

  /// What was open until now counts as offered until now.
  void take_back(Following& each, double now) {
    if (each.told_open) count_offered(each, *each.told_open, now);
    each.told_open.reset();
  }

  void hear_closed(Following& each, double now) {
    if (each.told_closed) return;
    each.told_closed = now;
    CoatPlan& plan = *each.plan;
    const auto shown = engine_.show(plan.piece, at(now));
    for (const auto& milestone : shown.milestones) {
      const bool closing = milestone.name == "recoat-closes" || milestone.name == "gap-begins";
      if (!closing || !milestone.fast.at) continue;
      if (const auto moment = quantity::parse_rfc3339(*milestone.fast.at))
        plan.record.closed_from = since_pouring(plan, *moment);
    }
  }

  void touch_what_is_due(double now) {
    for (Following& each : coats_) {
      if (!each.touch_due || each.ended) continue;
      each.touch_due = false;
      CoatPlan& plan = *each.plan;
      CoatRecord& record = plan.record;
      record.progress_at_touch = plan.course.progress_at(1, now - plan.truth.poured);
      const double felt = record.progress_at_touch * std::exp(kTouchSpread * random_.normal());
      bool firm = felt >= 1;
      record.touch_was_wrong = record.wrong_touches && random_.chance(kWrongTouch);
      if (record.touch_was_wrong) firm = !firm;
      engine_.touch(plan.piece, firm ? "firm" : "tacky", at(now));
      if (!firm) continue;
      const auto shown = engine_.show(plan.piece, at(now));
      const bool opened = shown.verdict == "recoat" && !shown.recoat.empty() && shown.recoat.front().by_touch;
      if (opened) record.opened_by_touch = now - plan.truth.poured;
    }
  }

  void end_what_is_told(double now) {
    for (Following& each : coats_) {
      if (!each.logged || each.ended || !is_told(each, now)) continue;
      engine_.scrap(each.plan->piece, at(now));
      settle(each, now);
    }
  }

  [[nodiscard]] static bool is_told(const Following& each, double now) {
    const CoatPlan& plan = *each.plan;
    const CoatRecord& record = plan.record;
    const bool gap = plan.variant->gap_begins.stated();
    const bool closed = record.closing_followed && plan.close;
    const bool closing_told = !closed || (each.told_closed && now > *plan.close);
    const bool shut = closed && !gap && each.told_closed && now > plan.open;
    const bool opened = (record.told_at || record.opened_by_touch) && now > plan.open;
    return closing_told && (opened || shut || now > plan.give_up);
  }

  /// What is left is closings, days away as a rule: the engine is asked less often then.
  [[nodiscard]] bool all_opened() const {
    return std::all_of(coats_.begin(), coats_.end(), [](const Following& each) {
      return each.ended || each.plan->record.told_at || each.plan->record.opened_by_touch;
    });
  }

  [[nodiscard]] bool all_ended() const {
    return std::all_of(coats_.begin(), coats_.end(), [](const Following& each) { return each.ended; });
  }

  void settle(Following& each, double now) {
    if (each.ended && !each.logged) return;
    CoatRecord& record = each.plan->record;
    if (each.logged && each.told_open) count_offered(each, *each.told_open, told_end(each, now));
    if (each.logged && each.test_from) {
      const double end = told_end(each, now);
      record.waking_test_offered = waking_minutes(shop_.room, std::max(*each.test_from, each.plan->open),
                                                  std::min(end, true_end(each)));
    }
    each.ended = true;
    each.told_open.reset();
    each.test_from.reset();
    each.logged = false;
  }

  [[nodiscard]] static double true_end(const Following& each) {
    const bool gap = each.plan->variant->gap_begins.stated();
    return each.plan->close && !gap ? *each.plan->close : each.plan->open + 7 * kDay;
  }

  /// Until when what is told open stays so; what nothing closes stays open.
  [[nodiscard]] static double told_end(const Following& each, double now) {
    const bool gap = each.plan->variant->gap_begins.stated();
    if (each.told_closed && !gap) return *each.told_closed;
    if (each.plan->close && !gap && !each.plan->record.closing_followed && each.plan->record.until_at_notice)
      return std::max(now, each.plan->truth.poured + *each.plan->record.until_at_notice);
    return std::max(now, true_end(each));
  }

  void count_offered(Following& each, double from, double to) {
    const double begin = std::max(from, each.plan->open);
    const double end = std::min(to, true_end(each));
    if (end > begin) each.plan->record.waking_offered += waking_minutes(shop_.room, begin, end);
  }

  Shopful& shop_;
  room::Random& random_;
  SensorTraits traits_;
  std::vector<Arrival> arrivals_;
  Engine engine_;
  std::vector<Following> coats_;
  std::size_t heard_ = 0;
};

}  // namespace

std::vector<CoatRecord> run_shop(const ShopPlan& plan) {
  room::Random random(plan.seed);
  Shopful shop = furnish(plan, random);
  std::vector<CoatRecord> records;
  if (shop.coats.empty()) return records;
  Day(plan, shop, random).run();
  for (CoatPlan& coat : shop.coats)
    records.push_back(std::move(coat.record));
  return records;
}

}  // namespace setwell::shops
