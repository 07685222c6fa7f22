#include "tests/reference/table_score.hpp"

#include <cmath>

#include <fmt/format.h>

#include "daemon/core/time_model.hpp"

namespace setwell::reference {
namespace {

constexpr double kWorkshopFrom = 8.0, kWorkshopTo = 38.0;
constexpr double kInside = 0.95, kWidth = 1.60, kWorkshopWidth = 1.30, kGroupInside = 0.88, kHurting = 0.025;
constexpr int kGroupPoints = 10;

double ln_time(const core::Row& row) {
  return 0.5 * std::log(row.time.low.count() * row.time.high.count());
}

struct Bounds {
  double fast, slow;
};

class Judge {
 public:
  Judge(TableScore& score, const core::PriorBook& book, double level)
      : score_(score), book_(book), level_(level) {}

  void judge(const StatedTable& table) {
    shown_row(table);
    other_rows(table);
  }

 private:
  [[nodiscard]] Bounds bounds(const core::TimeModel& model, double celsius) const {
    const core::LnTime t = model.at(celsius);
    return {t.expected - level_ * t.fast_spread(), t.expected + level_ * t.slow_spread()};
  }

  void shown_row(const StatedTable& table) {
    const std::size_t shown = table.shown();
    const core::Row& from = table.rows.rows[shown];
    const core::Milestone milestone = table.milestone();
    const core::TimeModel model(core::TimeTable{{from}}, table.family(), milestone, book_);
    const core::PriorKind kind = core::prior_kind(milestone);
    for (std::size_t i = 0; i < table.rows.rows.size(); ++i) {
      if (i == shown) continue;
      const core::Row& row = table.rows.rows[i];
      const double celsius = row.at.degrees();
      const Bounds b = bounds(model, celsius);
      const auto count = [&](Tally& tally) { tally.count(ln_time(row), b.fast, b.slow); };
      const core::PriorSide side = row.at < from.at ? core::PriorSide::colder : core::PriorSide::warmer;
      count(score_.all);
      count(score_.by_sheet[table.sheet]);
      count(score_.by_group[fmt::format("{} {}", word(kind), word(side))]);
      if (celsius >= kWorkshopFrom && celsius <= kWorkshopTo) count(score_.workshop);
      if (kind == core::PriorKind::opens) count(score_.opens);
      if (kind == core::PriorKind::closes) count(score_.closes);
    }
  }

  /// Each row in turn as if the sheet did not state it.
  void other_rows(const StatedTable& table) {
    const std::size_t count = table.rows.rows.size();
    if (count < 3) return;
    for (std::size_t i = 0; i < count; ++i) {
      core::TimeTable rest = table.rows;
      rest.rows.erase(rest.rows.begin() + static_cast<std::ptrdiff_t>(i));
      const core::TimeModel model(rest, table.family(), table.milestone(), book_);
      const core::Row& row = table.rows.rows[i];
      const Bounds b = bounds(model, row.at.degrees());
      Tally& tally = i == 0 || i + 1 == count ? score_.beyond : score_.between;
      tally.count(ln_time(row), b.fast, b.slow);
    }
  }

  TableScore& score_;
  const core::PriorBook& book_;
  double level_;
};

}  // namespace

void Tally::count(double ln_time, double ln_fast, double ln_slow) {
  ++points;
  if (ln_time > ln_slow) ++above;
  if (ln_time < ln_fast) ++below;
  ln_width += ln_slow - ln_fast;
}

double Tally::inside() const {
  return share(points - above - below);
}

double Tally::mean_ln_width() const {
  return points > 0 ? ln_width / points : 0.0;
}

TableScore score_tables(const std::vector<StatedTable>& tables, const std::vector<StatedTable>& fit_on,
                        const PriorForm& form) {
  TableScore score;
  std::map<std::string, core::PriorBook> books;
  for (const StatedTable& table : tables) {
    const std::string kin = kin_of(table.sheet);
    auto book = books.find(kin);
    if (book == books.end())
      book = books.emplace(kin, book_of(fit_priors(without(fit_on, table.sheet), form))).first;
    Judge(score, book->second, two_sided_95(form.freedom)).judge(table);
  }
  return score;
}

std::vector<std::string> aims_missed(const TableScore& score) {
  std::vector<std::string> missed;
  const auto at_least = [&](double value, double aim, std::string_view what) {
    if (value < aim) missed.push_back(fmt::format("{}: {:.4f}, at least {} is the aim", what, value, aim));
  };
  const auto at_most = [&](double value, double aim, std::string_view what) {
    if (value > aim) missed.push_back(fmt::format("{}: {:.4f}, at most {} is the aim", what, value, aim));
  };
  at_least(score.all.inside(), kInside, "inside");
  at_most(score.all.mean_ln_width(), kWidth, "mean width");
  at_least(score.workshop.inside(), kInside, "inside, workshop");
  at_most(score.workshop.mean_ln_width(), kWorkshopWidth, "mean width, workshop");
  for (const auto& [group, tally] : score.by_group) {
    if (tally.points >= kGroupPoints) at_least(tally.inside(), kGroupInside, group);
  }
  at_most(score.opens.share(score.opens.above), kHurting, "openings above slow");
  at_most(score.closes.share(score.closes.below), kHurting, "closings below fast");
  return missed;
}

}  // namespace setwell::reference
