#include "daemon/core/morning_list.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "daemon/core/notice_lines.hpp"

namespace setwell::core {
namespace {

/// The lines of a notice that are cautions.
std::vector<std::string> cautions_in(const std::string& body) {
  std::vector<std::string> found;
  for (const auto caution : {kDust, kFlame, kSkin, kIsocyanate, kLeftovers}) {
    if (body.find(caution) != std::string::npos) found.emplace_back(caution);
  }
  return found;
}

std::set<quantity::PieceId> spoken_of(const Telling& telling) {
  std::set<quantity::PieceId> pieces;
  for (const auto& each : telling.with)
    pieces.insert(each.fact.content.pieces.begin(), each.fact.content.pieces.end());
  return pieces;
}

/// A line of the list without the pieces that a telling of the night names already.
ListedAct without(ListedAct act, const std::set<quantity::PieceId>& spoken) {
  std::erase_if(act.pieces, [&](const auto& piece) { return spoken.contains(piece); });
  return act;
}

/// What became true in the night, a line each, and the cautions that belong to it.
std::vector<std::string> night_lines(const Telling& telling, quantity::Instant now, const Display& display,
                                     std::vector<std::string>& cautions) {
  std::vector<std::string> lines;
  for (const auto& each : telling.with) {
    const auto text = notice_text(each, now, display);
    const auto& mix_by = each.fact.content.mix_by;
    const bool mixes = mix_by && each.fact.kind == NoticeKind::safe_to_recoat;
    lines.push_back(text.title + (mixes ? ", start mixing by " + moment(*mix_by, now, display) : ""));
    const auto& content = each.fact.content;
    if (content.without_end) lines.back() += ", no end";
    if (each.fact.kind == NoticeKind::touch_test && content.sure && !content.by_touch && content.from)
      lines.back() += "; surely open " + stretch(content.from, content.until, now, display);
    for (auto& caution : cautions_in(text.body)) {
      if (std::find(cautions.begin(), cautions.end(), caution) == cautions.end())
        cautions.push_back(std::move(caution));
    }
  }
  return lines;
}

}  // namespace

NoticeText morning_text(const Telling& telling, quantity::Instant now, const Display& display) {
  NoticeLines words(telling, now, display);
  const auto& content = telling.fact.content;
  const auto spoken = spoken_of(telling);
  std::vector<std::string> cautions;
  auto lines = night_lines(telling, now, display, cautions);
  for (const auto& act : content.list) {
    const auto left = without(act, spoken);
    if (left.pieces.empty()) continue;
    const auto window = words.window_of(left);
    lines.push_back(fmt::format("{}: {}{}{}", NoticeLines::names(left.pieces), left.act,
                                window.empty() ? "" : ", ", window));
  }
  for (const auto& line : lines)
    words.line(line + ".");
  if (content.coldest && content.coldest_at) {
    words.line(fmt::format("Tonight's coldest hour, if it goes as last night: {} about {} ({}).",
                           show(*content.coldest, display), clock_time(*content.coldest_at, display),
                           content.zone));
  }
  for (auto& caution : cautions)
    words.line(std::move(caution));
  return {NoticeLines::shortened(fmt::format(
              "Today, {}: {}", lines.size() == 1 ? "1 thing" : fmt::format("{} things", lines.size()),
              lines.empty() ? "nothing" : lines.front())),
          std::move(words).body()};
}

}  // namespace setwell::core
