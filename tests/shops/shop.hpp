#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "tests/shops/rooms.hpp"
#include "tests/shops/variants.hpp"

/// One simulated shop: a room, a sensor, a maker, the sheets of one product family, and the real engine that
/// hears of them only what a daemon would.
namespace setwell::shops {

/// How the pieces of a shop really differ from each other.
struct Scatter {
  double sigma = 0.10;        ///< in ln time
  bool heavy_tailed = false;  ///< Student t with six degrees of freedom, to the same standard deviation
};

struct ShopPlan {
  std::uint64_t seed = 1;
  std::vector<const Product*> products;  ///< of one sheet
  const Room* room = nullptr;
  Scatter scatter;
  double stated_scatter = 0.10;  ///< what the settings say
  double k = 3.1;
  bool wrong_touches = false;  ///< one touch in ten says the opposite
  int coats = 30;
};

/// What one coat was told and what was so; minutes from pouring unless said.
struct CoatRecord {
  std::uint64_t shop = 0;  ///< the plan's seed
  std::string sheet, product, family, room;
  Rows rows = Rows::one;
  Scatter scatter;
  bool never_logged = false;
  bool touched = false;  ///< the maker tests once, when told that it is worth it
  bool wrong_touches = false;
  bool has_opening_to_tell = true;

  double true_open = 0;
  std::optional<double> true_close;   ///< or where the gap begins
  std::optional<double> told_from;    ///< the moment that the notice names as the sure opening
  std::optional<double> told_at;      ///< when the notice was given
  std::optional<double> closed_from;  ///< the moment that the engine holds for the closing
  bool closing_followed = false;
  std::optional<double> until_at_notice;
  std::optional<double> test_told_at;
  std::optional<double> opened_by_touch;
  double progress_at_touch = 0;  ///< real, of the opening
  bool touch_was_wrong = false;

  std::optional<double> expected_at_start;   ///< the expected opening as told when the coat was logged
  std::optional<double> expected_at_notice;  ///< and beside the notice
  double printed = 0;                        ///< the printed time, from when the maker thinks it was poured
  std::optional<double> by_rule_of_thumb;    ///< twice as fast per 10 °C, by the same thermometer

  double waking_window = 0;        ///< minutes of the true window in waking hours
  double waking_offered = 0;       ///< of these, told as open
  double waking_test_offered = 0;  ///< of these, told as worth a touch test or open
  double window_least = 0;         ///< what has to be offered: 30 min or a quarter of the window
  bool floor_due = false, floor_told = false;
  bool dew_due = false, dew_told = false;
};

/// Runs the shop. The same plan gives the same records.
[[nodiscard]] std::vector<CoatRecord> run_shop(const ShopPlan& plan);

}  // namespace setwell::shops
