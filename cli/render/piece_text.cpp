#include "cli/render/piece_text.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace setwell::cli {
namespace {

constexpr int kLabel = 14;

/// `no-readings` as people say it.
std::string spoken(std::string word) {
  std::replace(word.begin(), word.end(), '-', ' ');
  return word;
}

std::string window_words(const api::RecoatNow& window, const Reading& reading) {
  std::string text;
  if (window.by_touch) {
    text = "opened by your touch, before the sure time";
    if (window.until) text += "; until " + reading.moment(*window.until);
  } else if (!window.sure) {
    text = "no sure window";
    if (window.until) text += "; may close " + reading.moment(*window.until);
  } else {
    const auto stretch = reading.stretch(window.from, window.until);
    text = stretch.empty() ? "not within reach" : "safe to recoat " + stretch;
    if (!window.from && window.until) text = "not surely open before it closes " + reading.moment(*window.until);
  }
  if (window.last_start && window.from) text += ", start by " + reading.moment(*window.last_start);
  return text;
}

std::string usable_words(const api::RecoatNow& window, const Reading& reading) {
  if (!window.sure || !window.from || window.by_touch) return {};
  if (!window.usable_from) return "no part of it lies in waking hours";
  const bool all = window.usable_from == window.from && window.usable_until == window.until;
  return all ? "" : "in waking hours " + reading.stretch(window.usable_from, window.usable_until);
}

std::string figure(double value, const std::string& unit, const Reading& reading) {
  if (unit == "degC") return reading.temperature(value);
  if (unit == "K") return reading.difference(value);
  return fmt::format("{:.0f} {}", value, unit);
}

void write_outside(Page& page, const std::vector<api::OutsideNow>& outside, std::string_view label,
                   const Reading& reading) {
  for (const auto& each : outside) {
    page.pair(std::string("  ") + std::string(label),
              fmt::format("{} {} (sheet: {}), since {}", each.what, figure(each.value, each.unit, reading),
                          figure(each.limit, each.unit, reading), reading.moment(each.since)),
              kLabel);
  }
}

std::string bounds_words(const api::MilestoneNow& milestone, const Reading& reading) {
  const auto at = [&](const api::ClockNow& clock) {
    return clock.at ? reading.moment(*clock.at) : std::string("out of reach");
  };
  if (milestone.slow.progress >= 1) return "reached, surely by " + at(milestone.slow);
  return fmt::format("{:3.0f} %  expected {}; between {} and {}", 100 * std::min(1.0, milestone.expected.progress),
                     at(milestone.expected), at(milestone.fast), at(milestone.slow));
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const auto& word : words)
    text += (text.empty() ? "" : ", ") + spoken(word);
  return text;
}

}  // namespace

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
  std::string where = piece.coat ? fmt::format("coat {} {}", *piece.coat, piece.sheet.value_or("")) : "";
  if (piece.zone) where += (where.empty() ? "in " : ", in ") + *piece.zone;
  if (piece.due) where += (where.empty() ? "due " : ", due ") + *piece.due;
  if (piece.recomputing) where += ", being worked out anew";
  if (!where.empty()) page.pair("", where, kLabel);
  if (!piece.remark.empty()) page.pair("", piece.remark, kLabel);
  for (const auto& window : piece.recoat) {
    page.pair("  " + (window.top == "any" ? "recoat" : window.top), "", 0);
    page.pair("", window_words(window, reading), kLabel);
    if (const auto usable = usable_words(window, reading); !usable.empty()) page.pair("", usable, kLabel);
    if (window.test_from && !window.by_touch) {
      page.pair("", "worth a touch from " + reading.moment(*window.test_from, core::Minute::next), kLabel);
    }
  }
  write_outside(page, piece.outside_limits, "limit", reading);
  write_outside(page, piece.outside_advised, "advised", reading);
  for (const auto& trouble : piece.trouble)
    page.pair("  trouble", spoken(trouble.kind) + " since " + reading.moment(trouble.at), kLabel);
}

void write_milestones(Page& page, const api::PieceNow& piece, const Reading& reading) {
  for (const auto& milestone : piece.milestones) {
    auto name = spoken(milestone.name);
    if (milestone.top && *milestone.top != "any") name += " (" + *milestone.top + ")";
    page.line("  " + padded(name, 22) + bounds_words(milestone, reading));
    if (!milestone.basis.empty()) page.line("  " + padded("", 22) + "rests on: " + joined(milestone.basis));
  }
}

void write_batch(Page& page, const api::BatchNow& batch, const Reading& reading) {
  std::string text = fmt::format("{}, A {:g} g + B {:g} g, mixed {}", batch.sheet, batch.part_a_g, batch.part_b_g,
                                 reading.moment(batch.mixed));
  page.pair(batch.batch, text, kLabel);
  if (batch.left_s.fast) {
    page.pair("", batch.open ? fmt::format("at least {} left, expected {}", reading.seconds(*batch.left_s.fast),
                                           reading.seconds(batch.left_s.expected.value_or(0)))
                             : "past its pot life: stop using",
              kLabel);
  }
  if (!batch.remark.empty()) page.pair("", batch.remark, kLabel);
}

void write_notice(Page& page, const api::NoticeNow& notice, const Reading& reading) {
  page.line(fmt::format("{:>5}  {}  {}", notice.notice, reading.moment(notice.at), page.bold(notice.title)));
  if (!notice.text.empty()) {
    std::string_view rest = notice.text;
    while (!rest.empty()) {
      const auto end = rest.find('\n');
      page.line("       " + std::string(rest.substr(0, end)));
      rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
    }
  }
}

}  // namespace setwell::cli
