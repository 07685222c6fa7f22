#include <algorithm>
#include <array>
#include <charconv>

#include <fmt/format.h>

#include "daemon/api/entry_codec.hpp"
#include "daemon/api/from_core.hpp"
#include "daemon/core/review_mates.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/review_case.hpp"

/// The records as plain tables. setwell(7) names every column.
namespace setwell::service {

using quantity::Instant;
using Row = std::vector<std::string>;

namespace {

constexpr std::size_t kPage = 2000;
constexpr std::array<std::string_view, 8> kTables{"pieces",  "coats",   "steps",    "touches",
                                                  "batches", "defects", "readings", "entries"};

std::string number(double value) {
  return fmt::format("{}", value);
}
template <typename Value>
std::string amount(const std::optional<Value>& value) {
  return value ? number(value->value()) : std::string();
}
std::string text(const std::optional<std::string>& value) {
  return value.value_or("");
}

class Tables {
 public:
  Tables(Workshop& workshop, Instant now) : workshop_(workshop), file_(case_of(workshop, now, now)) {}

  void fill(const std::string& table, api::ExportAnswer& answer) {
    if (table == "pieces") pieces(answer);
    if (table == "coats") coats(answer);
    if (table == "steps") steps(answer);
    if (table == "touches") touches(answer);
    if (table == "batches") batches(answer);
    if (table == "defects") defects(answer);
    if (table == "entries") entries(answer);
  }

 private:
  [[nodiscard]] std::string at(Instant moment) const { return api::time_text(moment, file_.display.zone); }
  static std::string seconds(quantity::Span span) { return number(quantity::Seconds(span).count()); }

  void pieces(api::ExportAnswer& answer) const {
    answer.columns = {"piece", "form", "schedule", "due", "begun", "ended", "ended_at"};
    for (const auto& piece : file_.workbook.pieces) {
      answer.rows.push_back({piece.id.text(), piece.made.form.text(),
                             piece.made.schedule ? piece.made.schedule->text() : "", text(piece.made.due),
                             at(piece.begun),
                             piece.ended ? std::string(core::word(piece.ended->body.ending)) : "",
                             piece.ended ? at(piece.ended->happened) : ""});
    }
  }

  void coats(api::ExportAnswer& answer) const {
    answer.columns = {"piece",        "coat",    "entry",  "sheet",    "edition", "zone",    "first_pass",
                      "last_pass",    "error_s", "passes", "batch",    "grams",   "film_um", "load",
                      "piece_from_c", "resin_c", "lots",   "lamp_min", "outcome"};
    for (const auto& piece : file_.workbook.pieces) {
      for (const auto& coat : piece.coats)
        answer.rows.push_back(row_of(piece, coat));
    }
  }

  [[nodiscard]] Row row_of(const core::Piece& piece, const core::Coat& coat) const {
    const auto& made = coat.made;
    const auto* material = file_.material(made.edition);
    std::string lots;
    for (const auto& lot : core::lots_of(file_, coat))
      lots += (lots.empty() ? "" : " ") + lot;
    return {piece.id.text(),
            std::to_string(coat.number),
            std::to_string(coat.id.value()),
            made.sheet.text(),
            material == nullptr ? "" : material->edition,
            made.zone.text(),
            at(made.first_pass),
            at(made.last_pass),
            seconds(coat.error),
            std::to_string(made.passes),
            made.batch ? made.batch->text() : "",
            amount(made.grams),
            amount(made.film),
            made.load == core::Load::none ? "" : std::string(core::word(made.load)),
            made.piece_from ? number(made.piece_from->degrees()) : "",
            made.resin_temperature ? number(made.resin_temperature->degrees()) : "",
            std::move(lots),
            made.lamp ? number(made.lamp->count()) : "",
            std::string(core::word(core::outcome_of(file_, piece, coat, {})))};
  }

  void steps(api::ExportAnswer& answer) const {
    answer.columns = {"piece", "entry", "at", "error_s", "step", "with", "kind", "sheet", "text"};
    for (const auto& piece : file_.workbook.pieces) {
      for (const auto& step : piece.steps) {
        answer.rows.push_back({piece.id.text(), std::to_string(step.id.value()), at(step.happened),
                               seconds(step.error), std::string(core::word(step.body.step)),
                               text(step.body.with), text(step.body.kind),
                               step.body.sheet ? step.body.sheet->text() : "", text(step.body.text)});
      }
    }
  }

  void touches(api::ExportAnswer& answer) const {
    answer.columns = {"piece", "witness_of", "entry", "at", "error_s", "touch"};
    const auto add = [&](const std::string& piece, const std::string& batch, const auto& touch) {
      answer.rows.push_back({piece, batch, std::to_string(touch.id.value()), at(touch.happened),
                             seconds(touch.error), std::string(core::word(touch.body.touch))});
    };
    for (const auto& piece : file_.workbook.pieces) {
      for (const auto& touch : piece.touches)
        add(piece.id.text(), "", touch);
    }
    for (const auto& batch : file_.workbook.batches) {
      for (const auto& touch : batch.witness)
        add("", batch.made.batch.text(), touch);
    }
  }

