#include <algorithm>
#include <chrono>

#include "daemon/core/batch_run.hpp"
#include "daemon/core/drying.hpp"
#include "daemon/core/envelope.hpp"
#include "daemon/core/learned.hpp"
#include "daemon/core/rule_clocks.hpp"
#include "daemon/core/verdict.hpp"
#include "tests/reference/inputs.hpp"
#include "tests/reference/runs.hpp"
#include "tests/support/materials.hpp"

/// Vectors of whole clocks, which carry their own priors: moments are seconds from a midnight UTC.
namespace setwell::reference {
namespace json = boost::json;
using quantity::Instant;

namespace {

constexpr Instant kBegin = tests::kMonday;

Instant instant_at(const json::value& seconds) {
  return kBegin + std::chrono::round<quantity::Span>(quantity::Seconds(number(seconds)));
}

quantity::Span span_of(const json::object& inputs, std::string_view key) {
  return std::chrono::round<quantity::Span>(quantity::Seconds(number(inputs, key)));
}

json::value seconds_of(const std::optional<Instant>& at) {
  if (!at) return nullptr;
  return quantity::Seconds(*at - kBegin).count();
}

core::TimeTable table_of_rows(const json::value& rows) {
  core::TimeTable table;
  for (const json::value& row : rows.as_array()) {
    table.rows.push_back({quantity::Celsius(number(row.at(0))),
                          tests::hours_stated(number(row.at(1)), number(row.at(2))), ""});
  }
  return table;
}

/// Every kind of milestone gets the vector's priors.
core::PriorBook book_of(const json::value& priors) {
  std::vector<core::PriorRow> rows;
  for (const auto kind : {core::PriorKind::opens, core::PriorKind::closes, core::PriorKind::drying,
                          core::PriorKind::hardness, core::PriorKind::pot_life}) {
    for (const auto& [key, side] :
         {std::pair{"colder", core::PriorSide::colder}, std::pair{"warmer", core::PriorSide::warmer}}) {
      const json::array& prior = priors.at(key).as_array();
      rows.push_back({std::nullopt,
                      kind,
                      side,
                      {number(prior.at(0)), number(prior.at(1)), number(prior.at(2)), number(prior.at(3))},
                      "vector"});
    }
  }
  return core::PriorBook(std::move(rows), number(priors.at("bend")));
}

core::Family family_of(const json::object& inputs) {
  if (!inputs.contains("family")) return core::Family::epoxy;
  const std::string_view name = inputs.at("family").as_string();
  return *std::find_if(core::kFamilies.begin(), core::kFamilies.end(),
                       [&](core::Family each) { return core::word(each) == name; });
}

std::vector<core::AirPoint> points_of(const json::value& samples, double error) {
  std::vector<core::AirPoint> points;
  for (const json::value& sample : samples.as_array())
    points.push_back({instant_at(sample.at(0)), number(sample.at(1)), error});
  return points;
}

core::AirHistory air_of(const json::object& inputs) {
  const quantity::Span silent_after =
      inputs.contains("silent_after_s") ? span_of(inputs, "silent_after_s") : std::chrono::minutes(15);
  core::AirHistory air(core::AirHistory::Limits{silent_after, silent_after});
  for (const core::AirPoint& point : points_of(inputs.at("readings_s_C"), number(inputs, "error_K")))
    air.put_temperature(point);
  if (!inputs.contains("humidity_s_pct")) return air;
  for (const core::AirPoint& point : points_of(inputs.at("humidity_s_pct"), 5.0))
    air.put_humidity(point);
  return air;
}

core::Strictness strictness_of(const json::object& inputs) {
  return {number(inputs, "k"), number(inputs, "scatter_ln")};
}

/// The coat of a vector, with these clocks.
core::Outlook outlook_of(const json::object& inputs, core::Material material,
                         std::shared_ptr<const core::SheetClocks> clocks) {
  core::CoatCase coat = tests::coat_of(std::move(material), instant_at(inputs.at("coated_s")),
                                       span_of(inputs, "entry_error_s"));
  coat.lag = quantity::Minutes(number(inputs, "tau_s") / 60.0);
  coat.clocks = std::move(clocks);
  const core::AirHistory air = air_of(inputs);
  const auto of_any_zone = [&](const quantity::ZoneId&) { return &air; };
  return tests::run_of(std::move(coat)).outlook(of_any_zone, *air.recorded_upto());
}

std::optional<Instant> by_record(const core::ClockReading& clock, bool core::Bounded<bool>::*reached,
                                 std::optional<Instant> core::Bounded<std::optional<Instant>>::*at) {
  return clock.reached.*reached ? clock.at.*at : std::nullopt;
}

/// Nothing where it lies ahead of the record.
std::optional<Instant> recorded(const std::optional<Instant>& at, Instant upto) {
  return at && *at <= upto ? at : std::nullopt;
}

core::TestedCoat tested_coat(const json::object& coat) {
  core::TestedCoat tested;
  tested.piece = quantity::EntryId(coat.at("piece").to_number<std::int64_t>());
  tested.tested = instant_at(coat.at("tested"));
  tested.lot = coat.at("lot").as_string().c_str();
  for (const json::value& test : coat.at("tests").as_array()) {
    tested.tests.push_back({test.at(0).as_bool() ? core::Proof::reached : core::Proof::not_yet,
                            number(test.at(1)), number(test.at(2)), number(test.at(3))});
  }
  return tested;
}

core::Bounded<double> triple(const json::value& values) {
  return {number(values.at(0)), number(values.at(1)), number(values.at(2))};
}

}  // namespace

json::object run_time_spread(const json::object& inputs) {
  const core::TimeModel model(table_of_rows(inputs.at("rows_C_h")), core::Family::epoxy,
                              core::Milestone::recoat_opens, book_of(inputs.at("priors")));
  json::array low, expected, high, shorter, longer;
  for (const json::value& celsius : inputs.at("t_C").as_array()) {
    const core::LnTime t = model.at(number(celsius));
    low.push_back(t.low);
    expected.push_back(t.expected);
    high.push_back(t.high);
    shorter.push_back(t.fast_spread());
    longer.push_back(t.slow_spread());
  }
  return {{"ln_low", low},
          {"ln_expected", expected},
          {"ln_high", high},
          {"shorter_ln", shorter},
          {"longer_ln", longer}};
}

json::object run_whole_clock(const json::object& inputs) {
  core::Material material;
  material.id = quantity::SheetId("vector");
  material.family = family_of(inputs);
  if (const auto humidity = maybe(inputs, "reference_rh_pct"))
    material.reference_humidity = quantity::RelativeHumidity::percent(*humidity);
  const core::TimeModel model(table_of_rows(inputs.at("rows_C_h")), material.family,
                              core::Milestone::tack_free, book_of(inputs.at("priors")));
  const core::CureFloor floor{maybe(inputs, "slow_floor_C"), maybe(inputs, "expected_floor_C"), false};
  core::SheetClock clock;
  clock.rates.emplace(model, floor, strictness_of(inputs));
  clock.coldest_c = model.coldest_row_c();
  clock.warmest_c = model.warmest_row_c();
  const auto outlook =
      outlook_of(inputs, material, std::make_shared<const core::SheetClocks>(core::SheetClocks{clock}));
  const core::ClockReading& told = outlook.clocks.at(0);
  using Reached = core::Bounded<bool>;
  using At = core::Bounded<std::optional<Instant>>;
  return {{"slow_s", seconds_of(by_record(told, &Reached::slow, &At::slow))},
          {"expected_s", seconds_of(by_record(told, &Reached::expected, &At::expected))},
          {"fast_s", seconds_of(by_record(told, &Reached::fast, &At::fast))},
          {"upper_s", seconds_of(recorded(told.expected_at_upper, outlook.now))},
          {"likely_s", seconds_of(recorded(told.likely_at, outlook.now))},
          {"test_from_s", seconds_of(recorded(core::test_from_of(told), outlook.now))}};
}

json::object run_two_windows(const json::object& inputs) {
  core::Material material;
  material.id = quantity::SheetId("vector");
  material.cure_floor = quantity::Celsius(number(inputs, "floor_C"));
  core::RecoatRule rule;
  rule.kind = core::RuleKind::early_gap_late;
  rule.opens = table_of_rows(inputs.at("opens_C_h"));
  rule.gap_begins = table_of_rows(inputs.at("gap_begins_C_h"));
  rule.gap_ends = table_of_rows(inputs.at("gap_ends_C_h"));
  rule.closes = table_of_rows(inputs.at("closes_C_h"));
  material.recoat.push_back(rule);
  const auto clocks =
      core::clocks_of(material, core::Load::none, strictness_of(inputs), book_of(inputs.at("priors")));
  const auto outlook = outlook_of(inputs, material, clocks);
  const auto judged = core::judge(material, 0, "any", {}, outlook);
  const auto edges = [](const core::Window& w) {
    return json::array{seconds_of(w.from), seconds_of(w.until)};
  };
  return {{"early_s", edges(judged.windows.at(0))},
          {"early_sure", judged.windows.at(0).sure},
          {"late_s", edges(judged.windows.at(1))},
          {"late_sure", judged.windows.at(1).sure}};
}

json::object run_pot_life_clock(const json::object& inputs) {
  core::Material material;
  material.pot_life = table_of_rows(inputs.at("rows_C_h"));
  material.pot_test_mass = quantity::Grams(number(inputs, "test_mass_g"));
  core::Batch batch;
  batch.mixed = instant_at(inputs.at("mixed_s"));
  batch.error = span_of(inputs, "entry_error_s");
  batch.made.part_a = quantity::Grams(0.75 * number(inputs, "mass_g"));
  batch.made.part_b = quantity::Grams(0.25 * number(inputs, "mass_g"));
  batch.made.pot = core::pot_from(inputs.at("pot").as_string()).value_or(core::Pot::cup);
  if (const auto resin = maybe(inputs, "resin_C")) batch.made.resin_temperature = quantity::Celsius(*resin);
  const core::AirHistory air = air_of(inputs);
  const auto outlook = core::batch_outlook(batch, material, &air, 3.1, *air.recorded_upto());
  if (!outlook) return {};
  return {{"slow_s", seconds_of(outlook->over.slow)},
          {"expected_s", seconds_of(outlook->over.expected)},
          {"fast_s", seconds_of(outlook->over.fast)},
          {"told_s", seconds_of(outlook->told_at)}};
}

json::object run_drying_bounds(const json::object& inputs) {
  core::AirAtPiece air;
  air.surface_c = triple(inputs.at("surface_C"));
  air.air_c = triple(inputs.at("air_C"));
  const auto humidity = triple(inputs.at("rh_pct"));
  air.humidity = {humidity.slow, humidity.expected, humidity.fast};
  const auto factors = core::humidity_factors(
      family_of(inputs), air, quantity::RelativeHumidity::percent(number(inputs, "reference_rh_pct")));
  return {{"slow", factors.slow}, {"expected", factors.expected}, {"fast", factors.fast}};
}

json::object run_silence_envelope(const json::object& inputs) {
  const auto before = points_of(inputs.at("before_s_C"), 0.0);
  std::optional<core::AirPoint> after;
  if (const json::value& point = inputs.at("after_s_C"); !point.is_null())
    after = core::AirPoint{instant_at(point.at(0)), number(point.at(1)), 0.0};
  core::EnvelopeRule rule = core::kTemperatureEnvelope;
  rule.per_root_hour = number(inputs, "widen_K_per_root_h");
  rule.widen_long = number(inputs, "widen_long_K");
  const json::array& stretches = inputs.at("hours_s").as_array();
  const core::Silence silence(before, after ? &*after : nullptr, instant_at(stretches.back().at(1)), rule);
  json::array least, middle, most;
  for (const json::value& hour : stretches) {
    const core::Stretch stretch = silence.over(instant_at(hour.at(0)), instant_at(hour.at(1)));
    least.push_back(stretch.least);
    middle.push_back(stretch.middle);
    most.push_back(stretch.most);
  }
  return {{"least_C", least}, {"middle_C", middle}, {"most_C", most}};
}

json::object run_learning(const json::object& inputs) {
  std::vector<core::TestedCoat> coats;
  for (const json::value& coat : inputs.at("coats").as_array())
    coats.push_back(tested_coat(coat.as_object()));
  const double scatter = number(inputs, "scatter_ln");
  const core::Lesson lesson =
      core::learn(coats, scatter, instant_at(inputs.at("when_s")), inputs.at("lot").as_string().c_str());
  const auto own = core::shift_from(lesson, scatter), closing = core::closing_shift_from(lesson, scatter);
  return {{"pieces", lesson.pieces},
          {"tests", lesson.tests},
          {"sooner", lesson.sooner},
          {"later", lesson.later},
          {"mean_ln", lesson.mean_ln},
          {"spread_ln", lesson.spread_ln},
          {"scatter_ln", lesson.scatter_ln},
          {"delays", own && own->delays},
          {"closes", own && own->closes},
          {"replaces", own && own->replaces},
          {"acting_scatter_ln", own ? json::value(own->scatter_ln) : nullptr},
          {"closing_mean_ln", closing ? json::value(closing->mean_ln) : nullptr},
          {"closing_scatter_ln", closing ? json::value(closing->scatter_ln) : nullptr}};
}

}  // namespace setwell::reference
