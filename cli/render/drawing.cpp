#include "cli/render/drawing.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <string_view>

#include <fmt/format.h>

#include "cli/render/page.hpp"

namespace setwell::cli {
namespace {

constexpr int kRows = 9;
constexpr int kScale = 7;
/// A still day is not blown up to the drawing's full height.
constexpr double kLeastSpan = 3;
/// A limit this far outside of what the air does is only named.
constexpr double kNearLimit = 5;
constexpr int kHoursPerMark = 6;
/// Bars of the dew margin end here, K: more is plenty.
constexpr double kMostMargin = 16;
constexpr std::string_view kLetters = "abcdefghij";

/// One hour: what was, or what is foretold.
struct Column {
  std::string at;
  std::optional<double> least, most;
  std::optional<api::BandNow> band;
  std::optional<double> humidity, margin;
  bool night = false;
  bool silent = false;
};

struct Line {
  double value;
  char letter;
};

struct Scale {
  double low = 0;
  double high = 0;
  [[nodiscard]] bool any() const { return high > low; }
  [[nodiscard]] double step() const { return (high - low) / kRows; }
  /// The row, from the bottom, that a temperature falls into; it may lie outside.
  [[nodiscard]] int row(double celsius) const {
    return static_cast<int>(std::floor((celsius - low) / step()));
  }
};

bool in_a_night(const std::vector<api::AirStretch>& nights, const std::string& at) {
  const auto moment = quantity::parse_rfc3339(at);
  return std::any_of(nights.begin(), nights.end(), [&](const api::AirStretch& night) {
    const auto from = quantity::parse_rfc3339(night.from);
    const auto until = quantity::parse_rfc3339(night.until);
    return moment && from && until && *from <= *moment && *moment < *until;
  });
}

std::vector<Column> columns_of(const api::AirZone& zone) {
  std::vector<Column> all;
  for (const auto& hour : zone.last_day)
    all.push_back({hour.from, hour.least_c, hour.most_c, std::nullopt, hour.mean_pct, hour.dew_margin_k,
                   in_a_night(zone.nights, hour.from), hour.silent});
  if (!zone.forecast) return all;
  // The first step is now, which the last day has.
  for (std::size_t i = 1; i < zone.forecast->steps.size(); ++i) {
    const auto& step = zone.forecast->steps[i];
    Column column{step.at, std::nullopt, std::nullopt, step.air_c, {}, {}, false, false};
    if (step.humidity_pct) column.humidity = step.humidity_pct->median;
    if (step.dew_margin_k) column.margin = step.dew_margin_k->median;
    column.night = in_a_night(zone.nights, step.at);
    all.push_back(std::move(column));
  }
  return all;
}

Scale scale_of(const std::vector<Column>& hours) {
  std::optional<Scale> scale;
  const auto take = [&](double low, double high) {
    if (!scale) scale = Scale{low, high};
    scale->low = std::min(scale->low, low);
    scale->high = std::max(scale->high, high);
  };
  for (const auto& hour : hours) {
    if (hour.least && hour.most) take(*hour.least, *hour.most);
    if (hour.band) take(hour.band->p5, hour.band->p95);
  }
  return scale.value_or(Scale{});
}

Scale with_limits(Scale scale, const std::vector<api::AirLimit>& limits) {
  const auto before = scale;
  for (const auto& limit : limits) {
    const bool near = limit.value > before.low - kNearLimit && limit.value < before.high + kNearLimit;
    if (limit.unit != "degC" || !near) continue;
    scale.low = std::min(scale.low, limit.value);
    scale.high = std::max(scale.high, limit.value);
  }
  const double middle = (scale.low + scale.high) / 2;
  // A little more, so that the ends of the scale are not on the edge of a row.
  const double half = 0.52 * std::max(kLeastSpan, scale.high - scale.low);
  return {middle - half, middle + half};
}

std::vector<Line> lines_of(const std::vector<api::AirLimit>& limits) {
  std::vector<Line> lines;
  for (const auto& limit : limits)
    if (limit.unit == "degC" && lines.size() < kLetters.size())
      lines.push_back({limit.value, kLetters[lines.size()]});
  return lines;
}

std::string_view past_cell(const Column& hour, int row, const Scale& scale) {
  const double middle = scale.low + (row + 0.5) * scale.step();
  const bool lower = *hour.least < middle && scale.row(*hour.most) >= row && scale.row(*hour.least) <= row;
  const bool upper = *hour.most >= middle && scale.row(*hour.most) >= row && scale.row(*hour.least) <= row;
  if (lower && upper) return "█";
  if (lower) return "▄";
  return upper ? "▀" : "";
}

std::string_view ahead_cell(const api::BandNow& band, int row, const Scale& scale) {
  if (scale.row(band.median) == row) return "━";
  if (row >= scale.row(band.p25) && row <= scale.row(band.p75)) return "▒";
  return row >= scale.row(band.p5) && row <= scale.row(band.p95) ? "░" : "";
}

std::string_view cell(const Column& hour, int row, const Scale& scale, bool limit) {
  std::string_view drawn;
  if (hour.band) drawn = ahead_cell(*hour.band, row, scale);
  if (hour.least && hour.most) drawn = past_cell(hour, row, scale);
  if (!drawn.empty()) return drawn;
  if (limit) return "╌";
  return hour.night ? "·" : " ";
}

std::string without_end_spaces(std::string text) {
  text.erase(text.find_last_not_of(' ') + 1);
  return text;
}

std::string right(std::string_view text) {
  return std::string(static_cast<std::size_t>(std::max(0, kScale - columns(text))), ' ') + std::string(text);
}

std::string label_of(int row, const Scale& scale, const Reading& reading) {
  const bool told = row == 0 || row == kRows / 2 || row == kRows - 1;
  return told ? reading.temperature(scale.low + (row + 0.5) * scale.step()) : "";
}

std::string temperature_row(const std::vector<Column>& hours, int row, const Scale& scale,
                            const std::vector<Line>& lines, const Reading& reading) {
  const auto line =
      std::find_if(lines.begin(), lines.end(), [&](const Line& l) { return scale.row(l.value) == row; });
  auto text = right(label_of(row, scale, reading));
  text += line == lines.end() ? std::string("│") : std::string(1, line->letter);
  for (const auto& hour : hours)
    text += cell(hour, row, scale, line != lines.end());
  return without_end_spaces(std::move(text));
}

std::string base_line(const std::vector<Column>& hours) {
  auto line = right("") + "└";
  for (std::size_t i = 0; i < hours.size(); ++i) {
    const bool now = hours[i].band && (i == 0 || !hours[i - 1].band);
    line += now ? "┴" : hours[i].silent ? "x" : "─";
  }
  return line;
}

std::string bars(std::string_view name, const std::vector<Column>& hours, double most,
                 std::optional<double> Column::*value) {
  constexpr std::array<std::string_view, 8> kBars{"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  auto line = right(name) + " ";
  bool any = false;
  for (const auto& hour : hours) {
    const auto& level = hour.*value;
    any = any || level;
    const auto height = std::clamp(static_cast<int>(level.value_or(0) * 8 / most), 0, 7);
    line += level ? kBars.at(static_cast<std::size_t>(height)) : " ";
  }
  return any ? without_end_spaces(line) : std::string();
}

/// The hour by the clock on the wall.
int hour_of_day(const std::string& at) {
  const auto civil = quantity::parse_civil(at);
  if (!civil) return 0;
  const auto day = std::chrono::floor<std::chrono::days>(civil->local);
  return static_cast<int>(std::chrono::floor<std::chrono::hours>(civil->local - day).count());
}

std::string hour_marks(const std::vector<Column>& hours, const Reading& reading) {
  std::string marks(hours.size() + kScale, ' ');
  for (std::size_t i = 0; i < hours.size(); ++i) {
    if (hour_of_day(hours[i].at) % kHoursPerMark != 0) continue;
    const auto text = reading.hour(hours[i].at);
    marks.replace(i, text.size(), text);
  }
  return without_end_spaces(right("hour") + " " + marks);
}

std::string names(const std::vector<std::string>& pieces) {
  std::string text;
  for (const auto& piece : pieces)
    text += (text.empty() ? "" : ", ") + piece;
  return text;
}

std::string limit_value(const api::AirLimit& limit, const Reading& reading) {
  if (limit.unit == "degC") return reading.temperature(limit.value);
  if (limit.unit == "K") return reading.difference(limit.value);
  return fmt::format("{:.0f} %", limit.value);
}

void add_text(std::vector<std::string>& lines, std::string lead, const std::string& text) {
  for (const auto& part : wrapped(text, kPageWidth - kScale - 2)) {
    lines.push_back(without_end_spaces(lead + " " + part));
    lead.assign(kScale + 1, ' ');
  }
}

std::string signs_of(const api::AirZone& zone, const std::vector<Column>& hours, const Reading& reading) {
  std::string signs;
  const auto add = [&](const std::string& text) { signs += (signs.empty() ? "" : "; ") + text; };
  const auto any = [&](auto test) { return std::any_of(hours.begin(), hours.end(), test); };
  if (zone.forecast) add("━ likeliest, ▒ 1 in 2, ░ 9 in 10");
  if (any([](const Column& hour) { return hour.night; })) add("· outside waking hours");
  if (any([](const Column& hour) { return hour.silent; })) add("x no readings");
  if (any([](const Column& hour) { return hour.humidity.has_value(); })) add("RH from 0 to 100 %");
  if (any([](const Column& hour) { return hour.margin.has_value(); }))
    add("dew margin from 0 to " + reading.difference(kMostMargin));
  return signs;
}

void add_legend(const api::AirZone& zone, const std::vector<Column>& hours, const Scale& scale,
                const Reading& reading, std::vector<std::string>& lines) {
  add_text(lines, right("") + " ", signs_of(zone, hours, reading));
  std::size_t letter = 0;
  for (const auto& limit : zone.limits) {
    const bool lettered = limit.unit == "degC" && letter < kLetters.size();
    const auto sign = lettered ? std::string(1, kLetters[letter++]) : std::string(" ");
    const int row = scale.row(limit.value);
    auto text = limit.what + " " + limit_value(limit, reading) + ": " + names(limit.pieces);
    if (lettered && row < 0) text += " (below this drawing)";
    if (lettered && row >= kRows) text += " (above this drawing)";
    add_text(lines, right("") + sign, text);
  }
}

}  // namespace

std::vector<std::string> draw_air(const api::AirZone& zone, const Reading& reading) {
  const auto hours = columns_of(zone);
  const auto plain = scale_of(hours);
  const bool told =
      std::any_of(hours.begin(), hours.end(), [](const Column& hour) { return hour.least || hour.band; });
  if (!told) return {};
  const auto scale = with_limits(plain, zone.limits);
  const auto limits = lines_of(zone.limits);
  std::vector<std::string> lines;
  for (int row = kRows - 1; row >= 0; --row)
    lines.push_back(temperature_row(hours, row, scale, limits, reading));
  lines.push_back(base_line(hours));
  lines.push_back(hour_marks(hours, reading));
  for (auto& row :
       {bars("RH", hours, 100, &Column::humidity), bars("dew", hours, kMostMargin, &Column::margin)})
    if (!row.empty()) lines.push_back(row);
  add_legend(zone, hours, scale, reading, lines);
  return lines;
}

}  // namespace setwell::cli
