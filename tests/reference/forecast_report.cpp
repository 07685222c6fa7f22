#include "tests/reference/forecast_report.hpp"

#include <algorithm>
#include <functional>

#include <boost/json.hpp>
#include <fmt/format.h>

namespace setwell::reference {

namespace json = boost::json;

namespace {

constexpr std::array<const char*, 2> kQuantities{"temperature_c", "humidity_pct"};
constexpr double kLongEnough = 21;

struct Figure {
  const char* name;
  std::function<double(const Scores&)> of;
};

const std::vector<Figure>& figures() {
  static const std::vector<Figure> kFigures{
      {"mae", &Scores::mae},
      {"comparator_mae", &Scores::comparator_mae},
      {"ratio", &Scores::ratio},
      {"hindsight_ratio", &Scores::hindsight_ratio},
      {"cover50", &Scores::cover50},
      {"cover90", &Scores::cover90},
      {"width90", &Scores::width90},
      {"interval_score_ratio", &Scores::interval_ratio90},
      {"interval_score_ratio50", &Scores::interval_ratio50},
      {"pinball05", [](const Scores& s) { return s.pinball(0); }},
      {"pinball25", [](const Scores& s) { return s.pinball(1); }},
      {"pinball50", [](const Scores& s) { return s.pinball(2); }},
      {"pinball75", [](const Scores& s) { return s.pinball(3); }},
      {"pinball95", [](const Scores& s) { return s.pinball(4); }},
  };
  return kFigures;
}

std::string horizon(std::size_t k) {
  return fmt::format("{}h", kScored[k]);
}

/// The mean over rooms long enough to have been learned.
double mean_over(const std::vector<RoomScores>& rooms, std::size_t q, std::size_t k,
                 const std::function<double(const Scores&)>& figure) {
  double sum = 0;
  int count = 0;
  for (const auto& room : rooms) {
    if (room.days < kLongEnough || room.scores[q][k].cases() == 0) continue;
    sum += figure(room.scores[q][k]);
    ++count;
  }
  return count == 0 ? 0.0 : sum / count;
}

double mean_over_horizons(const std::vector<RoomScores>& rooms, std::size_t q,
                          const std::function<double(const Scores&)>& figure) {
  double sum = 0;
  for (std::size_t k = 0; k < kScored.size(); ++k)
    sum += mean_over(rooms, q, k, figure);
  return sum / static_cast<double>(kScored.size());
}

json::object object_of(const Scores& scores) {
  json::object out;
  for (const auto& figure : figures())
    out[figure.name] = scores.cases() == 0 ? json::value(nullptr) : json::value(figure.of(scores));
  out["cases"] = scores.cases();
  return out;
}

json::object night_of(const NightScores& night) {
  json::object out;
  out["nights"] = night.nights;
  if (night.nights == 0) return out;
  out["minimum_mae_k"] = night.minimum_error / night.nights;
  out["minimum_cover90"] = static_cast<double>(night.minimum_inside) / night.nights;
  json::object falls;
  for (const auto& fall : night.falls) {
    json::object one{{"nights", fall.asked},
                     {"foretold_and_fell", fall.both},
                     {"missed", fall.missed},
                     {"false_alarms", fall.false_alarms}};
    one["hour_mae_h"] = fall.both == 0 ? json::value(nullptr) : json::value(fall.hours_error / fall.both);
    one["hour_cover90"] =
        fall.asked == 0 ? json::value(nullptr) : json::value(static_cast<double>(fall.inside) / fall.asked);
    falls[fmt::format("under_{:.0f}_c", fall.limit_c)] = std::move(one);
  }
  out["falls"] = std::move(falls);
  return out;
}

json::object chances_of(const ChanceScores& scores) {
  json::object out{
      {"cases", scores.cases()}, {"brier", scores.brier()}, {"brier_of_mean", scores.brier_of_mean()}};
  json::array table;
  for (std::size_t i = 0; i < ChanceScores::kBins; ++i) {
    const auto bin = scores.bin(i);
    if (bin.cases > 0)
      table.push_back(json::object{{"cases", bin.cases}, {"chance", bin.chance}, {"came", bin.came}});
  }
  out["reliability"] = std::move(table);
  return out;
}

struct Sums {
  NightScores night;
  ChanceScores under_floor, dew_margin;
};

Sums sums_of(const std::vector<RoomScores>& rooms) {
  Sums sums;
  for (const auto& room : rooms) {
    sums.night.add(room.night);
    sums.under_floor.add(room.under_floor);
    sums.dew_margin.add(room.dew_margin);
  }
  return sums;
}

std::string chances_text(const char* what, const ChanceScores& scores) {
  std::string text =
      fmt::format("chance of {} within 6 h of 18:00: {} cases, Brier {:.4f} (of the mean rate {:.4f})\n",
                  what, scores.cases(), scores.brier(), scores.brier_of_mean());
  for (std::size_t i = 0; i < ChanceScores::kBins; ++i) {
    const auto bin = scores.bin(i);
    if (bin.cases > 0)
      text += fmt::format("  said {:.2f}  came {:.2f}  ({} cases)\n", bin.chance, bin.came, bin.cases);
  }
  return text;
}

json::object mean_of(const std::vector<RoomScores>& rooms) {
  json::object mean;
  for (std::size_t q = 0; q < kQuantities.size(); ++q) {
    json::object of_quantity;
    for (std::size_t k = 0; k < kScored.size(); ++k) {
      json::object at;
      for (const auto& figure : figures())
        at[figure.name] = mean_over(rooms, q, k, figure.of);
      of_quantity[horizon(k)] = std::move(at);
    }
    of_quantity["ratio"] = mean_over_horizons(rooms, q, &Scores::ratio);
    of_quantity["hindsight_ratio"] = mean_over_horizons(rooms, q, &Scores::hindsight_ratio);
    mean[kQuantities[q]] = std::move(of_quantity);
  }
  const auto sums = sums_of(rooms);
  mean["night"] = night_of(sums.night);
  mean["under_floor"] = chances_of(sums.under_floor);
  mean["dew_margin"] = chances_of(sums.dew_margin);
  return mean;
}

std::string night_text(const NightScores& night) {
  if (night.nights == 0) return {};
  std::string text = fmt::format(
      "the night's minimum, said at 18:00: off by {:.2f} K, 90 % band held in {:.1f} % of {} nights\n",
      night.minimum_error / night.nights, 100.0 * night.minimum_inside / night.nights, night.nights);
  for (const auto& fall : night.falls) {
    if (fall.asked == 0) continue;
    text += fmt::format(
        "  under {:.0f} degC: {} nights, {} foretold and fell (off by {:.1f} h), {} missed, {} false, "
        "90 % band of the hour held in {:.1f} %\n",
        fall.limit_c, fall.asked, fall.both, fall.both == 0 ? 0.0 : fall.hours_error / fall.both, fall.missed,
        fall.false_alarms, 100.0 * fall.inside / fall.asked);
  }
  return text;
}

}  // namespace

std::string table_of(const std::vector<RoomScores>& rooms) {
  std::string text;
  for (std::size_t q = 0; q < kQuantities.size(); ++q) {
    text +=
        fmt::format("{}\n{:18}{:>6}  {}\n", kQuantities[q], "room", "days",
                    "error over the plain way chosen beforehand (90 % coverage) at 1, 3, 6, 12, 24, 48 h");
    for (const auto& room : rooms) {
      text += fmt::format("{:18}{:6.0f}", room.name, room.days);
      for (const auto& scores : room.scores[q])
        text += scores.cases() == 0 ? fmt::format("{:>14}", "-")
                                    : fmt::format("  {:.3f} ({:.2f})", scores.ratio(), scores.cover90());
      text += "\n";
    }
    for (const auto& [name, figure] : {std::pair<const char*, const char*>{"mean ratio", "ratio"},
                                       {"to hindsight", "hindsight_ratio"},
                                       {"mean cover90", "cover90"},
                                       {"mean cover50", "cover50"},
                                       {"interval 90 ratio", "interval_score_ratio"},
                                       {"interval 50 ratio", "interval_score_ratio50"},
                                       {"mae", "mae"}}) {
      text += fmt::format("{:24}", name);
      const auto found =
          std::find_if(figures().begin(), figures().end(),
                       [name_of = std::string(figure)](const Figure& f) { return name_of == f.name; });
      for (std::size_t k = 0; k < kScored.size(); ++k)
        text += fmt::format("  {:.3f}       ", mean_over(rooms, q, k, found->of));
      text += fmt::format("  all {:.4f}\n", mean_over_horizons(rooms, q, found->of));
    }
  }
  const auto sums = sums_of(rooms);
  text += night_text(sums.night);
  text += chances_text("falling under 10, 13 or 16 degC", sums.under_floor);
  text += chances_text("less than 3 K above the dew point", sums.dew_margin);
  double worst = 0;
  std::size_t bytes = 0;
  for (const auto& room : rooms) {
    worst = std::max(worst, room.worst_ms);
    bytes = std::max(bytes, room.state_bytes);
  }
  return text + fmt::format("one hour's fit and forecast: {:.1f} ms at most; state {} bytes\n", worst, bytes);
}

std::string json_of(const std::vector<RoomScores>& rooms) {
  json::object by_room;
  for (const auto& room : rooms) {
    json::object one;
    for (std::size_t q = 0; q < kQuantities.size(); ++q) {
      json::object of_quantity;
      for (std::size_t k = 0; k < kScored.size(); ++k)
        of_quantity[horizon(k)] = object_of(room.scores[q][k]);
      one[kQuantities[q]] = std::move(of_quantity);
    }
    one["days"] = room.days;
    one["night"] = night_of(room.night);
    one["under_floor"] = chances_of(room.under_floor);
    one["dew_margin"] = chances_of(room.dew_margin);
    one["worst_ms"] = room.worst_ms;
    one["state_bytes"] = room.state_bytes;
    by_room[room.name] = std::move(one);
  }
  return json::serialize(json::object{{"rooms", std::move(by_room)}, {"mean", mean_of(rooms)}});
}

std::vector<std::string> faults_of(const std::vector<RoomScores>& rooms, Hold hold) {
  std::vector<std::string> faults;
  for (std::size_t q = 0; q < kQuantities.size(); ++q) {
    for (std::size_t k = 0; k < kScored.size(); ++k) {
      const auto say = [&](const char* what, double value) {
        faults.push_back(fmt::format("{} {}: {} is {:.3f}", kQuantities[q], horizon(k), what, value));
      };
      const double ratio = mean_over(rooms, q, k, &Scores::ratio);
      if (ratio > 1.0) say("the mean ratio", ratio);
      const double cover = mean_over(rooms, q, k, &Scores::cover90);
      if (ratio > 0 && (cover < 0.85 || cover > 0.94)) say("the mean 90 % coverage", cover);
      for (const auto& room : rooms) {
        if (hold == Hold::mean_only || room.days < kLongEnough || room.scores[q][k].cases() == 0) continue;
        if (room.scores[q][k].cover90() < 0.80)
          say(("the 90 % coverage in " + room.name).c_str(), room.scores[q][k].cover90());
      }
    }
  }
  return faults;
}

}  // namespace setwell::reference
