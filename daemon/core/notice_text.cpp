#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "daemon/core/notice.hpp"
#include "daemon/core/notice_words.hpp"

/// The words of every notice, in one place.
namespace setwell::core {
namespace {

using quantity::Instant;

constexpr std::string_view kDust =
    "Dust of under-cured material harms lungs and skin: sand wet or with extraction, wear a particulate "
    "respirator, "
    "follow the datasheet.";
constexpr std::string_view kFlame =
    "Solvent is about: no flame, no heat gun, no sparks; ventilate; follow the datasheet and local rules.";
constexpr std::string_view kIsocyanate =
    "If it is sprayed: isocyanate. Its datasheet and local rules decide (supplied air; keep others out).";
constexpr std::string_view kLeftovers =
    "Leftovers in a deep pot can get very hot: spread them thin, watch them until cool.";

/// One notice being worded.
class Words {
 public:
  Words(const Telling& telling, Instant now, const Display& display)
      : fact_(telling.fact), content_(telling.fact.content), now_(now), display_(display) {}

  [[nodiscard]] const NoticeContent& content() const { return content_; }
  [[nodiscard]] std::string moment(Instant at, Minute minute = Minute::past) const {
    return core::moment(at, now_, display_, minute);
  }
  [[nodiscard]] bool ahead(std::optional<Instant> at) const { return at && *at > now_; }
  [[nodiscard]] std::string since() const { return moment(fact_.since); }
  [[nodiscard]] std::string window() const { return stretch(content_.from, content_.until, now_, display_); }
  [[nodiscard]] std::string degrees(double celsius) const {
    return show(quantity::Celsius(celsius), display_);
  }
  [[nodiscard]] std::string kelvin(double difference) const {
    return show(quantity::CelsiusDelta(difference), display_);
  }

  /// The pieces, then what is said of them, cut to a title: the pieces give way first, then names of
  /// materials.
  [[nodiscard]] std::string title(const std::string& said) const {
    constexpr int kLeastForPieces = 30;
    const int room = std::max(kLeastForPieces, kTitleLongest - static_cast<int>(said.size()) - 2);
    auto text = piece_list(content_.pieces, room) + ": " + said;
    return shortened(std::move(text));
  }
  [[nodiscard]] static std::string shortened(std::string text) {
    if (text.size() <= kTitleLongest) return text;
    std::size_t end = kTitleLongest - 3;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U)
      --end;
    return text.substr(0, end) + "…";
  }
  /// A material's name, no longer than a title can bear.
  [[nodiscard]] std::string top() const { return clipped(content_.top_name); }
  [[nodiscard]] std::string sheet() const { return clipped(content_.sheet_name); }

  void line(std::string text) {
    if (text.empty()) return;
    if (!body_.empty()) body_ += '\n';
    body_ += text;
  }
  [[nodiscard]] std::string body() && { return std::move(body_); }

  void coat_line() {
    const std::set<int> numbers(content_.coats.begin(), content_.coats.end());
    if (numbers.empty()) return;
    line(fmt::format("Coat {}: {}{}.", fmt::join(numbers, ", "), content_.sheet_name,
                     content_.zone.empty() ? "" : ", in " + content_.zone));
  }
  void mix_line() {
    if (content_.mix_by) line("Start mixing by " + moment(*content_.mix_by) + ".");
  }
  void usable_line() {
    if (!content_.from || (content_.usable_from == content_.from && content_.usable_until == content_.until))
      return;
    if (!content_.usable_from) {
      line(
          "None of it lies in your waking hours: coat later and sand first, or begin the coat at another "
          "time.");
      return;
    }
    line("In your waking hours: " + stretch(content_.usable_from, content_.usable_until, now_, display_) +
         ".");
  }
  void why_line() {
    if (!content_.coldest || !content_.coldest_at) return;
    line(fmt::format("Why then: {} was down to {} ({}).", content_.zone.empty() ? "the air" : content_.zone,
                     show(*content_.coldest, display_), moment(*content_.coldest_at)));
  }
  void missed_line() { line("If missed: " + way_back() + "."); }
  [[nodiscard]] std::string way_back() const {
    return content_.washes ? "wash with water, dry, then sand, wipe, let the wipe dry, coat"
                           : "sand, wipe, let the wipe dry, coat";
  }
  void coating_cautions() {
    if (content_.flammable) line(std::string(kFlame));
    if (content_.sprayed_isocyanate) line(std::string(kIsocyanate));
  }
  void sanding_caution() { line(std::string(kDust)); }

