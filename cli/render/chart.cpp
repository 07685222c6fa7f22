#include "cli/render/chart.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>

#include <fmt/format.h>

namespace setwell::cli {

using quantity::Instant;

namespace {

constexpr double kLeft = 118, kRight = 128, kTop = 8, kAxis = 34, kPanelGap = 24, kLaneHeight = 15;
constexpr double kMarkRadius = 7.5, kMarkRow = 17;
constexpr double kTextSize = 11;

/// Wide enough for any common face: more than a letter takes on average.
double text_width(std::string_view text) {
  const auto letters = std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; });
  return static_cast<double>(letters) * kTextSize * 0.60;
}

TextShape text_at(double x, double y, Anchor anchor, std::string text, std::string kind) {
  TextShape shape{x, y, anchor, std::move(text), std::move(kind), {}};
  const double width = text_width(shape.text);
  const double left = anchor == Anchor::start ? x : anchor == Anchor::middle ? x - width / 2 : x - width;
  shape.box = {left, y - kTextSize * 0.85, left + width, y + kTextSize * 0.25};
  return shape;
}

/// Shortened to a width, so that a long name never leaves its margin.
std::string fitted(std::string text, double width) {
  if (text_width(text) <= width) return text;
  while (!text.empty() && text_width(text) > width - kTextSize * 0.6) {
    while (!text.empty() && (text.back() & 0xC0) == 0x80)
      text.pop_back();
    if (!text.empty()) text.pop_back();
  }
  return text + "…";
}

struct TimeScale {
  Instant from, to;
  double left, right;
  [[nodiscard]] double x(Instant at) const {
    const double share = quantity::Seconds(at - from) / quantity::Seconds(to - from);
    return left + (right - left) * std::clamp(share, 0.0, 1.0);
  }
  [[nodiscard]] bool holds(Instant at) const { return at >= from && at <= to; }
};

struct ValueScale {
  double least, most, top, bottom;
  [[nodiscard]] double y(double value) const {
    const double share = (std::clamp(value, least, most) - least) / (most - least);
    return bottom - (bottom - top) * share;
  }
};

struct Range {
  std::optional<double> least, most;
  void take(double value) {
    least = std::min(least.value_or(value), value);
    most = std::max(most.value_or(value), value);
  }
};

Range range_of(const ChartPanel& panel, const TimeScale& time) {
  Range range;
  for (const auto& line : panel.lines) {
    for (const auto& run : line.runs) {
      for (const auto& point : run)
        if (time.holds(point.at)) range.take(point.value);
    }
  }
  for (const auto& band : panel.bands) {
    for (const auto& run : band.runs) {
      for (const auto& slice : run) {
        if (!time.holds(slice.at)) continue;
        range.take(slice.low);
        range.take(slice.high);
      }
    }
  }
  for (const auto& limit : panel.limits)
    range.take(limit.value);
  if (panel.least) range.take(*panel.least);
  if (panel.most) range.take(*panel.most);
  return range;
}

/// Where a run crosses an end of the chart it is cut there.
std::vector<ChartPoint> cut(const std::vector<ChartPoint>& run, const TimeScale& time) {
  std::vector<ChartPoint> kept;
  const auto between = [](const ChartPoint& a, const ChartPoint& b, Instant at) {
    const double share = quantity::Seconds(at - a.at) / quantity::Seconds(b.at - a.at);
    return ChartPoint{at, a.value + share * (b.value - a.value)};
  };
  for (std::size_t i = 0; i < run.size(); ++i) {
    if (i > 0 && run[i - 1].at < time.from && run[i].at > time.from)
      kept.push_back(between(run[i - 1], run[i], time.from));
    if (time.holds(run[i].at)) kept.push_back(run[i]);
    if (i > 0 && run[i - 1].at < time.to && run[i].at > time.to)
      kept.push_back(between(run[i - 1], run[i], time.to));
  }
  return kept;
}

class Layout {
 public:
  explicit Layout(const Chart& chart)
      : chart_(chart), time_{chart.from, chart.to, kLeft, chart.width - kRight} {
    drawing_.width = chart.width;
  }

  Drawing make() {
    double y = marks(kTop);
    const double panels_top = y;
    for (const auto& panel : chart_.panels)
      y = this->panel(panel, y);
    const double panels_bottom = y;
    y = lanes(y);
    y = axis(y, panels_top, panels_bottom);
    shades(panels_top, panels_bottom);
    drawing_.height = y;
    return std::move(drawing_);
  }