  void batches(api::ExportAnswer& answer) const {
    answer.columns = {"batch",    "entry",   "sheet", "zone",  "mixed", "error_s",    "part_a_g",
                      "part_b_g", "resin_c", "pot",   "lot_a", "lot_b", "stirred_min"};
    for (const auto& batch : file_.workbook.batches) {
      const auto& made = batch.made;
      answer.rows.push_back({made.batch.text(), std::to_string(batch.entry.value()), made.sheet.text(),
                             made.zone.text(), at(batch.mixed), seconds(batch.error),
                             number(made.part_a.value()), number(made.part_b.value()),
                             made.resin_temperature ? number(made.resin_temperature->degrees()) : "",
                             std::string(core::word(made.pot)), text(made.lot_a), text(made.lot_b),
                             made.stirred ? number(made.stirred->count()) : ""});
    }
  }

  void defects(api::ExportAnswer& answer) const {
    answer.columns = {"piece", "coat", "entry", "at", "error_s", "signs", "where", "photo"};
    for (const auto& piece : file_.workbook.pieces) {
      for (const auto& defect : piece.defects) {
        std::string signs;
        for (const auto& sign : defect.body.signs)
          signs += (signs.empty() ? "" : " ") + sign;
        answer.rows.push_back({piece.id.text(), defect.body.coat ? std::to_string(*defect.body.coat) : "",
                               std::to_string(defect.id.value()), at(defect.happened), seconds(defect.error),
                               std::move(signs), text(defect.body.where), text(defect.body.photo)});
      }
    }
  }

  void entries(api::ExportAnswer& answer) const {
    answer.columns = {"entry", "kind", "piece", "said", "happened", "error_s", "struck", "body_json"};
    for (const auto& entry : workshop_.book.entries()) {
      answer.rows.push_back({std::to_string(entry.id.value()), std::string(core::kind_word(entry.body)),
                             entry.piece.text(), at(entry.said), at(entry.happened), seconds(entry.error),
                             workshop_.book.struck(entry.id) ? "1" : "0", api::body_to_text(entry.body)});
    }
  }

  Workshop& workshop_;
  core::CaseFile file_;
};

/// The page of rows that begins at `after`; everything else is dropped.
void cut(api::ExportAnswer& answer, std::int64_t after) {
  const auto size = static_cast<std::int64_t>(answer.rows.size());
  const auto from = std::clamp<std::int64_t>(after, 0, size);
  const auto to = std::min<std::int64_t>(from + static_cast<std::int64_t>(kPage), size);
  if (to < size) answer.more_after = to;
  answer.rows = std::vector<Row>(answer.rows.begin() + from, answer.rows.begin() + to);
}

/// Where a page of readings goes on: the channel's place in the settings, and a moment of it.
constexpr int kMomentBits = 44;

/// Trusted readings from a moment on, at least `least` of them where there are as many, whole moments only.
std::vector<ledger::TrustedReading> some_readings(const Workshop& workshop, const Series& series,
                                                  Instant from, Instant now, std::size_t least) {
  std::vector<ledger::TrustedReading> some;
  quantity::Span width = std::chrono::days(1);
  while (some.size() < least && from <= now) {
    const auto more = workshop.ledger.trusted(series.number, from, from + width);
    some.insert(some.end(), more.begin(), more.end());
    from += width;
    width *= 2;
  }
  return some;
}

/// Readings by channel, in time order.
void readings(Workshop& workshop, std::int64_t after, Instant now, api::ExportAnswer& answer) {
  answer.columns = {"time", "zone", "quantity", "value", "quality", "channel"};
  const auto& zone = workshop.settings->workshop.time_zone;
  const auto& all = workshop.sensors.series();
  auto from = quantity::instant_from_ms(after & ((std::int64_t{1} << kMomentBits) - 1));
  for (auto i = static_cast<std::size_t>(std::max<std::int64_t>(0, after) >> kMomentBits); i < all.size();
       ++i) {
    const auto& series = all[i];
    for (const auto& reading : some_readings(workshop, series, from, now, kPage)) {
      if (answer.rows.size() >= kPage && reading.measured >= from) {
        answer.more_after = (static_cast<std::int64_t>(i) << kMomentBits) | quantity::to_ms(from);
        return;
      }
      answer.rows.push_back({api::time_text(reading.measured, zone), series.spec().zone.text(),
                             std::string(quantity::word(series.spec().quantity)),
                             number(reading.value + decode::offset_at(series.spec(), reading.measured)),
                             std::string(quantity::word(reading.quality)), series.id.text()});
      from = reading.measured + quantity::Span(1);
    }
    from = quantity::instant_from_ms(0);
  }
}

}  // namespace

Answered<api::ExportAnswer> export_page(Workshop& workshop, const api::ExportParams& params, Instant now) {
  api::ExportAnswer answer;
  answer.tables.assign(kTables.begin(), kTables.end());
  answer.table = params.table;
  if (std::find(kTables.begin(), kTables.end(), params.table) == kTables.end()) return answer;
  if (params.table == "readings") {
    readings(workshop, params.after, now, answer);
    return answer;
  }
  Tables(workshop, now).fill(params.table, answer);
  cut(answer, params.after);
  return answer;
}

}  // namespace setwell::service