 private:
  [[nodiscard]] static std::string clipped(const std::string& name) {
    constexpr std::size_t kLongest = 40;
    if (name.size() <= kLongest) return name;
    std::size_t end = kLongest - 3;
    while (end > 0 && (static_cast<unsigned char>(name[end]) & 0xC0U) == 0x80U)
      --end;
    return name.substr(0, end) + "…";
  }

  const NoticeFact& fact_;
  const NoticeContent& content_;
  Instant now_;
  const Display& display_;
  std::string body_;
};

NoticeText pot_life(Words& words) {
  const auto& c = words.content();
  const auto end = c.until ? ", before " + words.moment(*c.until) : std::string();
  words.line(fmt::format("Batch {} of {}. When the time is over stop using it, even if it still flows.",
                         c.batch, c.sheet_name));
  words.line(std::string(kLeftovers));
  return {Words::shortened(fmt::format("Batch {} ({}): pot life is ending{}", c.batch, words.sheet(), end)),
          std::move(words).body()};
}

NoticeText touch_test(Words& words) {
  const auto& c = words.content();
  words.coat_line();
  words.line("Touch a hidden spot with a gloved finger and log it: setwell touch WORD PIECE.");
  if (!c.sure) {
    words.line("There is no sure window for this coat: only a touch can open it.");
  } else if (c.from) {
    words.line("Surely open " + words.window() + " without a test.");
  }
  words.why_line();
  return {words.title("worth a touch test now, before coating with " + words.top()), std::move(words).body()};
}

NoticeText safe_to_recoat(Words& words) {
  words.coat_line();
  words.mix_line();
  words.usable_line();
  words.why_line();
  words.missed_line();
  words.coating_cautions();
  return {words.title(fmt::format("safe to recoat with {}, {}", words.top(), words.window())),
          std::move(words).body()};
}

NoticeText last_start(Words& words) {
  const auto& c = words.content();
  words.coat_line();
  words.mix_line();
  words.missed_line();
  words.coating_cautions();
  const auto by = c.mix_by ? " by " + words.moment(*c.mix_by) : std::string(" soon");
  const auto until = c.until ? ", closes " + words.moment(*c.until) : std::string();
  return {words.title(fmt::format("last start with {}{}{}", words.top(), by, until)),
          std::move(words).body()};
}

NoticeText closed(Words& words) {
  words.coat_line();
  words.line("To coat it now: " + words.way_back() + ".");
  words.sanding_caution();
  return {words.title("recoat window closed " + words.since() + ": " + words.way_back()),
          std::move(words).body()};
}

NoticeText closed_not_sandable(Words& words) {
  const auto& c = words.content();
  const auto from = c.sand_from ? "sand from " + words.moment(*c.sand_from, Minute::next)
                                : std::string("sand when it powders");
  words.coat_line();
  words.line("Too late to coat unsanded, too soon to sand. Then: " + words.way_back() + ".");
  words.sanding_caution();
  return {words.title("recoat window closed " + words.since() + ", wait: " + from), std::move(words).body()};
}

NoticeText gap_begins(Words& words) {
  const auto& c = words.content();
  const auto until = words.ahead(c.from) ? " until " + words.moment(*c.from, Minute::next) : std::string();
  words.coat_line();
  words.line("Coated in this time it can wrinkle or lift. A touch or sanding does not change that.");
  words.why_line();
  return {words.title(fmt::format("do not coat{} (early window ended {})", until, words.since())),
          std::move(words).body()};
}

NoticeText too_cold(Words& words) {
  const auto& c = words.content();
  words.coat_line();
  words.line(
      "Below its floor the cure stands still, and the film may stay soft or greasy. It goes on when it is "
      "warm again.");
  words.line(
      "Act while you are there: a warmer room by the building's own heating, or a warmer zone. Leave no "
      "heater "
      "on unattended; no open flame near solvent.");
  const auto at = c.value ? ", piece at " + words.degrees(*c.value) : std::string();
  return {words.title(fmt::format("too cold before tack-free in {} since {}{}", c.zone, words.since(), at)),
          std::move(words).body()};
}

NoticeText dew_margin_lost(Words& words) {
  const auto& c = words.content();
  words.coat_line();
  words.line(
      "Moisture may settle on the fresh film: haze, blush or craters. Stop wet draughts, dry the air or move "
      "the piece to a drier zone.");
  const auto at = c.value ? ": " + words.kelvin(*c.value) + " above the dew point" : std::string();
  return {words.title(fmt::format("dew margin lost in {} since {}{}", c.zone, words.since(), at)),
          std::move(words).body()};
}

NoticeText reached(Words& words, std::string said, std::string more) {
  words.coat_line();
  words.line(std::move(more));
  return {words.title(said + " since " + words.since()), std::move(words).body()};
}

NoticeText sandable(Words& words) {
  const auto wash = words.content().washes ? "Wash with water and dry before sanding. " : "";
  auto text = reached(words, "surely sandable", std::string(wash) + "Try a spot: it must powder, not gum.");
  text.body += "\n" + std::string(kDust);
  return text;
}

NoticeText sensor_silent(Words& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {}.", c.channel));
  words.line(
      "Nothing is told open meanwhile, and windows may close early. Look at the sensor's battery and reach, "
      "or "
      "read the air by hand: setwell read ZONE --air … --rh …");
  const auto last = c.from ? ", last reading " + words.moment(*c.from) : std::string(", no reading yet");
  return {
      Words::shortened(fmt::format("{}: sensor silent over a coat since {}{}", c.zone, words.since(), last)),
      std::move(words).body()};
}

NoticeText sensor_stuck(Words& words) {
  const auto& c = words.content();
  words.line(fmt::format("Channel {} tells the same value while its neighbour moves. Check it.", c.channel));
  return {Words::shortened(fmt::format("{}: sensor perhaps stuck since {}", c.zone, words.since())),
          std::move(words).body()};
}

NoticeText broker_away(Words& words) {
  words.line("No readings come in. Look at the broker and the network; setwell status names the next step.");
  return {"Message broker away since " + words.since(), std::move(words).body()};
}

NoticeText disk_filling(Words& words) {
  const auto& c = words.content();
  words.line("Make space: readings and entries need it. Nothing acknowledged is lost meanwhile.");
  return {fmt::format("Disk nearly full: {:.0f} % free", c.value.value_or(0)), std::move(words).body()};
}

NoticeText told(NoticeKind kind, Words& words) {
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
      return reached(words, "may be picked up", "Still curing: do not wrap, load or sand on this alone.");
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
      return "not surely open to recoat after all";
    case NoticeKind::touch_test:
      return "a touch test is not worth while yet";
    case NoticeKind::closed:
    case NoticeKind::closed_not_sandable:
      return "the recoat window has not closed after all";
    case NoticeKind::gap_begins:
      return "the early window has not ended after all";
    case NoticeKind::sandable:
      return "not surely sandable after all";
    case NoticeKind::handling:
      return "not surely fit to be picked up after all";
    case NoticeKind::packing:
      return "not surely ready for packing after all";
    case NoticeKind::full_cure:
      return "full cure is not surely reached after all";
    case NoticeKind::full_strength:
      return "full strength is not surely reached after all";
    case NoticeKind::pot_life_ending:
      return "the pot life lasts longer than told";
    default:
      return "what was told no longer holds";
  }
}

NoticeText withdrawal(const Telling& telling, Words& words) {
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
  const auto title = about.empty() ? words.title(said) : Words::shortened(about + ": " + said);
  return {title, std::move(words).body()};
}

}  // namespace

NoticeText notice_text(const Telling& telling, Instant now, const Display& display) {
  Words words(telling, now, display);
  return telling.withdrawal ? withdrawal(telling, words) : told(telling.fact.kind, words);
}

}  // namespace setwell::core
