#include "cli/render/piece_text.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace setwell::cli {
namespace {

constexpr int kLabel = 14;

/// A broken limit of the sheet leaves the window's times, and takes the word "safe" from them.
enum class Limits { kept, unfit_air, broken };

Limits limits_of(const api::PieceNow& piece) {
  if (piece.outside_limits.empty()) return Limits::kept;
  const bool all_ahead = std::all_of(piece.outside_limits.begin(), piece.outside_limits.end(),
                                     [](const api::OutsideNow& each) { return each.next_coat; });
  return all_ahead ? Limits::unfit_air : Limits::broken;
}

std::string open_words(const api::RecoatNow& window, Limits limits, const Reading& reading) {
  if (!window.from && window.until)
    return "not surely open before it closes " + reading.moment(*window.until);
  const auto stretch = reading.stretch(window.from, window.until);
  if (stretch.empty()) return "opening not within reach";
  if (limits == Limits::kept) return "safe to recoat " + stretch;
  return "by time alone " + stretch +
         (limits == Limits::broken ? ", but a limit of the sheet was passed"
                                   : ", but this air is outside a limit for the next coat");
}

bool is_over(const api::RecoatNow& window, const Reading& reading) {
  const auto until = window.until ? quantity::parse_rfc3339(*window.until) : std::nullopt;
  return until && *until <= reading.now();
}

std::string window_words(const api::RecoatNow& window, Limits limits, const Reading& reading) {
  if (is_over(window, reading))
    return "closed since " + reading.moment(*window.until) + ": " + spoken(window.else_);
  std::string text;
  if (window.by_touch) {
    text = "opened by your touch, before the sure time";
    if (window.until) text += "; until " + reading.moment(*window.until);
  } else if (!window.sure) {
    text = "no sure window";
    if (window.until) text += "; may close " + reading.moment(*window.until);
  } else {
    text = open_words(window, limits, reading);
  }
  if (window.last_start && window.from) text += "; start by " + reading.moment(*window.last_start);
  if (window.until) text += "; after that " + spoken(window.else_);
  return text;
}

std::string usable_words(const api::RecoatNow& window, const Reading& reading) {
  if (!window.sure || !window.from || window.by_touch) return {};
  const auto until = window.until ? quantity::parse_rfc3339(*window.until) : std::nullopt;
  if (until && *until <= reading.now()) return {};
  if (!window.usable_from) return "no part of it lies in waking hours";
  const bool all = window.usable_from == window.from && window.usable_until == window.until;
  return all ? "" : "in waking hours " + reading.stretch(window.usable_from, window.usable_until);
}

std::string figure(double value, const std::string& unit, const Reading& reading) {
  if (unit == "degC") return reading.temperature(value);
  if (unit == "K") return reading.difference(value);
  return fmt::format("{:.0f} {}", value, unit);
}

std::string when_outside(const api::OutsideNow& outside, const Reading& reading) {
  if (!outside.until) return "since " + reading.moment(outside.since);
  if (*outside.until == outside.since) return reading.moment(outside.since);
  return fmt::format("from {} to {}", reading.moment(outside.since), reading.moment(*outside.until));
}

void write_outside(Page& page, const std::vector<api::OutsideNow>& outside, std::string_view label,
                   const Reading& reading) {
  for (const auto& each : outside) {
    page.pair(std::string("  ") + std::string(label),
              fmt::format("{} {} (sheet: {}), {}", each.what, figure(each.value, each.unit, reading),
                          figure(each.limit, each.unit, reading), when_outside(each, reading)),
              kLabel);
  }
}

/// The sure end is rounded up and the earliest down: never narrower than it was computed.
std::string bounds_words(const api::MilestoneNow& milestone, const Reading& reading) {
  const auto at = [&](const api::ClockNow& clock, core::Minute minute) {
    return clock.at ? reading.moment(*clock.at, minute) : std::string("out of reach");
  };
  const auto surely = at(milestone.slow, core::Minute::next);
  if (milestone.slow.progress >= 1) return "reached, surely by " + surely;
  const double percent = 100 * std::min(1.0, milestone.expected.progress);
  if (!milestone.not_known.empty()) return fmt::format("{:.0f} %, {}", percent, milestone.not_known);
  if (!milestone.expected.at && !milestone.slow.at && !milestone.fast.at)
    return fmt::format("{:.0f} %, not within reach", percent);
  return fmt::format("{:.0f} %, expected {}; earliest {}, surely {}", percent,
                     at(milestone.expected, core::Minute::past), at(milestone.fast, core::Minute::past),
                     surely);
}

std::string trouble_words(const api::TroubleNow& trouble, const Reading& reading) {
  const auto at = quantity::parse_rfc3339(trouble.at);
  const bool ahead = at && *at > reading.now();
  auto text = spoken(trouble.kind) + (ahead ? " from " : " since ") + reading.moment(trouble.at);
  if (trouble.chance) text += fmt::format(", chance {:.0f} %", 100 * *trouble.chance);
  return text;
}

/// How much a silence cost, to the minute.
std::string silence_effect(const api::SilencesNow& silences, const Reading& reading) {
  const auto told = [&](const std::optional<double>& seconds, std::string_view what, std::string_view more) {
    return seconds && *seconds >= 60 ? fmt::format("; {}{}{}", what, reading.seconds(*seconds), more)
                                     : std::string();
  };
  if (silences.narrower_s) {
    const auto text = told(silences.narrower_s, "window ", " narrower");
    return text.empty() ? "; the window is the same to the minute" : text;
  }
  if (const auto later = told(silences.opens_later_s, "opens ", " later"); !later.empty()) return later;
  return told(silences.closes_earlier_s, "closes ", " earlier");
}

std::string silence_words(const api::SilencesNow& silences, const Reading& reading) {
  const auto& last = silences.stretches.back();
  auto text = "no readings " + reading.stretch(last.from, last.until);
  if (silences.stretches.size() > 1)
    text += fmt::format(" and {} times before", silences.stretches.size() - 1);
  return text + silence_effect(silences, reading);
}

void write_window(Page& page, const api::RecoatNow& window, Limits limits, const Reading& reading) {
  const auto top = window.top == "any" ? std::string() : "with " + window.top + ": ";
  page.pair("  recoat", top + window_words(window, limits, reading), kLabel);
  if (is_over(window, reading)) return;
  if (const auto usable = usable_words(window, reading); !usable.empty()) page.pair("", usable, kLabel);
  if (window.test_from && !window.by_touch)
    page.pair("", "worth a touch from " + reading.moment(*window.test_from, core::Minute::next), kLabel);
}

/// When a closed coat can surely be sanded, as long as that lies ahead.
std::string sanding_words(const api::PieceNow& piece, const Reading& reading) {
  const bool closed = !piece.recoat.empty() && is_over(piece.recoat.back(), reading);
  if (!closed || piece.verdict != "wait") return {};
  for (const auto* name : {"sandable", "full-cure"}) {
    for (const auto& milestone : piece.milestones) {
      if (milestone.name != name) continue;
      if (milestone.slow.progress >= 1 || !milestone.slow.at) return {};
      return "sand from " + reading.moment(*milestone.slow.at, core::Minute::next);
    }
  }
  return {};
}

std::string place_words(const api::PieceNow& piece) {
  std::string where = piece.coat ? fmt::format("coat {} {}", *piece.coat, piece.sheet.value_or("")) : "";
  if (piece.zone) where += (where.empty() ? "in " : ", in ") + *piece.zone;
  if (piece.zone && piece.place) where += "/" + *piece.place;
  if (piece.due) where += (where.empty() ? "due " : ", due ") + *piece.due;
  if (piece.recomputing) where += where.empty() ? "being worked out anew" : ", being worked out anew";
  return where;
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const auto& word : words)
    text += (text.empty() ? "" : ", ") + spoken(word);
  return text;
}

}  // namespace

