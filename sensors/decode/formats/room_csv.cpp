#include "sensors/decode/formats/room_csv.hpp"

#include <array>
#include <cstddef>
#include <optional>

#include <fmt/format.h>

#include "sensors/decode/figure.hpp"
#include "sensors/decode/text.hpp"

namespace setwell::decode {
namespace {

constexpr std::string_view kHeader = "time,temperature_c,humidity_pct";

std::optional<std::array<std::string_view, 3>> cells_of(std::string_view line) {
  const auto first = line.find(',');
  if (first == std::string_view::npos) return std::nullopt;
  const auto second = line.find(',', first + 1);
  if (second == std::string_view::npos || line.find(',', second + 1) != std::string_view::npos) {
    return std::nullopt;
  }
  return std::array{line.substr(0, first), line.substr(first + 1, second - first - 1),
                    line.substr(second + 1)};
}

std::optional<RoomRow> parse_row(std::string_view line) {
  const auto cells = cells_of(line);
  if (!cells) return std::nullopt;
  const auto civil = quantity::parse_civil(trimmed((*cells)[0]));
  const auto temperature = parse_number((*cells)[1]);
  const auto humidity = parse_number((*cells)[2]);
  if (!civil || !temperature || !humidity) return std::nullopt;
  const auto offset = civil->offset.value_or(std::chrono::minutes(0));
  return RoomRow{quantity::Instant(civil->local.time_since_epoch() - offset), *temperature, *humidity};
}

std::string_view take_line(std::string_view& rest) {
  const auto end = rest.find('\n');
  const std::string_view line = rest.substr(0, end);
  rest = end == std::string_view::npos ? std::string_view() : rest.substr(end + 1);
  return trimmed(line);
}

}  // namespace

quantity::Result<std::vector<RoomRow>> parse_room_csv(std::string_view text) {
  std::string_view rest = without_mark(text);
  if (take_line(rest) != kHeader) {
    return quantity::invalid(fmt::format("line 1: the header must read {}", kHeader));
  }
  std::vector<RoomRow> rows;
  for (std::size_t number = 2; !rest.empty(); ++number) {
    const std::string_view line = take_line(rest);
    if (line.empty()) continue;
    const auto row = parse_row(line);
    if (!row) {
      return quantity::invalid(
          fmt::format("line {}: wanted a time and two numbers, found '{}'", number, line.substr(0, 60)));
    }
    rows.push_back(*row);
  }
  return rows;
}

}  // namespace setwell::decode
