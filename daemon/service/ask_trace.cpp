#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/core/review_mates.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/review_case.hpp"

/// Which coats share a batch, a lot or a sheet, and which lay beside them that night.
namespace setwell::service {

using core::Coat;
using core::Piece;
using quantity::Instant;

namespace {

/// A night begins at noon: what is coated by noon hardens in the day, the rest in the night after.
std::string night_of(Instant at, const quantity::TimeZone& zone) {
  const auto local = at + zone.offset_at(at) - std::chrono::hours(12);
  const std::chrono::year_month_day day(std::chrono::floor<std::chrono::days>(local));
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(day.year()), static_cast<unsigned>(day.month()),
                     static_cast<unsigned>(day.day()));
}

class Trace {
 public:
  Trace(Workshop& workshop, const api::TraceParams& params, Instant now)
      : params_(params), file_(case_of(workshop, now, now)) {}

  api::TraceAnswer make(std::string what) {
    answer_.what = std::move(what);
    answer_.display = api::from_core(file_.display);
    each([&](const Piece& piece, const Coat& coat) {
      if (!shares(coat)) return;
      nights_.emplace(coat.made.zone.text(), night(coat));
      add(piece, coat, true);
    });
    each([&](const Piece& piece, const Coat& coat) {
      if (!shares(coat) && nights_.contains({coat.made.zone.text(), night(coat)})) add(piece, coat, false);
    });
    std::stable_sort(answer_.rows.begin(), answer_.rows.end(),
                     [](const auto& a, const auto& b) { return a.shares > b.shares; });
    return std::move(answer_);
  }

 private:
  template <typename Visit>
  void each(Visit visit) const {
    for (const auto& piece : file_.workbook.pieces) {
      for (const auto& coat : piece.coats)
        visit(piece, coat);
    }
  }

  [[nodiscard]] bool shares(const Coat& coat) const {
    if (params_.batch) return coat.made.batch && coat.made.batch->text() == *params_.batch;
    if (params_.sheet) return coat.made.sheet.text() == *params_.sheet;
    const auto lots = core::lots_of(file_, coat);
    return std::find(lots.begin(), lots.end(), *params_.lot) != lots.end();
  }

  [[nodiscard]] std::string night(const Coat& coat) const {
    return night_of(coat.made.last_pass, file_.display.zone);
  }

  void add(const Piece& piece, const Coat& coat, bool sharing) {
    api::TraceRow row;
    row.piece = piece.id.text();
    row.coat = coat.number;
    row.sheet = coat.made.sheet.text();
    const auto* material = file_.material(coat.made.edition);
    row.edition = material != nullptr ? material->edition : "cannot be read";
    if (coat.made.batch) row.batch = coat.made.batch->text();
    row.lots = core::lots_of(file_, coat);
    row.zone = coat.made.zone.text();
    row.made = api::time_text(coat.made.last_pass, file_.display.zone);
    row.night = night(coat);
    row.outcome = core::word(core::outcome_of(file_, piece, coat, {}));
    for (const auto sign : core::signs_on(piece, coat))
      row.signs.emplace_back(core::word(sign));
    row.shares = sharing;
    answer_.rows.push_back(std::move(row));
  }

  const api::TraceParams& params_;
  core::CaseFile file_;
  std::set<std::pair<std::string, std::string>> nights_;
  api::TraceAnswer answer_;
};

}  // namespace

Answered<api::TraceAnswer> trace(Workshop& workshop, const api::TraceParams& params, Instant now) {
  const int asked = params.batch.has_value() + params.lot.has_value() + params.sheet.has_value();
  if (asked != 1) return quantity::invalid("trace what? One of --batch B, --lot L, --sheet S");
  const std::string what = params.batch ? "batch " + *params.batch
                           : params.lot ? "lot " + *params.lot
                                        : "sheet " + *params.sheet;
  auto answer = Trace(workshop, params, now).make(what);
  const bool any =
      std::any_of(answer.rows.begin(), answer.rows.end(), [](const auto& row) { return row.shares; });
  if (!any) return quantity::not_found("no coat was made of " + what);
  return answer;
}

}  // namespace setwell::service
