#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sensors/quantity/instant.hpp"

/// Charts over time for pages: panels under one time axis, lanes for what lasts, numbered marks. Pure
/// geometry first (`lay_out`), which tests can measure; `svg_of` only writes it down. Lengths in SVG user
/// units (px).
namespace setwell::cli {

/// What a line, band, lane or limit looks like. Meaning never rests on colour alone: each has its own stroke
/// pattern and a label. The page's style sheet defines the class `ink-…` of each.
enum class Ink { air, surface, dew, humidity, limit, advised, likely, sure, silence, faint };
[[nodiscard]] std::string_view word(Ink ink);

struct ChartPoint {
  quantity::Instant at;
  double value = 0;
};

/// One quantity; every run is drawn by itself, so a silence stays a gap.
struct ChartLine {
  std::string name;  ///< written at its right end
  Ink ink = Ink::air;
  std::vector<std::vector<ChartPoint>> runs;
};

/// What lies between two values at each moment: bounds of a surface, bands of a forecast.
struct ChartBand {
  Ink ink = Ink::faint;
  struct Slice {
    quantity::Instant at;
    double low = 0, high = 0;
  };
  std::vector<std::vector<Slice>> runs;
};

/// A bound that holds from `from` to `to`.
struct ChartLimit {
  std::string name;  ///< written at the right
  Ink ink = Ink::limit;
  double value = 0;
  quantity::Instant from, to;
};

/// Time in which something was so: a silence, a night. Shaded through all panels.
struct ChartShade {
  std::string name;
  Ink ink = Ink::silence;
  quantity::Instant from, to;
};

struct ChartPanel {
  std::string title;  ///< with the unit, above the axis
  double height = 150;
  std::vector<ChartBand> bands;
  std::vector<ChartLine> lines;
  std::vector<ChartLimit> limits;
  std::optional<double> least, most;  ///< ends of the scale that must be on it
};

/// A row under the panels: one bar from `from` to `to`, with a part that is only likely before and after it.
struct ChartLane {
  std::string name;  ///< written left of the row
  quantity::Instant maybe_from, from, to, maybe_to;
};

/// A numbered moment; what the number means stands in the page's own list.
struct ChartMark {
  quantity::Instant at;
  std::string number;
};

struct Chart {
  std::string title;        ///< for those who cannot see it
  std::string description;  ///< in one or two sentences
  quantity::Instant from, to;
  std::chrono::minutes offset{0};  ///< of the workshop's clock
  bool hours_12 = false;
  std::vector<ChartPanel> panels;
  std::vector<ChartLane> lanes;
  std::vector<ChartShade> shades;
  std::vector<ChartMark> marks;
  double width = 740;
};

struct Box {
  double left = 0, top = 0, right = 0, bottom = 0;
  [[nodiscard]] bool inside(const Box& outer) const {
    return left >= outer.left && right <= outer.right && top >= outer.top && bottom <= outer.bottom;
  }
  [[nodiscard]] bool meets(const Box& other) const {
    return left < other.right && other.left < right && top < other.bottom && other.top < bottom;
  }
};

enum class Anchor { start, middle, end };
struct TextShape {
  double x = 0, y = 0;  ///< on the base line
  Anchor anchor = Anchor::start;
  std::string text;
  std::string kind;  ///< class of the style sheet: tick, name, mark, …
  Box box;           ///< the room it takes, reckoned wide
};
struct PathShape {
  std::string kind;
  std::vector<std::pair<double, double>> points;
  bool closed = false;
};
struct RectShape {
  std::string kind;
  Box box;
  std::string title;  ///< told on hovering and to readers; may be empty
};
struct DotShape {
  double x = 0, y = 0, radius = 0;
  std::string kind;
};
/// A chart in place. Everything lies within 0 … width, 0 … height; no two texts meet.
struct Drawing {
  double width = 0, height = 0;
  std::vector<RectShape> rects;
  std::vector<PathShape> paths;
  std::vector<DotShape> dots;
  std::vector<TextShape> texts;
};

/// `to` must be after `from`. What lies outside [from, to] is cut off.
[[nodiscard]] Drawing lay_out(const Chart& chart);

/// An inline `<svg>` with a title, a description and `role="img"`; no script, no style of its own. `id` is
/// the drawing's own within its page.
[[nodiscard]] std::string svg_of(const Drawing& drawing, std::string_view title, std::string_view description,
                                 std::string_view id = "chart");
/// The rules for the classes it uses, on light paper, for print and for a dark screen.
[[nodiscard]] std::string_view chart_style();

/// Round values from at or below `least` to at or above `most`, at most `count` steps apart evenly.
[[nodiscard]] std::vector<double> round_ticks(double least, double most, int count);
/// Full hours (or days) of the workshop's clock within the span, at most about `count`.
[[nodiscard]] std::vector<quantity::Instant> time_ticks(quantity::Instant from, quantity::Instant to,
                                                        std::chrono::minutes offset, int count);
/// Moves labels along one axis so that none is nearer than `apart` to the next, all within [low, high] as far
/// as they fit, in their order and as little as needed. `wanted` need not be sorted; answers in its order.
[[nodiscard]] std::vector<double> spread_apart(const std::vector<double>& wanted, double apart, double low,
                                               double high);
/// Text for HTML and SVG: & < > " ' escaped; control characters are left out.
[[nodiscard]] std::string escaped(std::string_view text);

}  // namespace setwell::cli
