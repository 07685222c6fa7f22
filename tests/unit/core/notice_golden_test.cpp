#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "daemon/core/notice.hpp"

/// Every notice as the maker reads it, kept word by word in tests/golden/notices. After a wanted change run
/// this program once with SETWELL_WRITE_GOLDEN=1 and read what it wrote.
namespace setwell::core {
namespace {

using quantity::Celsius;
using quantity::Instant;
using quantity::PieceId;
using std::chrono::hours;
using std::chrono::minutes;

/// Wednesday 12 March 2031, 09:30 by the workshop's clock, an hour ahead of UTC.
const Instant kNow =
    Instant(std::chrono::sys_days(std::chrono::year(2031) / 3 / 12)) + hours(8) + minutes(30);

Display display(Units units, ClockStyle clock) {
  return {units, clock, quantity::TimeZone("Workshop", minutes(60), {})};
}
const Display kMetric = display(Units::celsius, ClockStyle::h24);
const Display kOther = display(Units::fahrenheit, ClockStyle::h12);

bool of_a_house(NoticeKind kind) {
  return kind == NoticeKind::sensor_silent || kind == NoticeKind::sensor_stuck ||
         kind == NoticeKind::sensor_implausible || kind == NoticeKind::battery_low ||
         kind == NoticeKind::broker_away || kind == NoticeKind::disk_filling;
}
bool of_a_day(NoticeKind kind) {
  return kind == NoticeKind::morning_list || kind == NoticeKind::not_logged;
}
bool of_pieces(NoticeKind kind) {
  return !of_a_house(kind) && !of_a_day(kind) && kind != NoticeKind::pot_life_ending;
}
/// The texts themselves say it too; here so that an end is never forgotten.
bool has_no_end(NoticeKind kind) {
  return kind == NoticeKind::sandable || kind == NoticeKind::handling || kind == NoticeKind::packing ||
         kind == NoticeKind::full_cure || kind == NoticeKind::full_strength;
}
bool of_a_window(NoticeKind kind) {
  return kind == NoticeKind::touch_test || kind == NoticeKind::safe_to_recoat ||
         kind == NoticeKind::last_start;
}

NoticeContent coat_content() {
  NoticeContent content;
  content.pieces = {PieceId("fern-07")};
  content.coats = {2};
  content.sheet_name = "Table epoxy 30";
  content.top_name = "Table epoxy 30";
  content.zone = "bench";
  content.from = kNow + minutes(45);
  content.until = kNow + hours(14);
  content.usable_from = content.from;
  content.usable_until = kNow + hours(12) + minutes(30);
  content.mix_by = kNow + hours(13) + minutes(40);
  content.sand_from = kNow + hours(20);
  content.coldest = Celsius(13.2);
  content.coldest_at = kNow - hours(5);
  content.washes = true;
  return content;
}

std::vector<ListedAct> day_list() {
  const auto piece = [](const char* id) { return PieceId(id); };
  return {{{piece("fern-07"), piece("fern-08")},
           "recoat with Table epoxy 30",
           kNow + minutes(45),
           kNow + hours(5)},
          {{piece("cup-2")}, "wash with water, dry, sand, wipe, let the wipe dry, then recoat", {}, {}},
          {{piece("oak-tray")}, "wait, packing", kNow + hours(30), {}}};
}

NoticeContent content_for(NoticeKind kind) {
  auto content = coat_content();
  content.without_end = has_no_end(kind);
  if (kind == NoticeKind::trouble_ahead) {
    content.chance = 0.42, content.threat = Threat::cold, content.limit = 12.0;
    content.from = kNow + hours(7);
    content.until = kNow + hours(11);
  }
  if (of_a_day(kind)) {
    content = {};
    content.list = day_list();
    content.zone = "bench";
    content.coldest = Celsius(9.3);
    content.coldest_at = kNow - hours(4);
  }
  if (of_a_house(kind)) {
    content = {};
    content.zone = "bench";
    content.channel = "bench/air-temperature/shed/bench";
    content.from = kNow - minutes(35);
  }
  if (kind == NoticeKind::battery_low) content.value = 8.0;
  if (kind == NoticeKind::pot_life_ending) {
    content = {};
    content.batch = "b-0312-1";
    content.sheet_name = "Table epoxy 30";
    content.zone = "bench";
    content.until = kNow + minutes(9);
  }
  if (kind == NoticeKind::too_cold) content.value = 9.4, content.limit = 12.0;
  if (kind == NoticeKind::dew_margin_lost) content.value = 1.1, content.limit = 3.0;
  if (kind == NoticeKind::disk_filling) content.value = 4.0;
  return content;
}

Telling telling_of(NoticeKind kind) {
  Telling telling;
  telling.fact.subject = "coat/41";
  telling.fact.kind = kind;
  telling.fact.standing = Standing::holds;
  telling.fact.since = kNow - minutes(20);
  telling.fact.content = content_for(kind);
  telling.generation = 1;
  return telling;
}

Telling taken_back(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.withdrawal = true;
  telling.fact.standing = Standing::not_yet;
  telling.fact.due = kNow + hours(3);
  return telling;
}

Telling grouped(NoticeKind kind) {
  auto telling = telling_of(kind);
  auto& content = telling.fact.content;
  content.pieces.clear();
  content.coats.clear();
  for (const auto* id :
       {"fern-01", "fern-02", "fern-03", "fern-04", "fern-05", "fern-06", "cup-2", "wide tray"}) {
    content.pieces.emplace_back(id);
    content.coats.push_back(content.pieces.size() == 7 ? 1 : 2);
  }
  content.sheet_name = content.top_name = "Spray enamel blue";
  content.washes = false;
  content.flammable = true;
  content.sprayed_isocyanate = true;
  return telling;
}

Telling without_sure_window(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.sure = false;
  return telling;
}

Telling by_touch(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.by_touch = true;
  return telling;
}

Telling through_the_night(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.asleep = true;
  telling.fact.content.from = kNow + hours(18);
  telling.fact.content.until = kNow + hours(22);
  return telling;
}

Telling on_a_rotator(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.rotator_for = hours(6);
  return telling;
}

Telling without_end(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.until.reset();
  telling.fact.content.mix_by.reset();
  telling.fact.content.without_end = true;
  return telling;
}

Telling too_late(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.too_late = true;
  return telling;
}

Telling damp(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.threat = Threat::damp;
  telling.fact.content.limit = 3.0;
  return telling;
}

Telling with_the_night() {
  auto telling = telling_of(NoticeKind::morning_list);
  telling.with = {telling_of(NoticeKind::safe_to_recoat), telling_of(NoticeKind::closed_not_sandable)};
  telling.with[1].fact.content.pieces = {PieceId("cup-2")};
  return telling;
}

Telling at_night(NoticeKind kind) {
  auto telling = telling_of(kind);
  telling.fact.content.usable_from.reset();
  telling.fact.content.usable_until.reset();
  return telling;
}

/// The longest names there may be.
Telling longest(NoticeKind kind, std::size_t pieces) {
  auto telling = telling_of(kind);
  auto& content = telling.fact.content;
  std::string name;
  for (int i = 0; i < 80; ++i)
    name += i % 2 == 0 ? "ß" : "漆";
  content.sheet_name = content.top_name = name;
  content.zone = "zone-with-a-very-long-name-of-40-letters";
  content.batch = std::string(40, 'b');
  content.channel = std::string(200, 'c');
  content.pieces.clear();
  content.coats.clear();
  for (std::size_t i = 0; i < pieces; ++i) {
    content.pieces.emplace_back(fmt::format("{}{:02}{}", std::string(36, 'p'), i * 3, "-x"));
    content.coats.push_back(static_cast<int>(i) + 1);
  }
  for (auto& act : content.list) {
    act.act = "recoat with " + name;
    act.pieces.assign(pieces == 0 ? 1 : pieces, PieceId(std::string(40, 'q')));
  }
  telling.fact.since = kNow - hours(24 * 90);  // another year: the longest way to say a moment
  return telling;
}

std::string section(const std::string& name, const Telling& telling, const Display& how) {
  const auto text = notice_text(telling, kNow, how);
  return fmt::format("[{}]\n{}\n\n{}\n\n", name, text.title, text.body);
}

struct Variant {
  const char* name;
  Telling telling;
};

std::vector<Variant> variants(NoticeKind kind) {
  std::vector<Variant> all{{"told", telling_of(kind)}};
  if (!of_a_house(kind) && !of_a_day(kind)) all.push_back({"taken back", taken_back(kind)});
  if (of_pieces(kind)) all.push_back({"eight pieces", grouped(kind)});
  if (kind == NoticeKind::last_start)
    all.push_back({"the window lies in the night", through_the_night(kind)});
  if (kind == NoticeKind::safe_to_recoat) {
    all.push_back({"on a rotator", on_a_rotator(kind)});
    all.push_back({"without an end", without_end(kind)});
  }
  if (kind == NoticeKind::sandable) all.push_back({"after its window closed", too_late(kind)});
  if (kind == NoticeKind::trouble_ahead) all.push_back({"damp", damp(kind)});
  if (kind == NoticeKind::morning_list) all.push_back({"with what the night brought", with_the_night()});
  if (of_a_window(kind)) {
    all.push_back({"no sure window", without_sure_window(kind)});
    all.push_back({"by touch", by_touch(kind)});
    all.push_back({"never in waking hours", at_night(kind)});
  }
  return all;
}

std::string golden_of(NoticeKind kind) {
  std::string text;
  for (const auto& each : variants(kind)) {
    text += section(fmt::format("{}, 24 h, °C", each.name), each.telling, kMetric);
    text += section(fmt::format("{}, 12 h, °F", each.name), each.telling, kOther);
  }
  text.pop_back();
  return text;
}

std::string content_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::size_t code_points(const std::string& text) {
  std::size_t count = 0;
  for (const char each : text)
    count += (static_cast<unsigned char>(each) & 0xC0U) != 0x80U ? 1 : 0;
  return count;
}

/// Whether it is UTF-8 whose characters were not cut apart.
bool whole_characters(const std::string& text) {
  for (std::size_t i = 0; i < text.size();) {
    const auto first = static_cast<unsigned char>(text[i]);
    const std::size_t length = first < 0x80    ? 1
                               : first >= 0xF0 ? 4
                               : first >= 0xE0 ? 3
                               : first >= 0xC0 ? 2
                                               : 0;
    if (length == 0 || i + length > text.size()) return false;
    for (std::size_t k = 1; k < length; ++k)
      if ((static_cast<unsigned char>(text[i + k]) & 0xC0U) != 0x80U) return false;
    i += length;
  }
  return true;
}

/// The text without what may be said.
std::string without(std::string text, const std::string& allowed) {
  for (auto found = text.find(allowed); found != std::string::npos; found = text.find(allowed))
    text.erase(found, allowed.size());
  return text;
}

bool says(const std::string& text, const std::string& what) {
  std::string low;
  for (const char each : text)
    low += each >= 'A' && each <= 'Z' ? static_cast<char>(each - 'A' + 'a') : each;
  return low.find(what) != std::string::npos;
}

/// Part of every title of this kind: what to do, or what may be done.
const char* act_of(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::pot_life_ending:
      return "stop using it by";
    case NoticeKind::touch_test:
      return "touch test";
    case NoticeKind::safe_to_recoat:
      return "to recoat";
    case NoticeKind::last_start:
      return "last start with";
    case NoticeKind::closed:
      return "sand, wipe";
    case NoticeKind::closed_not_sandable:
      return "wait: sand from";
    case NoticeKind::gap_begins:
      return "do not coat";
    case NoticeKind::too_cold:
      return "move it somewhere warmer";
    case NoticeKind::dew_margin_lost:
      return "move it somewhere drier";
    case NoticeKind::sandable:
      return "sandable";
    case NoticeKind::handling:
      return "may be picked up";
    case NoticeKind::packing:
      return "packing";
    case NoticeKind::full_cure:
      return "full cure";
    case NoticeKind::full_strength:
      return "full strength";
    case NoticeKind::trouble_ahead:
      return "move it somewhere";
    case NoticeKind::morning_list:
      return "today, ";
    case NoticeKind::not_logged:
      return "coated and not logged?";
    case NoticeKind::sensor_silent:
    case NoticeKind::sensor_stuck:
    case NoticeKind::sensor_implausible:
      return "check the sensor";
    case NoticeKind::battery_low:
      return "battery";
    case NoticeKind::broker_away:
      return "broker away";
    case NoticeKind::disk_filling:
      return "make space";
  }
  return "";
}

void check_rules(const Telling& telling, const Display& how) {
  const auto text = notice_text(telling, kNow, how);
  CAPTURE(text.title);
  CAPTURE(text.body);
  CHECK(code_points(text.title) <= 160);
  CHECK(text.title.find('\n') == std::string::npos);
  CHECK(whole_characters(text.title));
  CHECK(whole_characters(text.body));
  if (of_pieces(telling.fact.kind)) {
    CHECK(text.title.find(telling.fact.content.pieces.front().text().substr(0, 4)) != std::string::npos);
  }
  const char* act = telling.fact.content.asleep ? "decide now" : act_of(telling.fact.kind);
  CHECK(says(text.title, telling.withdrawal ? "correction" : act));
  const auto all = text.title + "\n" + text.body;
  CHECK_FALSE(says(without(all, "safe to recoat"), "safe"));
  if ((!telling.fact.content.sure || telling.fact.content.by_touch || telling.withdrawal) &&
      telling.with.empty())
    CHECK_FALSE(says(all, "safe"));
  CHECK_FALSE(says(without(all, "Leave no heater on unattended"), "leave"));
  const auto kStay = std::string(
      "The rotator must turn until the coat is tack-free, 6 h or more: begin only if you stay with it");
  for (const auto* never :
       {"heater on", "running", "rotator", "overnight", "food", "dish", "drink", "kitchen"}) {
    CAPTURE(never);
    CHECK_FALSE(says(without(without(all, "Leave no heater on unattended"), kStay), never));
  }
  CHECK_FALSE(text.body.empty());
  CHECK(text.body.find("\n\n") == std::string::npos);
}

}  // namespace