 private:
  /// Numbers above the panels; one that would touch its neighbour goes a row higher.
  double marks(double top) {
    std::vector<std::pair<double, const ChartMark*>> inside;
    for (const auto& mark : chart_.marks) {
      if (time_.holds(mark.at)) inside.emplace_back(time_.x(mark.at), &mark);
    }
    std::stable_sort(inside.begin(), inside.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<double> row_ends;
    std::vector<std::pair<std::size_t, std::pair<double, const ChartMark*>>> rows;
    for (const auto& entry : inside) {
      std::size_t row = 0;
      while (row < row_ends.size() && row_ends[row] > entry.first - kMarkRadius - 1)
        ++row;
      if (row == row_ends.size()) row_ends.push_back(0);
      row_ends[row] = entry.first + kMarkRadius + 1;
      rows.emplace_back(row, entry);
    }
    const double bottom = top + kMarkRow * static_cast<double>(row_ends.size());
    for (const auto& [row, entry] : rows) {
      const double y = bottom - kMarkRow * (static_cast<double>(row) + 0.5);
      drawing_.dots.push_back({entry.first, y, kMarkRadius, "mark-dot"});
      auto number = text_at(entry.first, y + 3.6, Anchor::middle, entry.second->number, "mark");
      drawing_.texts.push_back(std::move(number));
      mark_lines_.emplace_back(entry.first, y + kMarkRadius);
    }
    return bottom + 4;
  }

  double panel(const ChartPanel& panel, double top) {
    const double plot_top = top + kPanelGap - 6;
    const double bottom = plot_top + panel.height;
    drawing_.texts.push_back(text_at(kLeft, plot_top - 6, Anchor::start, panel.title, "panel"));
    drawing_.rects.push_back({"plot", {kLeft, plot_top, chart_.width - kRight, bottom}, {}});
    const Range range = range_of(panel, time_);
    if (!range.least) {
      drawing_.texts.push_back(text_at((kLeft + chart_.width - kRight) / 2, (plot_top + bottom) / 2,
                                       Anchor::middle, "nothing recorded", "name"));
      return bottom;
    }
    const auto ticks = round_ticks(*range.least, *range.most, static_cast<int>(panel.height / 28));
    const ValueScale scale{ticks.front(), ticks.back(), plot_top, bottom};
    for (const double tick : ticks) {
      drawing_.paths.push_back({"grid", {{kLeft, scale.y(tick)}, {chart_.width - kRight, scale.y(tick)}}});
      drawing_.texts.push_back(
          text_at(kLeft - 5, scale.y(tick) + 3.6, Anchor::end, fmt::format("{:g}", tick), "tick"));
    }
    for (const auto& band : panel.bands)
      draw(band, scale);
    for (const auto& limit : panel.limits)
      draw(limit, scale);
    for (const auto& line : panel.lines)
      draw(line, scale);
    names(plot_top, bottom);
    return bottom;
  }

  void draw(const ChartBand& band, const ValueScale& scale) {
    for (const auto& run : band.runs) {
      PathShape shape{"band ink-" + std::string(word(band.ink)), {}, true};
      for (const auto& slice : run)
        if (time_.holds(slice.at)) shape.points.emplace_back(time_.x(slice.at), scale.y(slice.high));
      for (auto slice = run.rbegin(); slice != run.rend(); ++slice)
        if (time_.holds(slice->at)) shape.points.emplace_back(time_.x(slice->at), scale.y(slice->low));
      if (shape.points.size() > 3) drawing_.paths.push_back(std::move(shape));
    }
  }

  void draw(const ChartLimit& limit, const ValueScale& scale) {
    if (limit.to < time_.from || limit.from > time_.to) return;
    const double y = scale.y(limit.value);
    drawing_.paths.push_back(
        {"line ink-" + std::string(word(limit.ink)), {{time_.x(limit.from), y}, {time_.x(limit.to), y}}});
    names_.push_back({y, limit.name, limit.ink});
  }

  void draw(const ChartLine& line, const ValueScale& scale) {
    std::optional<double> end;
    for (const auto& run : line.runs) {
      PathShape shape{"line ink-" + std::string(word(line.ink)), {}};
      for (const auto& point : cut(run, time_))
        shape.points.emplace_back(time_.x(point.at), scale.y(point.value));
      if (shape.points.empty()) continue;
      end = shape.points.back().second;
      if (shape.points.size() == 1) {
        drawing_.dots.push_back(
            {shape.points[0].first, shape.points[0].second, 2, "dot ink-" + std::string(word(line.ink))});
      } else {
        drawing_.paths.push_back(std::move(shape));
      }
    }
    if (end) names_.push_back({*end, line.name, line.ink});
  }

  /// Names at the right, beside what they name or as near as they can stand.
  void names(double top, double bottom) {
    std::vector<double> wanted;
    for (const auto& name : names_)
      wanted.push_back(name.y);
    const double room = bottom - top + kPanelGap / 2;
    const double apart =
        std::min(kTextSize * 1.2, room / std::max<double>(1, static_cast<double>(wanted.size())));
    const auto placed = spread_apart(wanted, apart, top, bottom);
    const double right = chart_.width - kRight;
    for (std::size_t i = 0; i < names_.size(); ++i) {
      const std::string ink(word(names_[i].ink));
      drawing_.paths.push_back(
          {"leader ink-" + ink, {{right + 1, names_[i].y}, {right + 7, placed[i]}, {right + 18, placed[i]}}});
      auto text =
          text_at(right + 21, placed[i] + 3.6, Anchor::start, fitted(names_[i].text, kRight - 23), "name");
      drawing_.texts.push_back(std::move(text));
    }
    names_.clear();
  }

  double lanes(double top) {
    if (chart_.lanes.empty()) return top;
    double y = top + 8;
    for (const auto& lane : chart_.lanes) {
      const double middle = y + kLaneHeight / 2;
      drawing_.texts.push_back(
          text_at(kLeft - 5, middle + 3.6, Anchor::end, fitted(lane.name, kLeft - 8), "name"));
      drawing_.paths.push_back({"grid", {{kLeft, middle}, {chart_.width - kRight, middle}}});
      bar("lane-maybe", lane.maybe_from, lane.maybe_to, middle, 3.0);
      bar("lane-sure", lane.from, lane.to, middle, 4.5);
      y += kLaneHeight;
    }
    return y;
  }

  void bar(std::string kind, Instant from, Instant to, double middle, double half) {
    if (to < time_.from || from > time_.to || to <= from) return;
    drawing_.rects.push_back(
        {std::move(kind), {time_.x(from), middle - half, time_.x(to), middle + half}, {}});
  }

  double axis(double top, double panels_top, double panels_bottom) {
    const double bottom = top + kAxis;
    double free_from = 0;
    for (const auto at : time_ticks(time_.from, time_.to, chart_.offset, 9)) {
      const double x = time_.x(at);
      drawing_.paths.push_back({"grid", {{x, panels_top + kPanelGap - 6}, {x, top + 4}}});
      auto hour = text_at(x, top + 15, Anchor::middle, hour_text(at), "tick");
      auto day = text_at(x, top + 28, Anchor::middle, day_text(at), "tick");
      const bool fresh = day.text != last_day_;
      if (hour.box.left < free_from || (fresh && day.box.left < free_from)) continue;
      free_from = hour.box.right + 3;
      if (fresh) {
        free_from = std::max(free_from, day.box.right + 3);
        last_day_ = day.text;
        drawing_.texts.push_back(std::move(day));
      }
      drawing_.texts.push_back(std::move(hour));
    }
    for (const auto& [x, y] : mark_lines_)
      drawing_.paths.push_back({"mark-line", {{x, y}, {x, panels_bottom}}});
    return bottom;
  }

  void shades(double top, double bottom) {
    std::vector<RectShape> behind;
    for (const auto& shade : chart_.shades) {
      if (shade.to <= time_.from || shade.from >= time_.to) continue;
      behind.push_back({"shade ink-" + std::string(word(shade.ink)),
                        {time_.x(shade.from), top + kPanelGap - 6, time_.x(shade.to), bottom},
                        shade.name});
    }
    drawing_.rects.insert(drawing_.rects.end(), std::make_move_iterator(behind.begin()),
                          std::make_move_iterator(behind.end()));
  }

  [[nodiscard]] std::string hour_text(Instant at) const {
    const auto local = at + chart_.offset;
    const auto day = std::chrono::floor<std::chrono::days>(local);
    const auto hour = static_cast<int>(std::chrono::duration_cast<std::chrono::hours>(local - day).count());
    if (!chart_.hours_12) return fmt::format("{:02}", hour);
    return fmt::format("{}{}", hour % 12 == 0 ? 12 : hour % 12, hour < 12 ? "am" : "pm");
  }
  [[nodiscard]] std::string day_text(Instant at) const {
    static constexpr std::string_view kDays[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
    const auto day = std::chrono::floor<std::chrono::days>(at + chart_.offset);
    const std::chrono::year_month_day date(day);
    return fmt::format("{} {}.{}.", kDays[std::chrono::weekday(day).c_encoding()],
                       static_cast<unsigned>(date.day()), static_cast<unsigned>(date.month()));
  }

  struct Name {
    double y;
    std::string text;
    Ink ink;
  };
  const Chart& chart_;
  TimeScale time_;
  Drawing drawing_;
  std::vector<Name> names_;
  std::vector<std::pair<double, double>> mark_lines_;
  std::string last_day_;
};

}  // namespace

std::string_view word(Ink ink) {
  switch (ink) {
    case Ink::air:
      return "air";
    case Ink::surface:
      return "surface";
    case Ink::dew:
      return "dew";
    case Ink::humidity:
      return "humidity";
    case Ink::limit:
      return "limit";
    case Ink::advised:
      return "advised";
    case Ink::likely:
      return "likely";
    case Ink::sure:
      return "sure";
    case Ink::silence:
      return "silence";
    case Ink::faint:
      return "faint";
  }
  return "faint";
}

Drawing lay_out(const Chart& chart) {
  return Layout(chart).make();
}

}  // namespace setwell::cli
