#pragma once

#include <string>

#include "cli/render/page.hpp"
#include "daemon/api/messages/asking.hpp"
#include "daemon/api/messages/dry_run.hpp"
#include "daemon/api/messages/logging.hpp"
#include "daemon/api/messages/review.hpp"
#include "sensors/quantity/instant.hpp"

/// Answers as text for a terminal of 80 columns. Each is a function of the answer, the clock (for answers
/// that carry no time of their own) and whether colour may be used.
namespace setwell::cli {

struct Look {
  quantity::Instant clock_now;
  Colour colour = Colour::off;
};

[[nodiscard]] std::string to_text(const api::NowAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::PieceShowAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::PiecesAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::EntriesAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::BatchesAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::AirAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::SensorsAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::NoticesAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::NoticeTestAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::SheetsAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::SheetShowAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::SchedulesAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::HistoryAnswer& answer, const Look& look);
/// The rows as lines of `time,temperature_c,humidity_pct` without their head, °C and % whatever the display.
[[nodiscard]] std::string history_csv(const api::HistoryAnswer& answer);
[[nodiscard]] std::string to_text(const api::BackupAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::StatusAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::LoggedAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::DryRunAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::ReviewAnswer& answer, const Look& look);
[[nodiscard]] std::string to_text(const api::TraceAnswer& answer, const Look& look);
/// A page of a table as lines of CSV (RFC 4180) without its head.
[[nodiscard]] std::string export_csv(const api::ExportAnswer& answer);
[[nodiscard]] std::string csv_line(const std::vector<std::string>& cells);

}  // namespace setwell::cli
