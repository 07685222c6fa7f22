#include <charconv>

#include "daemon/cases/parts.hpp"

namespace setwell::cases {

using quantity::Instant;
using toml_text::NodeKind;
using toml_text::Table;

namespace {

constexpr std::string_view kRight = "a moment as 2031-03-04T10:00:00+01:00, or \"18 h\" after `start`";

std::optional<Instant> after_start(std::string_view text, Instant start) {
  const bool before = text.starts_with('-');
  if (before || text.starts_with('+')) text.remove_prefix(1);
  const auto hours = toml_text::hours_or_none(text);
  if (!hours.value) return std::nullopt;
  const auto span = std::chrono::round<quantity::Span>(*hours.value);
  return before ? start - span : start + span;
}

}  // namespace

std::optional<Instant> moment(Table& table, std::string_view key, Instant start) {
  const auto* node = table.find(key);
  if (node == nullptr) return std::nullopt;
  std::optional<Instant> at;
  if (node->kind == NodeKind::moment || node->kind == NodeKind::text)
    at = quantity::parse_rfc3339(node->text);
  if (!at && node->kind == NodeKind::text) at = after_start(node->text, start);
  if (!at) table.fault(key, "is no moment", std::string(kRight));
  return at;
}

Instant need_moment(Table& table, std::string_view key, Instant start) {
  if (!table.has(key)) table.missing(key, kRight);
  return moment(table, key, start).value_or(start);
}

std::optional<quantity::Span> span(Table& table, std::string_view key) {
  const auto hours = table.figure(key, toml_text::hours_or_none);
  if (!hours) return std::nullopt;
  return std::chrono::round<quantity::Span>(*hours);
}

}  // namespace setwell::cases
