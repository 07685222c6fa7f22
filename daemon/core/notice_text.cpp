#include <algorithm>

#include <fmt/format.h>

#include "daemon/core/house_text.hpp"
#include "daemon/core/morning_list.hpp"
#include "daemon/core/notice.hpp"
#include "daemon/core/notice_lines.hpp"

/// The words of every notice, in one place.
namespace setwell::core {
namespace {

NoticeText pot_life(NoticeLines& words) {
  const auto& c = words.content();
  const auto end = c.until ? ": stop using it by " + words.moment(*c.until) : std::string();
  words.line(fmt::format("{}. When the time is over stop, even if it still flows.", c.sheet_name));
  words.line(std::string(kLeftovers));
  words.line(std::string(kSkin));
  return {
      NoticeLines::shortened(fmt::format("Batch {} ({}): pot life is ending{}", c.batch, words.sheet(), end)),
      std::move(words).body()};
}

NoticeText touch_test(NoticeLines& words) {
  const auto& c = words.content();
  words.coat_line();
  words.line(
      "Touch a hidden spot with a gloved finger, then log what it did (wet, strings, tacky, firm or hard): "
      "setwell touch WORD PIECE.");
  words.sureness_line();
  if (c.sure && !c.by_touch && c.from) words.line("Surely open without a test: " + words.window() + ".");
  words.why_line();
  return {words.title("worth a touch test now, before coating with " + words.top()), std::move(words).body()};
}

/// The window is the coat's; whether what goes on may be applied in this air is its own sheet's.
void too_cold_to_apply_line(NoticeLines& words) {
  const auto& c = words.content();
  if (!c.value || !c.limit) return;
  words.line("Too cold to coat now: " + words.degrees(*c.value) + ", the sheet asks for " +
             words.degrees(*c.limit) + " or more.");
}

/// A window nobody is awake for: what can be chosen, none of it with anything left running alone.
NoticeText window_of_the_night(NoticeLines& words) {
  const auto& c = words.content();
  words.coat_line();
  words.line("Nobody is awake for it. The choices:");
  const auto from = c.sand_from ? " from " + words.moment(*c.sand_from, Minute::next) : std::string();
  words.line("1. Let it close, then " + words.way_back() + (from.empty() ? "" : ":") + from + ".");
  words.line("2. Be there in the window" +
             (c.mix_by ? ", start mixing by " + words.moment(*c.mix_by) : std::string()) + ".");
  words.line(
      "Pieces not coated yet: start them later, so that their window falls into your day; setwell coat … "
      "--dry-run shows it.");
  words.why_line();
  words.sanding_caution();
  words.coating_cautions();
  return {words.title("decide now: its window, " + words.window() + ", lies in your night"),
          std::move(words).body()};
}

NoticeText safe_to_recoat(NoticeLines& words) {
  too_cold_to_apply_line(words);
  words.coat_line();
  words.sureness_line();
  words.mix_line();
  words.usable_line();
  words.why_line();
  if (words.content().until) words.missed_line();
  words.endless_line();
  words.coating_cautions();
  return {words.title(words.opened_with_top() + ", " + words.window()), std::move(words).body()};
}

NoticeText last_start(NoticeLines& words) {
  const auto& c = words.content();
  if (c.asleep) return window_of_the_night(words);
  if (!c.unfit_air.empty()) words.line("Not in this air: " + c.unfit_air + ".");
  words.coat_line();
  words.sureness_line();
  words.mix_line();
  words.missed_line();
  words.coating_cautions();
  const auto by = c.mix_by ? " by " + words.moment(*c.mix_by) : std::string(" soon");
  const auto until = c.until ? ", closes " + words.moment(*c.until) : std::string();
  return {words.title(fmt::format("last start with {}{}{}", words.top(), by, until)),
          std::move(words).body()};
}

NoticeText closed(NoticeLines& words) {
  words.coat_line();
  words.line("Unsanded, the next coat may not hold. Nothing is lost: there is time to sand.");
  words.sanding_caution();
  return {words.title("recoat window closed " + words.since() + ": " + words.way_back()),
          std::move(words).body()};
}

NoticeText closed_not_sandable(NoticeLines& words) {
  const auto& c = words.content();
  const auto from = c.sand_from ? "sand from " + words.moment(*c.sand_from, Minute::next)
                                : std::string("sand when it powders");
  words.coat_line();
  words.line("Too late to coat unsanded, too soon to sand. Then: " + words.way_back() + ".");
  words.sanding_caution();
  return {words.title("recoat window closed " + words.since() + ", wait: " + from), std::move(words).body()};
}

NoticeText gap_begins(NoticeLines& words) {
  const auto& c = words.content();
  const auto until = words.ahead(c.from) ? " until " + words.moment(*c.from, Minute::next) : std::string();
  words.coat_line();
  words.line("Coated in this time it can wrinkle or lift. Neither a touch test nor sanding changes that.");
  words.why_line();
  return {words.title(fmt::format("do not coat{} (early window ended {})", until, words.since())),
          std::move(words).body()};
}

NoticeText too_cold(NoticeLines& words) {
  const auto& c = words.content();
  words.coat_line();
  if (c.limit) words.line("It cures only above " + words.degrees(*c.limit) + ".");
  words.line(
      "Below its floor the cure stands still, and the film may stay soft or greasy. It goes on when it is "
      "warm again.");
  words.line(
      "Move it dust-free to a warmer zone, or warm the room while you are there. Leave no heater on "
      "unattended; no open flame near solvent.");
  const auto is = c.value ? ", " + words.degrees(*c.value) : std::string();
  return {words.title(fmt::format("too cold before tack-free: move it somewhere warmer ({}{}, since {})",
                                  words.zone(), is, words.since())),
          std::move(words).body()};
}

NoticeText dew_margin_lost(NoticeLines& words) {
  const auto& c = words.content();
  words.coat_line();
  if (c.limit) words.line("The sheet asks for " + words.kelvin(*c.limit) + " above the dew point.");
  words.line(
      "Moisture may settle on the fresh film: haze, blush or craters. Shut damp draughts out, dry the air, "
      "or "
      "move the piece.");
  const auto is = c.value ? ", " + words.kelvin(*c.value) + " above it" : std::string();
  return {words.title(fmt::format("too near the dew point: move it somewhere drier ({}{}, since {})",
                                  words.zone(), is, words.since())),
          std::move(words).body()};
}

/// Half the sentence, for a phone: the forecast is a chance, never a certainty.
NoticeText trouble_ahead(NoticeLines& words) {
  const auto& c = words.content();
  const bool cold = c.threat == Threat::cold;
  const auto chance = c.chance ? fmt::format(", chance {:.0f} %", *c.chance * 100) : std::string();
  const auto from = c.from ? " " + words.moment(*c.from) : std::string(" before it is tack-free");
  words.coat_line();
  if (cold && c.limit) words.line("It cures only above " + words.degrees(*c.limit) + ".");
  if (!cold && c.limit)
    words.line("The sheet asks for " + words.kelvin(*c.limit) +
               " above the dew point until it is tack-free.");
  if (c.until)
    words.line("Surely tack-free " + words.moment(*c.until, Minute::next) + "; until then it matters.");
  words.line(cold
                 ? "If nothing is done its cure may stand still in the cold and the film stay soft or greasy."
                 : "If nothing is done moisture may settle on the fresh film: haze, blush or craters.");
  words.line(
      "Leave no heater on unattended; no open flame near solvent. Before the next coat wait for better air: "
      "setwell "
      "coat … --dry-run shows when.");
  return {
      words.title(fmt::format("move it somewhere {} before{} ({} may get too {}{})",
                              cold ? "warmer" : "drier", from, words.zone(), cold ? "cold" : "damp", chance)),
      std::move(words).body()};
}

NoticeText reached(NoticeLines& words, std::string said, std::string more) {
  words.coat_line();
  words.line(std::move(more));
  words.endless_line();
  return {words.title(said + " since " + words.since()), std::move(words).body()};
}

/// The wait after a window that closed too early to sand is over.
NoticeText sandable_at_last(NoticeLines& words) {
  words.coat_line();
  words.line("Too late to coat unsanded; sanding opens it again. Try a spot first: it must powder, not gum.");
  words.endless_line();
  words.sanding_caution();
  return {words.title("surely sandable since " + words.since() + ": " + words.way_back()),
          std::move(words).body()};
}

NoticeText sandable(NoticeLines& words) {
  if (words.content().too_late) return sandable_at_last(words);
  const auto wash = words.content().washes ? "Wash with water and dry before sanding. " : "";
  auto text = reached(words, "surely sandable", std::string(wash) + "Try a spot: it must powder, not gum.");
  text.body += "\n" + std::string(kDust);
  return text;
}

/// `fern-07: recoat with Clear 12, today 10:15 to 23:30`, and what has no time says so.
std::string listed(const NoticeLines& words, const ListedAct& act) {
  const auto window = words.window_of(act);
  return fmt::format("{}: {}{}{}", NoticeLines::names(act.pieces), act.act, window.empty() ? "" : ", ",
                     window);
}

std::vector<quantity::PieceId> pieces_of(const std::vector<ListedAct>& list) {
  std::vector<quantity::PieceId> pieces;
  for (const auto& act : list) {
    for (const auto& piece : act.pieces) {
      if (std::find(pieces.begin(), pieces.end(), piece) == pieces.end()) pieces.push_back(piece);
    }
  }
  return pieces;
}

NoticeText not_logged(NoticeLines& words) {
  const auto& c = words.content();
  for (const auto& act : c.list)
    words.line(listed(words, act) + ".");
  words.line(
      "If you coated: setwell coat SHEET PIECE --at 14:30, with the true time; the clocks are put right. If "
      "not: "
      "nothing is lost, but now it must be sanded first; sanding too is logged with setwell step.");
  words.sanding_caution();
  const auto pieces = pieces_of(c.list);
  const auto until = c.list.size() == 1 && c.list.front().until
                         ? " until " + words.moment(*c.list.front().until)
                         : std::string(" today");
  constexpr int kColumns = 70;
  return {NoticeLines::shortened(fmt::format("{}: coated and not logged? A window was open{}",
                                             piece_list(pieces, kColumns), until)),
          std::move(words).body()};
}

NoticeText told(NoticeKind kind, NoticeLines& words) {
  switch (kind) {
    case NoticeKind::pot_life_ending:
      return pot_life(words);
    case NoticeKind::touch_test:
      return touch_test(words);
    case NoticeKind::safe_to_recoat:
      return safe_to_recoat(words);
    case NoticeKind::last_start:
      return last_start(words);
    case NoticeKind::closed:
      return closed(words);
    case NoticeKind::closed_not_sandable:
      return closed_not_sandable(words);
    case NoticeKind::gap_begins:
      return gap_begins(words);
    case NoticeKind::too_cold:
      return too_cold(words);
    case NoticeKind::dew_margin_lost:
      return dew_margin_lost(words);
    case NoticeKind::trouble_ahead:
      return trouble_ahead(words);
    case NoticeKind::sandable:
      return sandable(words);
    case NoticeKind::handling:
      return reached(words, "may be picked up",
                     "Still curing: gloves on; do not wrap, load or sand on this alone.");
    case NoticeKind::packing:
      return reached(words, "ready for packing",
                     "Every coat has surely reached it at the temperatures recorded.");
    case NoticeKind::full_cure:
      return reached(words, "full cure",
                     "Surely reached by the sheet's own time at the temperatures recorded.");
    case NoticeKind::full_strength:
      return reached(words, "full strength",
                     "The sheet's own time for full resistance has passed at the temperatures recorded.");
    case NoticeKind::sensor_silent:
    case NoticeKind::sensor_stuck:
    case NoticeKind::sensor_implausible:
    case NoticeKind::battery_low:
    case NoticeKind::broker_away:
    case NoticeKind::disk_filling:
      return house_text(kind, words);
    case NoticeKind::not_logged:
      return not_logged(words);
    case NoticeKind::morning_list:
      break;  // worded by itself: it holds others
  }
  return {};
}

/// What a kind claimed, for taking it back.
std::string_view claim(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::safe_to_recoat:
    case NoticeKind::last_start:
      return "do not coat yet, not surely open after all";
    case NoticeKind::touch_test:
      return "no touch test yet, too soon after all";
    case NoticeKind::closed:
    case NoticeKind::closed_not_sandable:
      return "the recoat window has not closed after all";
    case NoticeKind::gap_begins:
      return "the early window has not ended after all";
    case NoticeKind::sandable:
      return "do not sand yet, not surely sandable after all";
    case NoticeKind::handling:
      return "do not pick up yet, not surely ready after all";
    case NoticeKind::packing:
      return "do not pack yet, not surely ready after all";
    case NoticeKind::full_cure:
      return "full cure is not surely reached after all";
    case NoticeKind::full_strength:
      return "full strength is not surely reached after all";
    case NoticeKind::trouble_ahead:
      return "the forecast threatens it no more";
    case NoticeKind::pot_life_ending:
      return "its pot life ends later than told";
    default:
      return "what was told no longer holds";
  }
}

NoticeText withdrawal(const Telling& telling, NoticeLines& words) {
  const auto& c = telling.fact.content;
  const auto about =
      c.pieces.empty() ? (c.batch.empty() ? std::string("Correction") : "Batch " + c.batch) : "";
  words.coat_line();
  words.line(
      "A reading or an entry changed the past, and the clocks were worked out again. This takes back what "
      "was "
      "told before.");
  if (telling.fact.due) {
    words.line("Now expected " + words.moment(*telling.fact.due, Minute::next) + ".");
  }
  words.why_line();
  const auto said = std::string("correction: ") + std::string(claim(telling.fact.kind));
  const auto title = about.empty() ? words.title(said) : NoticeLines::shortened(about + ": " + said);
  return {title, std::move(words).body()};
}

}  // namespace

NoticeText notice_text(const Telling& telling, quantity::Instant now, const Display& display) {
  if (telling.fact.kind == NoticeKind::morning_list) return morning_text(telling, now, display);
  NoticeLines words(telling, now, display);
  return telling.withdrawal ? withdrawal(telling, words) : told(telling.fact.kind, words);
}

}  // namespace setwell::core
