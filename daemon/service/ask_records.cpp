#include <algorithm>
#include <map>

#include "daemon/api/from_core.hpp"
#include "daemon/core/time_phrase.hpp"
#include "daemon/service/logging.hpp"
#include "daemon/service/piece_view.hpp"

/// The records out: what the loop plans and the reader carries out.
namespace setwell::service {

using quantity::Instant;
using quantity::MeasuredQuantity;

namespace {

constexpr std::size_t kHistoryPage = 2000;

const Series* channel_of(const Workshop& workshop, const quantity::ZoneId& zone, MeasuredQuantity quantity) {
  for (const auto& series : workshop.sensors.series()) {
    if (series.spec().zone == zone && series.spec().quantity == quantity) return &series;
  }
  return nullptr;
}

/// A span of history as asked for: the last day unless said otherwise.
quantity::Result<core::TimePhrase> history_span(const Workshop& workshop, const api::HistoryParams& params,
                                                Instant now) {
  core::TimePhrase span{now - std::chrono::hours(24), now, quantity::Span(0)};
  if (params.from) {
    const auto from = time_said(workshop, params.from, now);
    if (!from) return from.error();
    span.from = from->from;
  }
  if (params.to) {
    const auto to = time_said(workshop, params.to, now);
    if (!to) return to.error();
    span.to = to->to;
  }
  if (span.to <= span.from)
    return quantity::invalid("the span ends before it begins: --from must come before --to");
  return span;
}

/// A channel as the reader needs it; without one, no readings.
struct Source {
  std::optional<ledger::ChannelNumber> number;
  decode::ChannelSpec spec;
};

Source source_of(const Workshop& workshop, const quantity::ZoneId& zone, MeasuredQuantity quantity) {
  const auto* series = channel_of(workshop, zone, quantity);
  if (series == nullptr) return {};
  return {series->number, series->spec()};
}

/// The beginning of a span: all its moments up to (not with) `complete_upto`.
struct Beginning {
  std::map<Instant, double> moments;
  Instant complete_upto{};
};

/// At least one moment where there is any; about a page of them, whatever the span holds.
Beginning beginning_of(const ledger::ReadOnlyLedger& records, const Source& source, Instant from,
                       Instant to) {
  if (!source.number) return {{}, to};
  for (int most = kHistoryPage + 1;; most *= 2) {
    const auto rows = records.trusted(*source.number, from, to, most);
    const bool whole = rows.size() < static_cast<std::size_t>(most);
    // The last moment may go on behind what was read.
    Beginning found{{}, whole ? to : rows.back().measured};
    for (const auto& row : rows) {
      if (row.measured < found.complete_upto)
        found.moments[row.measured] = row.value + decode::offset_at(source.spec, row.measured);
    }
    if (whole || !found.moments.empty()) return found;
  }
}

struct Page {
  quantity::ZoneId zone;
  Source temperature;
  Source humidity;
  Instant from{};
  Instant to{};
  api::DisplayWish display;
  quantity::TimeZone time_zone;
};

/// Temperature and humidity of one moment share a row.
api::HistoryAnswer read_page(const ledger::ReadOnlyLedger& records, const Page& page) {
  const auto temperature = beginning_of(records, page.temperature, page.from, page.to);
  const auto humidity = beginning_of(records, page.humidity, page.from, page.to);
  std::map<Instant, api::HistoryRow> rows;
  for (const auto& [at, value] : temperature.moments)
    rows[at].temperature_c = value;
  for (const auto& [at, value] : humidity.moments)
    rows[at].humidity_pct = value;
  const auto upto = std::min(temperature.complete_upto, humidity.complete_upto);
  api::HistoryAnswer answer;
  answer.zone = page.zone.text();
  answer.display = page.display;
  bool more = upto < page.to;
  for (auto& [at, row] : rows) {
    if (at >= upto || answer.rows.size() == kHistoryPage) {
      more = true;
      break;
    }
    row.time = api::time_text(at, page.time_zone);
    answer.rows.push_back(row);
  }
  if (more) answer.more_after = answer.rows.back().time;
  return answer;
}

}  // namespace

Planned<api::HistoryAnswer> history(Workshop& workshop, const api::HistoryParams& params, Instant now) {
  const auto zone = zone_named(workshop, params.zone, std::nullopt);
  if (!zone) return zone.error();
  const auto span = history_span(workshop, params, now);
  if (!span) return span.error();
  auto from = span->from;
  if (params.after) {
    const auto after = quantity::parse_rfc3339(*params.after);
    if (!after) return quantity::invalid("after takes the RFC 3339 time of the last row of the page before");
    from = *after + quantity::Span(1);
  }
  const Page page{*zone,
                  source_of(workshop, *zone, MeasuredQuantity::air_temperature),
                  source_of(workshop, *zone, MeasuredQuantity::relative_humidity),
                  from,
                  span->to + quantity::Span(1),
                  api::from_core(display_of(*workshop.settings)),
                  workshop.settings->workshop.time_zone};
  return [page](const ledger::ReadOnlyLedger& records) -> Answered<api::HistoryAnswer> {
    return read_page(records, page);
  };
}

Planned<api::BackupAnswer> backup(Workshop&, const api::BackupParams& params, Instant) {
  const std::filesystem::path file(params.file);
  if (!file.is_absolute())
    return quantity::invalid("the backup's file needs its whole path, as /home/…/setwell.db");
  return [file](const ledger::ReadOnlyLedger& records) -> Answered<api::BackupAnswer> {
    if (const auto done = records.backup_to(file); !done) return done.error();
    const auto copy = ledger::ReadOnlyLedger::open(file);
    if (!copy) return copy.error();
    api::BackupAnswer answer;
    answer.file = file.string();
    std::error_code error;
    answer.bytes = static_cast<std::int64_t>(std::filesystem::file_size(file, error));
    answer.entries = copy->entry_count();
    answer.readings = copy->reading_count();
    return answer;
  };
}

}  // namespace setwell::service
