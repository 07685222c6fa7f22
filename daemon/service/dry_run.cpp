#include <algorithm>
#include <chrono>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/service/coat_remarks.hpp"
#include "daemon/service/coat_request.hpp"
#include "daemon/service/piece_view.hpp"

/// A coat only asked about: go or wait, and the best start of the next two days.
namespace setwell::service {

using quantity::Instant;
using quantity::Result;
using quantity::Span;

namespace {

constexpr std::chrono::hours kLooksAhead{48};
/// Windows that lie farther off than this from the start are no matter of today.
constexpr std::chrono::days kFarthest{7};
/// From this chance on of being overtaken, waiting is advised: one coat in five spoiled is too many.
constexpr double kTooRisky = 0.2;
/// A window this long is long enough; so is three quarters of the longest on offer.
constexpr std::chrono::hours kLongEnough{2};
constexpr double kNearlyTheLongest = 0.75;

/// What is asked about, on one piece.
struct Asked {
  const core::Piece& piece;
  const core::Material& material;
  const ShelvedSheet* sheet;
  core::CoatMade made;  ///< times aside
  Span lasts;           ///< from the first pass to the last
};

/// One start, with all that is known of it.
struct Start {
  Instant at;
  core::Outlook outlook;
  std::optional<core::Window> window;
  api::WindowTimes times;
  bool schedule_done = false;
  std::string against;

