#include "tests/shops/maker.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

namespace setwell::shops {
namespace {

constexpr double kDay = 1440;
constexpr double kColdestToCoat = 10, kWarmestToCoat = 35;
constexpr double kWakes = 7 * 60, kSleeps = 22 * 60;
constexpr double kLongestShop = 24 * kDay;
constexpr double kUsual = 15;  ///< °C, for guessing how long things take

double minute_of_day(const Room& room, double minute) {
  const auto at = room.begin + quantity::Span(std::llround(minute * 60000));
  return quantity::Minutes(at - std::chrono::floor<std::chrono::days>(at)).count();
}

bool fit_to_coat(const Room& room, double minute) {
  const double celsius = true_air_at(room.air, minute).celsius;
  const double hour = minute_of_day(room, minute);
  return celsius >= kColdestToCoat && celsius <= kWarmestToCoat && hour >= kWakes && hour < kSleeps - 60;
}

/// A factor on the piece's times with standard deviation `sigma` in ln.
double pace_of(const Scatter& scatter, room::Random& random) {
  double z = random.normal();
  if (scatter.heavy_tailed) {
    double squares = 0;
    for (int i = 0; i < 6; ++i)
      squares += std::pow(random.normal(), 2);
    z /= std::sqrt(squares / 6);
    z /= std::sqrt(6.0 / 4.0);
  }
  return std::exp(scatter.sigma * z);
}

double longest_minutes(const Variant& variant) {
  double longest = variant.opens.minutes_at(kUsual);
  if (variant.closes.stated()) longest = std::max(longest, variant.closes.minutes_at(kUsual));
  return longest;
}

/// How a coat is entered: mostly at once, some later from memory, some with a guess.
void remember(CoatPlan& coat, const Room& room, room::Random& random) {
  const double chance = random.uniform();
  const double poured = coat.truth.poured;
  coat.logged = poured + random.uniform();
  coat.said_minute = coat.logged;
  if (chance < 0.6) return;
  const bool guess = chance >= 0.9;
  const double error = (guess ? 15 : 5) * (2 * random.uniform() - 1);
  coat.said_minute = std::floor(poured + 0.95 * error);
  coat.logged = std::max(poured, coat.said_minute) + 1 + (guess ? 180 : 60) * random.uniform();
  const auto at = room.begin + quantity::Span(std::llround(coat.said_minute * 60000));
  coat.said = (guess ? "~" : "") + quantity::rfc3339_utc(at);
  coat.said_minute = quantity::Minutes(at - room.begin).count();
}

void take_material(CoatPlan& coat, const ShopPlan& plan, room::Random& random) {
  const auto& family = coat.variant->product->family;
  TrueCoat& truth = coat.truth;
  truth.pace = pace_of(plan.scatter, random);
  truth.floor = coat.variant->floor;
  // A floor on a sheet is a caution as a rule: one material in four goes on below it.
  if (coat.variant->floor_stated && random.chance(0.25)) truth.floor.reset();
  if (family == "water-borne") {
    truth.drying = Drying::by_evaporating_water;
    truth.power = random.uniform();
  } else if (family == "moisture-cured-urethane") {
    truth.drying = Drying::by_taking_up_water;
    truth.power = 0.5 + 0.5 * random.uniform();
  }
  const bool evaporates = family != "epoxy" && family != "urethane";
  coat.film_told = random.chance(0.2);
  if (coat.film_told && evaporates) {
    coat.film_um = std::round(60 * (0.7 + 0.9 * random.uniform()));
    truth.film = std::pow(coat.film_um / 60, -(1 + random.uniform()));
  }
}

void take_piece(CoatPlan& coat, const Room& room, double lag, room::Random& random) {
  TrueCoat& truth = coat.truth;
  truth.lag = lag * std::exp(std::log(2.0) * 0.95 * (2 * random.uniform() - 1));
  truth.apart = 0.4 * (2 * random.uniform() - 1);
  if (!random.chance(0.15)) return;
  truth.brought_in_at = true_air_at(room.air, truth.poured).celsius - 4 - 8 * random.uniform();
}

/// Works out what is true; answers whether the recording reaches far enough.
bool live(CoatPlan& coat, const Room& room, double step) {
  const Variant& variant = *coat.variant;
  std::vector<const TrueCurve*> curves{&variant.tack_free, &variant.opens};
  if (variant.closes.stated()) curves.push_back(&variant.closes);
  if (variant.gap_begins.stated()) curves.push_back(&variant.gap_begins);
  coat.course = live_through(room.air, coat.truth, curves, step, 3.0);
  const auto& ways = coat.course.ways;
  if (!ways[1].reached) return false;
  coat.open = *ways[1].reached;
  if (ways.size() > 2) coat.close = ways[2].reached;
  const double took = coat.open - coat.truth.poured;
  coat.give_up = coat.truth.poured + 3 * took + 720;
  return true;
}

void fill_record(CoatPlan& coat, const ShopPlan& plan, const Room& room, room::Random& random) {
  CoatRecord& record = coat.record;
  const Variant& variant = *coat.variant;
  record.shop = plan.seed;
  record.sheet = variant.product->sheet;
  record.product = variant.product->name;
  record.family = variant.product->family;
  record.room = room.name;
  record.rows = variant.rows;
  record.scatter = plan.scatter;
  record.never_logged = random.chance(0.01);
  record.touched = random.chance(0.4) && !variant.gap_begins.stated();
  record.wrong_touches = plan.wrong_touches;
  record.true_open = coat.open - coat.truth.poured;
  if (coat.close) record.true_close = *coat.close - coat.truth.poured;
  const double long_wait = 12 * record.true_open;
  record.closing_followed =
      coat.close && (*record.true_close < long_wait || variant.gap_begins.stated() || random.chance(0.25));
  const auto& hard = coat.course.while_soft;
  record.floor_due = hard.under_floor > 10;
  record.dew_due = hard.close_to_dew > 10;
}

/// The window that could have been offered. Without a closing it counts for a week.
void true_window(CoatPlan& coat, const Room& room) {
  const bool gap = coat.variant->gap_begins.stated();
  const double to = coat.close && !gap ? *coat.close : coat.open + 7 * kDay;
  coat.record.window_least = std::min(30.0, (to - coat.open) / 4);
  coat.record.waking_window = waking_minutes(room, coat.open, to);
}

/// A start from which the room is fit for work soon and the recording long enough.
double start_in(const Room& room, double length, room::Random& random) {
  const double last = room.air.back().minute - length;
  for (int i = 0; i < 40; ++i) {
    const double from = std::max(0.0, last * random.uniform());
    int fit = 0;
    for (double at = from + kDay; at < from + 2 * kDay; at += 60)
      fit += fit_to_coat(room, at) ? 1 : 0;
    if (fit >= 4) return from;
  }
  return std::max(0.0, last * random.uniform());
}

std::optional<double> moment_to_coat(const Shopful& shop, double spread, room::Random& random) {
  for (int i = 0; i < 60; ++i) {
    const double at = shop.begins + spread * random.uniform();
    if (fit_to_coat(shop.room, at)) return at;
  }
  return std::nullopt;
}

}  // namespace

double waking_minutes(const Room& room, double from, double to) {
  double sum = 0;
  double at = from;
  while (at < to) {
    const double hour = minute_of_day(room, at);
    const double until_change = hour < kWakes ? kWakes - hour : hour < kSleeps ? kSleeps - hour : kDay - hour;
    const double end = std::min(to, at + std::max(until_change, 0.01));
    if (hour >= kWakes && hour < kSleeps) sum += end - at;
    at = end;
  }
  return sum;
}

Shopful furnish(const ShopPlan& plan, room::Random& random) {
  Shopful shop;
  for (const Product* product : plan.products)
    for (Variant& variant : variants_of(*product, random))
      shop.variants.push_back(std::move(variant));
  const double opens = shop.variants.front().opens.minutes_at(kUsual);
  double longest = 0;
  for (const Variant& variant : shop.variants)
    longest = std::max(longest, longest_minutes(variant));
  shop.interval = std::clamp(std::round(opens / 40), 2.0, 30.0);
  shop.begins = kDay;
  const double spread = std::max(kDay, std::min(4 * kDay, 2 * opens));
  const double length = std::min(kLongestShop, shop.begins + spread + 5 * longest + kDay);
  shop.room = stretch_of(*plan.room, start_in(*plan.room, length, random), length);
  for (int i = 0; i < plan.coats; ++i) {
    CoatPlan coat;
    coat.variant = &shop.variants[static_cast<std::size_t>(i) % shop.variants.size()];
    coat.piece = fmt::format("p{:02}", i + 1);
    const auto at = moment_to_coat(shop, spread, random);
    if (!at) continue;
    coat.truth.poured = *at;
    take_material(coat, plan, random);
    take_piece(coat, shop.room, 10, random);
    remember(coat, shop.room, random);
    if (!live(coat, shop.room, std::clamp(shop.interval / 4, 0.5, 3.0))) continue;
    fill_record(coat, plan, shop.room, random);
    true_window(coat, shop.room);
    shop.coats.push_back(std::move(coat));
  }
  return shop;
}

}  // namespace setwell::shops