std::string spoken(std::string word) {
  std::replace(word.begin(), word.end(), '-', ' ');
  return word;
}

void write_zone(Page& page, const api::ZoneNow& zone, const Reading& reading) {
  if (!zone.air_c) {
    page.pair(zone.zone, "no readings yet", kLabel);
    return;
  }
  std::string text = reading.temperature(*zone.air_c);
  if (zone.humidity_pct) text += fmt::format("  {:.0f} %", *zone.humidity_pct);
  if (zone.dew_point_c) text += "  dew point " + reading.temperature(*zone.dew_point_c);
  if (zone.age_s) text += "  " + reading.seconds(*zone.age_s) + " ago";
  if (!zone.trusted) text += "  not trusted";
  page.pair(zone.zone, text, kLabel);
}

void write_piece(Page& page, const api::PieceNow& piece, const Reading& reading) {
  std::string head = piece.verdict ? page.bold(spoken(*piece.verdict)) : std::string("no coat yet");
  if (!piece.next.empty()) head += ": " + piece.next;
  page.pair(piece.piece, head, kLabel);
  const auto where = place_words(piece);
  if (!where.empty()) page.pair("", where, kLabel);
  if (!piece.remark.empty()) page.pair("", piece.remark, kLabel);
  const auto limits = limits_of(piece);
  for (const auto& window : piece.recoat)
    write_window(page, window, limits, reading);
  if (const auto sanding = sanding_words(piece, reading); !sanding.empty()) page.pair("", sanding, kLabel);
  if (piece.silences) page.pair("", silence_words(*piece.silences, reading), kLabel);
  write_outside(page, piece.outside_limits, "limit", reading);
  write_outside(page, piece.outside_advised, "advised", reading);
  for (const auto& trouble : piece.trouble)
    page.pair("  trouble", trouble_words(trouble, reading), kLabel);
}