TEST_CASE("every notice reads as kept, word by word") {
  const bool write = std::getenv("SETWELL_WRITE_GOLDEN") != nullptr;
  for (const auto kind : kNoticeKinds) {
    const auto file = std::filesystem::path(SETWELL_GOLDEN) / "notices" / (std::string(word(kind)) + ".txt");
    if (write) {
      std::filesystem::create_directories(file.parent_path());
      std::ofstream(file, std::ios::binary) << golden_of(kind);
    }
    CAPTURE(file.filename().string());
    CHECK(content_of(file) == golden_of(kind));
  }
}

TEST_CASE("no notice breaks the rules of what may be said") {
  for (const auto kind : kNoticeKinds) {
    for (const auto& each : variants(kind)) {
      CAPTURE(each.name);
      check_rules(each.telling, kMetric);
      check_rules(each.telling, kOther);
    }
  }
}

TEST_CASE("the longest names keep to one line that names a piece and the act") {
  for (const auto kind : kNoticeKinds) {
    for (const std::size_t pieces : {1U, 30U}) {
      auto telling = longest(kind, of_pieces(kind) ? pieces : 0);
      check_rules(telling, kMetric);
      check_rules(telling, kOther);
      if (of_a_day(kind)) continue;
      telling.withdrawal = true;
      check_rules(telling, kOther);
    }
  }
}

TEST_CASE("of many pieces the title names whole ids and counts the rest") {
  const auto text = notice_text(longest(NoticeKind::handling, 30), kNow, kMetric);
  CHECK(text.title.find(longest(NoticeKind::handling, 30).fact.content.pieces.front().text()) == 0);
  CHECK(text.title.find(" and 28 more: may be picked up") != std::string::npos);
}

}  // namespace setwell::core
