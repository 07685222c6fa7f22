#include "tests/shops/report.hpp"

#include <cmath>

#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <fmt/format.h>

namespace setwell::shops {
namespace {

using boost::json::object;

/// JSON knows no infinity: never is null.
boost::json::value share(double value) {
  if (!std::isfinite(value)) return nullptr;
  return std::round(value * 1e5) / 1e5;
}

std::string shown(double value) {
  return std::isfinite(value) ? fmt::format("{:.2f}", value) : "never";
}

object judged_json(const Judged& judged) {
  return {{"coats", judged.coats},
          {"too_early", judged.too_early},
          {"median_wait_share", share(judged.median_wait_share)}};
}

object counts_json(const Counts& counts) {
  const double by_touch =
      counts.touched == 0 ? 0 : static_cast<double>(counts.false_by_touch) / counts.touched;
  const double by_wrong = counts.wrongly_touched == 0
                              ? 0
                              : static_cast<double>(counts.false_by_wrong_touch) / counts.wrongly_touched;
  return {{"coats", counts.coats},
          {"false_openings", counts.false_openings},
          {"false_comforts", counts.false_comforts},
          {"rate", share(counts.rate)},
          {"rate_upper95", share(counts.rate_upper95)},
          {"false_by_touch", share(by_touch)},
          {"false_by_wrong_touch", share(by_wrong)},
          {"opened_by_touch", counts.touched},
          {"median_wait_share", share(counts.median_wait_share)},
          {"never_opened", counts.never_opened},
          {"offered_share", share(counts.offered_share)},
          {"touch_test_only_share", share(counts.touch_test_only_share)},
          {"late_until_at_notice", counts.late_until},
          {"scatter_5", judged_json(counts.five)},
          {"scatter_10", judged_json(counts.ten)},
          {"scatter_5_one_touch", judged_json(counts.five_with_touch)},
          {"scatter_10_one_touch", judged_json(counts.ten_with_touch)}};
}

object parts_json(const std::vector<Part>& parts) {
  object all;
  for (const Part& part : parts)
    all[part.name] = counts_json(part.counts);
  return all;
}

object error_json(const ExpectedError& error) {
  return {{"coats", error.coats},
          {"median_ln", share(error.median)},
          {"median_absolute_ln", share(error.median_absolute)},
          {"ninety_absolute_ln", share(error.ninety_absolute)}};
}

object alarms_json(const Alarms& alarms) {
  return {{"due", alarms.due},
          {"missed", alarms.missed},
          {"false_alarms", alarms.false_alarms},
          {"quiet", alarms.quiet}};
}

std::string rows_of(const CoatRecord& record) {
  return word(record.rows);
}
std::string family_of(const CoatRecord& record) {
  return record.family;
}
std::string sheet_of(const CoatRecord& record) {
  return record.sheet;
}
std::string kind_of(const CoatRecord& record) {
  return fmt::format("{}, {:.0f} %", word(record.rows), 100 * record.scatter.sigma);
}

std::string line(const std::string& name, const Counts& c) {
  return fmt::format("{:<24}{:>7}{:>6}{:>6}{:>9.5f}{:>9.5f}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7.3f}{:>7.3f}\n", name,
                     c.coats, c.false_openings, c.false_comforts, c.rate, c.rate_upper95, c.never_opened,
                     shown(c.five.median_wait_share), shown(c.ten.median_wait_share),
                     shown(c.five_with_touch.median_wait_share), shown(c.ten_with_touch.median_wait_share),
                     c.offered_share, c.touch_test_only_share);
}

std::string lines(const std::vector<Part>& parts) {
  std::string text;
  for (const Part& part : parts)
    text += line(part.name, part.counts);
  return text;
}

}  // namespace

std::string json_of(std::span<const CoatRecord> records, const RunFacts& facts) {
  const Counts counts = count(records, facts.seed);
  object all = counts_json(counts);
  all["by_rows"] = parts_json(count_by(records, facts.seed, rows_of));
  all["by_family"] = parts_json(count_by(records, facts.seed, family_of));
  all["by_sheet"] = parts_json(count_by(records, facts.seed, sheet_of));
  all["printed_time"] = judged_json(counts.printed);
  all["twice_per_ten_kelvin"] = judged_json(counts.rule_of_thumb);
  all["expected_at_start"] = error_json(error_at_start(records));
  all["expected_at_notice"] = error_json(error_at_notice(records));
  all["floor_alarms"] = alarms_json(floor_alarms(records));
  all["dew_alarms"] = alarms_json(dew_alarms(records));
  all["k"] = facts.k;
  all["seed"] = facts.seed;
  all["shops"] = facts.shops;
  all["seconds"] = share(facts.seconds);
  return boost::json::serialize(all);
}

std::string table_of(std::span<const CoatRecord> records, const RunFacts& facts) {
  const Counts all = count(records, facts.seed);
  std::string text = fmt::format("{:<24}{:>7}{:>6}{:>6}{:>9}{:>9}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}\n", "",
                                 "coats", "early", "late", "rate", "upper95", "never", "5 %", "10 %", "5 %+t",
                                 "10 %+t", "offer", "test");
  text += line("all", all);
  text += lines(count_by(records, facts.seed, kind_of));
  text += lines(count_by(records, facts.seed, family_of));
  text += lines(count_by(records, facts.seed, sheet_of));
  const auto judged = [](const char* name, const Judged& j) {
    return fmt::format("{}: too early {} of {}, median wait {}\n", name, j.too_early, j.coats,
                       shown(j.median_wait_share));
  };
  text += judged("printed time", all.printed) + judged("twice per 10 K", all.rule_of_thumb);
  text += fmt::format("by touch: false {} of {}; with wrong touches {} of {}; late until at notice {}\n",
                      all.false_by_touch, all.touched, all.false_by_wrong_touch, all.wrongly_touched,
                      all.late_until);
  for (const auto& [name, e] :
       {std::pair{"start", error_at_start(records)}, {"notice", error_at_notice(records)}})
    text += fmt::format("expected at {}: median {:.3f}, |.| {:.3f}, 90 % {:.3f} ({} coats)\n", name, e.median,
                        e.median_absolute, e.ninety_absolute, e.coats);
  for (const auto& [name, a] : {std::pair{"floor", floor_alarms(records)}, {"dew", dew_alarms(records)}})
    text += fmt::format("{} alarms: due {}, missed {}, false {}, quiet {}\n", name, a.due, a.missed,
                        a.false_alarms, a.quiet);
  return text + fmt::format("{} shops, {:.0f} s\n", facts.shops, facts.seconds);
}

std::string explained(std::span<const CoatRecord> records) {
  std::string text;
  for (const CoatRecord& r : records) {
    const double early = opened_too_early(r), late = closed_too_late(r);
    if (early <= 0 && late <= 0) continue;
    text += fmt::format(
        "shop {} {} rows {} room {} sigma {:.2f}{}: {} by {:.1f} min; true open {:.1f} close {:.1f}, told "
        "{:.1f} "
        "until {:.1f}\n",
        r.shop, r.product, word(r.rows), r.room, r.scatter.sigma, r.scatter.heavy_tailed ? " heavy" : "",
        early > 0 ? "opened early" : "closed late", early > 0 ? early : late, r.true_open,
        r.true_close.value_or(-1), r.told_from.value_or(-1), r.closed_from.value_or(-1));
  }
  return text;
}

}  // namespace setwell::shops
