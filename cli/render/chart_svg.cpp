#include <fmt/format.h>

#include "cli/render/chart.hpp"

namespace setwell::cli {
namespace {

void write(std::string& out, const RectShape& rect) {
  out += fmt::format("<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"",
                     rect.kind, rect.box.left, rect.box.top, rect.box.right - rect.box.left,
                     rect.box.bottom - rect.box.top);
  out += rect.title.empty() ? "/>\n" : "><title>" + escaped(rect.title) + "</title></rect>\n";
}

void write(std::string& out, const PathShape& path) {
  out += fmt::format("<path class=\"{}\" d=\"", path.kind);
  char move = 'M';
  for (const auto& [x, y] : path.points) {
    out += fmt::format("{}{:.1f} {:.1f}", move, x, y);
    move = 'L';
  }
  out += path.closed ? "Z\"/>\n" : "\"/>\n";
}

void write(std::string& out, const DotShape& dot) {
  out += fmt::format("<circle class=\"{}\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\"/>\n", dot.kind, dot.x,
                     dot.y, dot.radius);
}

void write(std::string& out, const TextShape& text) {
  const char* anchor = text.anchor == Anchor::start    ? "start"
                       : text.anchor == Anchor::middle ? "middle"
                                                       : "end";
  out += fmt::format("<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n", text.kind,
                     text.x, text.y, anchor, escaped(text.text));
}

}  // namespace

std::string svg_of(const Drawing& drawing, std::string_view title, std::string_view description,
                   std::string_view id) {
  std::string out = fmt::format(
      "<svg role=\"img\" aria-labelledby=\"{0}-title {0}-description\" viewBox=\"0 0 {1:.0f} {2:.0f}\" "
      "width=\"{1:.0f}\" height=\"{2:.0f}\" xmlns=\"http://www.w3.org/2000/svg\">\n"
      "<title id=\"{0}-title\">{3}</title>\n<desc id=\"{0}-description\">{4}</desc>\n",
      escaped(id), drawing.width, drawing.height, escaped(title), escaped(description));
  for (const auto& rect : drawing.rects)
    write(out, rect);
  for (const auto& path : drawing.paths)
    write(out, path);
  for (const auto& dot : drawing.dots)
    write(out, dot);
  for (const auto& text : drawing.texts)
    write(out, text);
  return out + "</svg>\n";
}

std::string_view chart_style() {
  return R"(svg{max-width:100%;height:auto;display:block}
svg text{font:11px system-ui,sans-serif;fill:var(--ink)}
svg .panel{font-weight:600}
svg .mark{font-size:10px;fill:var(--paper);font-weight:600}
svg .plot{fill:none;stroke:var(--rule)}
svg .grid{fill:none;stroke:var(--rule);stroke-width:.6}
svg .line{fill:none;stroke-width:1.8;stroke-linejoin:round}
svg .leader{fill:none;stroke-width:1.4}
svg .line.ink-air,svg .leader.ink-air{stroke:var(--air)}
svg .line.ink-surface,svg .leader.ink-surface{stroke:var(--surface);stroke-dasharray:7 2}
svg .line.ink-dew,svg .leader.ink-dew{stroke:var(--dew);stroke-dasharray:2 2}
svg .line.ink-humidity,svg .leader.ink-humidity{stroke:var(--dew)}
svg .line.ink-limit,svg .leader.ink-limit{stroke:var(--limit);stroke-dasharray:10 3 2 3;stroke-width:1.4}
svg .line.ink-advised,svg .leader.ink-advised{stroke:var(--advised);stroke-dasharray:4 4;stroke-width:1.2}
svg .line.ink-likely,svg .leader.ink-likely{stroke:var(--air);stroke-dasharray:1 3}
svg .line.ink-sure,svg .leader.ink-sure{stroke:var(--ink)}
svg .dot{fill:var(--ink)}
svg .band{stroke:none;fill:var(--surface);fill-opacity:.16}
svg .shade{fill:var(--ink);fill-opacity:.09}
svg .lane-maybe{fill:var(--surface);fill-opacity:.35}
svg .lane-sure{fill:var(--surface)}
svg .mark-dot{fill:var(--ink)}
svg .mark-line{fill:none;stroke:var(--ink);stroke-width:.7;stroke-dasharray:1 2}
)";
}

}  // namespace setwell::cli
