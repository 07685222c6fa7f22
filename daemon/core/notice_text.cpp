#include <algorithm>

#include <fmt/format.h>

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

NoticeText safe_to_recoat(NoticeLines& words) {
  too_cold_to_apply_line(words);
  words.coat_line();
  words.sureness_line();
  words.mix_line();
  words.usable_line();
  words.why_line();
  words.missed_line();
  words.coating_cautions();
  return {words.title(words.opened_with_top() + ", " + words.window()), std::move(words).body()};
}

NoticeText last_start(NoticeLines& words) {
  const auto& c = words.content();
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

NoticeText reached(NoticeLines& words, std::string said, std::string more) {
  words.coat_line();
  words.line(std::move(more));
  return {words.title(said + " since " + words.since()), std::move(words).body()};
}

NoticeText sandable(NoticeLines& words) {
  const auto wash = words.content().washes ? "Wash with water and dry before sanding. " : "";
  auto text = reached(words, "surely sandable", std::string(wash) + "Try a spot: it must powder, not gum.");
  text.body += "\n" + std::string(kDust);
  return text;
}

NoticeText sensor_silent(NoticeLines& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {}.", c.channel));
  words.line(
      "Nothing is told open meanwhile, and windows may close early. Look at the sensor's battery and reach, "
      "or "
      "read the air by hand: setwell read ZONE --air … --rh …");
  const auto last = c.from ? ", last reading " + words.moment(*c.from) : std::string(", no reading yet");
  return {NoticeLines::shortened(fmt::format("{}: check the sensor, silent over a coat since {}{}", c.zone,
                                             words.since(), last)),
          std::move(words).body()};
}

NoticeText sensor_stuck(NoticeLines& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {} tells the same value while its neighbour moves.", c.channel));
  return {NoticeLines::shortened(
              fmt::format("{}: check the sensor, perhaps stuck since {}", c.zone, words.since())),
          std::move(words).body()};
}

NoticeText sensor_implausible(NoticeLines& words) {
  const auto& c = words.content();
  words.line(fmt::format(
      "Channel {} still sends, but nothing it says is believed; setwell sensors tells why.", c.channel));
  words.line(
      "Nothing is told open meanwhile, and windows may close early. Read the air by hand: setwell read ZONE "
      "--air … --rh …");
  return {NoticeLines::shortened(
              fmt::format("{}: check the sensor, no believable reading since {}", c.zone, words.since())),
          std::move(words).body()};
}

NoticeText battery_low(NoticeLines& words) {
  const auto& c = words.content();
  words.line(
      fmt::format("Channel {}. A sensor that falls silent over a coat closes its windows early.", c.channel));
  return {NoticeLines::shortened(fmt::format("{}: put a fresh battery into the sensor, it tells {:g}", c.zone,
                                             c.value.value_or(0))),
          std::move(words).body()};
}

NoticeText broker_away(NoticeLines& words) {
  words.line(
      "Nothing new is told open meanwhile. Look at the broker and the network; setwell status names the next "
      "step.");
  return {"Message broker away since " + words.since() + ": no readings come in", std::move(words).body()};
}

NoticeText disk_filling(NoticeLines& words) {
  const auto& c = words.content();
  words.line("Readings and entries need it. Nothing acknowledged is lost meanwhile.");
  return {fmt::format("Disk nearly full, {:.0f} % free: make space", c.value.value_or(0)),
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
      return sensor_silent(words);
    case NoticeKind::sensor_stuck:
      return sensor_stuck(words);
    case NoticeKind::sensor_implausible:
      return sensor_implausible(words);
    case NoticeKind::battery_low:
      return battery_low(words);
    case NoticeKind::broker_away:
      return broker_away(words);
    case NoticeKind::disk_filling:
      return disk_filling(words);
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
  NoticeLines words(telling, now, display);
  return telling.withdrawal ? withdrawal(telling, words) : told(telling.fact.kind, words);
}

}  // namespace setwell::core