void write_surface(Page& page, const api::PieceNow& piece, const Reading& reading) {
  if (!piece.surface_c) return;
  std::string text = "surface " + reading.temperature(*piece.surface_c);
  if (piece.dew_margin_k) text += ", dew margin " + reading.difference(*piece.dew_margin_k);
  if (piece.dew_margin_error_k) text += " ± " + reading.difference(*piece.dew_margin_error_k);
  page.pair("", text, kLabel);
  if (piece.blush_dose && *piece.blush_dose > 0)
    page.pair("", fmt::format("blush dose {:.2f} (0 to 1, until tack-free)", *piece.blush_dose), kLabel);
  if (piece.condensing_s && *piece.condensing_s >= 1)
    page.pair("", "moisture lay on it for " + reading.seconds(*piece.condensing_s), kLabel);
}

void write_milestones(Page& page, const api::PieceNow& piece, const Reading& reading) {
  constexpr int kName = 24;
  for (const auto& milestone : piece.milestones) {
    auto name = "  " + spoken(milestone.name);
    if (milestone.top && *milestone.top != "any") name += " (" + *milestone.top + ")";
    page.pair(name, bounds_words(milestone, reading), kName);
    if (!milestone.basis.empty()) page.paragraph("rests on: " + joined(milestone.basis), kName);
  }
}

void write_batch(Page& page, const api::BatchNow& batch, const Reading& reading) {
  std::string text = fmt::format("{}, A {:g} g + B {:g} g, mixed {}", batch.sheet, batch.part_a_g,
                                 batch.part_b_g, reading.moment(batch.mixed));
  page.pair(batch.batch, text, kLabel);
  if (batch.left_s.fast) {
    page.pair("",
              batch.open ? fmt::format("at least {} left, expected {}", reading.seconds(*batch.left_s.fast),
                                       reading.seconds(batch.left_s.expected.value_or(0)))
                         : "past its pot life: stop using",
              kLabel);
  }
  if (!batch.remark.empty()) page.pair("", batch.remark, kLabel);
}

void write_notice(Page& page, const api::NoticeNow& notice, const Reading& reading) {
  const auto lead = fmt::format("{:>5}  {}", notice.notice, reading.moment(notice.at));
  page.line(lead + (notice.seen ? "  seen" : ""));
  page.paragraph(page.bold(notice.title), 7);
  if (!notice.text.empty()) page.paragraph(notice.text, 7);
}

}  // namespace setwell::cli