  [[nodiscard]] Span usable() const {
    return times.usable ? times.usable->until - times.usable->from : Span(0);
  }
};

std::optional<double> chance_of(const core::Outlook& outlook) {
  std::optional<double> chance;
  for (const auto& trouble : outlook.trouble)
    if (trouble.chance) chance = std::max(chance.value_or(0), *trouble.chance);
  return chance;
}

/// Why the coat that lies there does not take another at `at`; empty when it surely does.
std::string not_ready(const Workshop& workshop, const CoatView* below, Instant at, Instant now) {
  if (below == nullptr) return {};
  if (below->judgement.verdict == core::Verdict::recoat && at <= now) return {};
  const auto display = display_of(*workshop.settings);
  const auto name = fmt::format("coat {} under it", below->coat->number);
  const core::Window* next = nullptr;
  for (const auto& window : below->judgement.windows) {
    if (!window.sure || !window.from) continue;
    if (*window.from <= at && (!window.until || at < *window.until)) return {};
    if (*window.from > at && next == nullptr) next = &window;
  }
  if (next != nullptr)
    return fmt::format("{} is surely open from {}", name,
                       core::moment(*next->from, now, display, core::Minute::next));
  const auto& windows = below->judgement.windows;
  if (!windows.empty() && windows.back().sure && windows.back().until && at >= *windows.back().until)
    return fmt::format("the window of {} closes {}: {}", name,
                       core::moment(*windows.back().until, now, display), windows.back().otherwise);
  return fmt::format("{} is not surely open then: {}", name, below->judgement.next);
}

std::string outside_words(const core::OutsideCondition& outside, const core::Display& display) {
  const auto show = [&](double value) {
    if (outside.unit == "degC") return core::show(quantity::Celsius(value), display);
    if (outside.unit == "K") return core::show(quantity::CelsiusDelta(value), display);
    return fmt::format("{:.0f} %", value);
  };
  return fmt::format("{}: {}, the sheet asks for {}", outside.what, show(outside.value), show(outside.limit));
}

std::string against_of(const Workshop& workshop, const CoatView* below, const Start& start, Instant now) {
  const auto display = display_of(*workshop.settings);
  if (auto words = not_ready(workshop, below, start.at, now); !words.empty()) return words;
  if (!start.outlook.surface_c) return "nothing is known of the air then";
  for (const auto& outside : start.outlook.outside) {
    const bool application = outside.what.find("application") != std::string::npos;
    if (outside.is_limit || application) return outside_words(outside, display);
  }
  if (const auto chance = chance_of(start.outlook); chance && *chance >= kTooRisky)
    return fmt::format("chance {:.0f} % that the air overtakes it before it is tack-free", 100 * *chance);
  if (!is_waking(waking_of(*workshop.settings), display.zone, start.at)) return "outside waking hours";
  if (start.schedule_done) return {};
  if (!start.window || !start.window->sure) return "it would have no sure window for the next coat";
  if (!start.times.usable) return "its window for the next coat would fall outside waking hours";
  return {};
}

/// The window in which the next coat would go on, as far as anybody can tell at the start.
void judge_after(const Workshop& workshop, const core::Piece& then, const core::CoatCase& made,
                 Start& start) {
  const auto& coat = then.coats.back();
  const auto next = next_after(workshop, then, coat);
  const int rule = rule_index(*made.material, next);
  auto evidence = core::evidence_of(*made.material, rule, then, coat, {}, start.outlook,
                                    workshop.settings->workshop.sanded_lasts);
  start.schedule_done = evidence.schedule_done = done_after(workshop, then, coat);
  if (start.schedule_done) return;
  const auto judgement = core::judge(*made.material, rule, next.id, evidence, start.outlook);
  if (judgement.windows.empty()) return;
  start.window = judgement.windows.front();
  const auto& top = next.sheet != nullptr ? *next.sheet->material : *made.material;
  start.times = times_of(workshop, *start.window, top, start.at);
}

Start start_at(Workshop& workshop, const Asked& asked, const CoatView* below, Instant at, Instant now) {
  core::Piece then = asked.piece;
  core::Coat coat{{}, static_cast<int>(then.coats.size()) + 1, at, Span(0), asked.made};
  coat.made.first_pass = at;
  coat.made.last_pass = at + asked.lasts;
  then.stays.push_back({at, asked.made.zone});
  then.coats.push_back(std::move(coat));
  Start start;
  start.at = at;
  const auto made =
      workshop.coats.case_for(workshop.book.workbook(), then, then.coats.size() - 1, *workshop.settings,
                              workshop.shelf, workshop.learned, workshop.ledger);
  if (made) {
    const auto* air = air_of(workshop.zones)(asked.made.zone);
    const auto* forecast = forecast_for(*made, workshop.zones, workshop.forecasts, at);
    start.outlook = core::CoatRun(made).foreseen(air, forecast, kFarthest);
    judge_after(workshop, then, *made, start);
  }
  start.against = against_of(workshop, below, start, now);
  return start;
}

std::vector<Instant> moments(Instant first, Instant now) {
  std::vector<Instant> all{first};
  for (auto at = std::chrono::ceil<std::chrono::hours>(now); at <= now + kLooksAhead;
       at += std::chrono::hours(1)) {
    if (at > first) all.push_back(at);
  }
  return all;
}

/// The earliest of those whose window is long enough.
const Start* best_of(const std::vector<Start>& starts) {
  Span longest{0};
  for (const auto& start : starts)
    if (start.against.empty()) longest = std::max(longest, start.usable());
  const auto enough = std::min<Span>(kLongEnough, std::chrono::round<Span>(longest * kNearlyTheLongest));
  const auto found = std::find_if(starts.begin(), starts.end(), [&](const Start& start) {
    return start.against.empty() && start.usable() >= enough;
  });
  return found == starts.end() ? nullptr : &*found;
}

api::StartNow start_now(const Start& start, const quantity::TimeZone& zone) {
  api::StartNow shown;
  shown.at = api::time_text(start.at, zone);
  shown.fits = start.against.empty();
  shown.against = start.against;
  if (start.outlook.surface_c) shown.air_c = start.outlook.surface_c->expected;
  shown.dew_margin_k = start.outlook.dew_margin_k;
  if (start.window) shown.window = api::from_core(*start.window, start.times, zone);
  shown.chance = chance_of(start.outlook);
  shown.usable_s = quantity::Seconds(start.usable()).count();
  return shown;
}

std::string why(const Workshop& workshop, const Start& asked, const Start* best, Instant now) {
  const auto display = display_of(*workshop.settings);
  const auto when = [&](Instant at) { return core::moment(at, now, display, core::Minute::next); };
  if (asked.against.empty() && (best == nullptr || best->at == asked.at)) return "Nothing speaks against it.";
  if (asked.against.empty())
    return fmt::format("Nothing speaks against it; a start at {} would leave a longer window.",
                       when(best->at));
  auto text = asked.against;
  text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
  return text + (best != nullptr ? fmt::format(". The best start is {}.", when(best->at))
                                 : ". No start within 48 h does better on all counts.");
}

api::TriedPiece tried(Workshop& workshop, const Asked& asked, Instant first, Instant now) {
  std::optional<CoatView> below;
  if (!asked.piece.coats.empty())
    below = view_under(workshop, asked.piece, asked.piece.coats.back(),
                       {asked.sheet, asked.material.id.text(), true}, now);
  std::vector<Start> starts;
  for (const auto at : moments(first, now))
    starts.push_back(start_at(workshop, asked, below ? &*below : nullptr, at, now));
  const auto* best = best_of(starts);
  const auto& zone = workshop.settings->workshop.time_zone;
  api::TriedPiece shown;
  shown.piece = asked.piece.id.text();
  shown.coat = static_cast<int>(asked.piece.coats.size()) + 1;
  shown.sheet = asked.material.id.text();
  shown.zone = asked.made.zone.text();
  shown.advice = starts.front().against.empty() ? "go" : "wait";
  shown.why = why(workshop, starts.front(), best, now);
  if (best != nullptr) shown.best = start_now(*best, zone);
  for (const auto& start : starts)
    shown.starts.push_back(start_now(start, zone));
  return shown;
}

}  // namespace

Answered<api::DryRunAnswer> coat_dry_run(Workshop& workshop, const api::CoatParams& params, Instant now) {
  const auto& clock = workshop.settings->workshop.time_zone;
  const auto said = core::read_time(params.at.value_or(""), now, clock, core::Ahead::allowed);
  if (!said) return said.error();
  const auto first = std::max(said->from, now);
  if (first > now + kLooksAhead)
    return quantity::invalid("--dry-run looks 48 h ahead; ask about a start within them");
  const auto what = poured(workshop, params.what, now);
  if (!what) return what.error();
  const auto named = split_grams(params.pieces);
  if (!named) return named.error();
  const auto pieces = pieces_named(workshop, named->names);
  if (!pieces) return pieces.error();
  const auto made = coat_made(workshop, params, *what);
  if (!made) return made.error();
  api::DryRunAnswer answer;
  answer.rehearsal = workshop.rehearsal;
  answer.time = api::time_text(now, clock);
  answer.display = api::from_core(display_of(*workshop.settings));
  const auto& material = *what->sheet->material;
  for (const auto* piece : *pieces) {
    const auto zone = coat_zone(workshop, params, *piece, *what, now);
    if (!zone) return zone.error();
    Asked asked{*piece, material, what->sheet, *made, said->to - said->from};
    asked.made.zone = *zone;
    asked.made.grams = grams_of(workshop, *named, *piece);
    asked.made.first_pass = asked.made.last_pass = first;
    for (auto& line : coat_remarks(workshop, {piece, &material, &asked.made}))
      if (std::find(answer.said.begin(), answer.said.end(), line) == answer.said.end())
        answer.said.push_back(std::move(line));
    answer.pieces.push_back(tried(workshop, asked, first, now));
  }
  answer.cautions = cautions_of(material, coat_topics(material));
  return answer;
}

}  // namespace setwell::service
