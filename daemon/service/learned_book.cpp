#include "daemon/service/learned_book.hpp"

#include <algorithm>
#include <bit>
#include <charconv>

#include <fmt/format.h>

#include "daemon/ledger/fingerprint.hpp"
#include "daemon/service/coat_book.hpp"

namespace setwell::service {
namespace {

using core::Coat;
using core::Piece;
using core::TestedClock;
using quantity::Instant;

constexpr std::size_t kMostKept = 1000;

Instant next_coat_at(const Piece& piece, std::size_t index) {
  return index + 1 < piece.coats.size() ? piece.coats[index + 1].happened : Instant::max();
}

std::vector<core::AgedTouch> touches_of(const Piece& piece, std::size_t index) {
  std::vector<core::AgedTouch> touches;
  for (const auto& event : piece.touches) {
    if (event.happened > piece.coats[index].made.last_pass && event.happened < next_coat_at(piece, index))
      touches.push_back({event.body.touch, event.happened, {}});
  }
  return touches;
}

bool lay_heated(const core::CoatCase& coat, const settings::Settings& settings) {
  const auto heated = [&](const quantity::ZoneId& id) {
    return std::any_of(settings.zones.begin(), settings.zones.end(), [&](const settings::Zone& zone) {
      return zone.id == id && zone.kind == settings::ZoneKind::heated;
    });
  };
  return heated(coat.coat.made.zone) ||
         std::any_of(coat.stays.begin(), coat.stays.end(), [&](const core::Stay& stay) {
           return stay.since > coat.coat.made.last_pass && heated(stay.zone);
         });
}

/// The case as far as ages go: nothing later than the last touch is in it.
core::CoatCase aging_case(core::CoatCase coat, Instant upto) {
  coat.covered.reset();
  coat.strictness = {};
  std::erase_if(coat.stays, [&](const core::Stay& stay) { return stay.since > upto; });
  std::erase_if(coat.surface_readings, [&](const auto& reading) { return reading.happened > upto; });
  return coat;
}

std::string bits(double value) {
  return fmt::format("{:x}", std::bit_cast<std::uint64_t>(value));
}

/// All that decides the ages but the air, as text.
std::string rests_on(const TouchedCoat& touched, const std::string& clock_settings) {
  const auto& coat = *touched.coat;
  const auto& made = coat.coat.made;
  std::string text =
      fmt::format("{} {} {} {} {} {} {} {} {}\n{}", core::kEngineVersion, made.edition.value(),
                  quantity::to_ms(made.first_pass), quantity::to_ms(made.last_pass), coat.coat.error.count(),
                  core::word(made.load), made.film ? bits(made.film->value()) : "-", made.zone.text(),
                  made.piece_from ? bits(made.piece_from->degrees()) : "-", clock_settings);
  text += bits(coat.lag.count());
  for (const auto& stay : coat.stays)
    text += fmt::format("\n{}{}{}@{}", stay.zone.text(), stay.place.empty() ? "" : "/", stay.place,
                        quantity::to_ms(stay.since));
  for (const auto& reading : coat.surface_readings) {
    text += fmt::format("\n{}±{}@{}", reading.body.surface ? bits(reading.body.surface->degrees()) : "-",
                        bits(reading.body.temperature_error.kelvin()), quantity::to_ms(reading.happened));
  }
  for (const auto& touch : touched.touches)
    text += fmt::format("\n{}@{}", core::word(touch.touch), quantity::to_ms(touch.at));
  return ledger::fingerprint(text);
}

std::string memo_key(const TouchedCoat& touched) {
  return fmt::format("touch-ages/{}", touched.coat->coat.id.value());
}

/// One line per touch; the first is the fingerprint.
std::string memo_of(const TouchedCoat& touched) {
  std::string text = touched.rests_on;
  for (const auto& touch : touched.touches) {
    text += '\n';
    for (const auto& age : touch.ages) {
      text += fmt::format("{:x} {:x} {} {} {} ", static_cast<int>(age.milestone), age.rule + 1,
                          bits(age.ratio), bits(age.doubt_ln), bits(age.curve_ln));
    }
  }
  return text;
}

/// Reads numbers, hexadecimal, one after another.
class Numbers {
 public:
  explicit Numbers(std::string_view text) : text_(text) {}
  [[nodiscard]] std::optional<std::uint64_t> next() {
    while (!text_.empty() && text_.front() == ' ')
      text_.remove_prefix(1);
    std::uint64_t value = 0;
    const auto [end, fault] = std::from_chars(text_.data(), text_.data() + text_.size(), value, 16);
    if (fault != std::errc() || end == text_.data()) return std::nullopt;
    text_.remove_prefix(static_cast<std::size_t>(end - text_.data()));
    return value;
  }

 private:
  std::string_view text_;
};

std::optional<std::vector<core::ClockAge>> ages_from(std::string_view line) {
  std::vector<core::ClockAge> ages;
  Numbers numbers(line);
  while (const auto milestone = numbers.next()) {
    const auto rule = numbers.next(), ratio = numbers.next(), doubt = numbers.next(), curve = numbers.next();
    if (!rule || !ratio || !doubt || !curve || *milestone >= core::kMilestoneCount) return std::nullopt;
    ages.push_back({static_cast<core::Milestone>(*milestone), static_cast<int>(*rule) - 1,
                    std::bit_cast<double>(*ratio), std::bit_cast<double>(*doubt),
                    std::bit_cast<double>(*curve)});
  }
  return ages;
}

/// Takes ages from a memo of the same fingerprint. Answers whether it was one.
bool take_memo(TouchedCoat& touched, std::string_view memo) {
  std::vector<std::string_view> lines;
  for (std::size_t from = 0; from <= memo.size();) {
    const auto end = std::min(memo.find('\n', from), memo.size());
    lines.push_back(memo.substr(from, end - from));
    from = end + 1;
  }
  if (lines.front() != touched.rests_on || lines.size() != touched.touches.size() + 1) return false;
  for (std::size_t i = 0; i < touched.touches.size(); ++i) {
    auto ages = ages_from(lines[i + 1]);
    if (!ages) return false;
    touched.touches[i].ages = std::move(*ages);
  }
  return true;
}

/// The same rule in another edition of the sheet.
std::optional<int> rule_in(const core::Material& other, const core::Material& material, int rule) {
  if (rule < 0) return rule;
  const auto& stated = material.recoat[static_cast<std::size_t>(rule)];
  for (std::size_t i = 0; i < other.recoat.size(); ++i) {
    if (other.recoat[i].top == stated.top && other.recoat[i].kind == stated.kind) return static_cast<int>(i);
  }
  return std::nullopt;
}

/// The clock of another edition that counts on the same stated times, if there is one.
std::optional<int> same_clock(const core::Material& other, const core::Material& material,
                              TestedClock clock) {
  const auto rule = rule_in(other, material, clock.rule);
  if (!rule) return std::nullopt;
  const auto* theirs = core::table_behind(other, clock.milestone, *rule);
  const auto* ours = core::table_behind(material, clock.milestone, clock.rule);
  return theirs != nullptr && ours != nullptr && *theirs == *ours ? rule : std::nullopt;
}

}  // namespace

std::string lot_of(const core::Workbook& workbook, const Coat& coat) {
  const auto* batch = coat.made.batch ? workbook.batch(*coat.made.batch) : nullptr;
  if (batch != nullptr && (batch->made.lot_a || batch->made.lot_b))
    return batch->made.lot_a.value_or("") + "/" + batch->made.lot_b.value_or("");
  if (coat.made.lot) return *coat.made.lot;
  std::map<std::string, std::string> opened;
  for (const auto& lot : workbook.lots) {
    if (lot.body.sheet == coat.made.sheet && lot.happened <= coat.made.first_pass)
      opened[lot.body.part] = lot.body.lot;
  }
  std::string text;
  for (const auto& [part, lot] : opened)
    text += (text.empty() ? "" : "/") + lot;
  return text;
}

void LearnedBook::follow(const core::Workbook& workbook, const settings::Settings& settings, Bookshelf& shelf,
                         ledger::Ledger& ledger) {
  std::map<quantity::EntryId, TouchedCoat> known;
  for (auto& touched : touched_)
    known.emplace(touched.coat->coat.id, std::move(touched));
  touched_.clear();
  const auto set = clock_settings(settings);
  if (kept_.size() > kMostKept) kept_.clear();
  for (const auto& piece : workbook.pieces) {
    if (piece.touches.empty()) continue;
    for (std::size_t i = 0; i < piece.coats.size(); ++i) {
      auto touches = touches_of(piece, i);
      auto material = touches.empty() ? nullptr : shelf.edition(piece.coats[i].made.edition, ledger);
      if (!material) continue;
      TouchedCoat fresh;
      auto made = aging_case(case_of(piece, i, std::move(material), settings), touches.back().at);
      made.priors = shelf.priors_of(made.material->id);
      fresh.piece = piece.made_by;
      fresh.lot = lot_of(workbook, piece.coats[i]);
      fresh.heated = lay_heated(made, settings);
      fresh.touches = std::move(touches);
      fresh.coat = std::make_shared<const core::CoatCase>(std::move(made));
      fresh.rests_on = rests_on(fresh, set);
      const auto before = known.find(fresh.coat->coat.id);
      if (before != known.end() && before->second.rests_on == fresh.rests_on) {
        fresh.touches = std::move(before->second.touches);
        fresh.aged = before->second.aged;
      } else if (const auto memo = ledger.memo(memo_key(fresh))) {
        fresh.aged = take_memo(fresh, *memo);
      }
      touched_.push_back(std::move(fresh));
    }
  }
}

std::optional<Instant> LearnedBook::air_needed_from() const {
  std::optional<Instant> from;
  for (const auto& touched : touched_) {
    if (touched.aged) continue;
    const auto start = touched.coat->coat.made.first_pass - touched.coat->coat.error;
    from = std::min(from.value_or(start), start);
  }
  return from;
}

void LearnedBook::work_out(const Zones& zones, ledger::Ledger& ledger) {
  const auto air = air_of(zones);
  for (auto& touched : touched_) {
    if (touched.aged) continue;
    core::CoatCase coat = *touched.coat;
    coat.clocks = core::age_clocks_of(*coat.material, coat.coat.made.load,
                                      coat.priors ? *coat.priors : core::built_in_priors());
    for (auto& touch : touched.touches)
      touch.ages = core::ages_at(coat, air, touch.at);
    touched.aged = true;
    ledger.set_memo(memo_key(touched), memo_of(touched));
  }
}

bool LearnedBook::air_changed(const AirChange& change) {
  bool stale = false;
  for (auto& touched : touched_) {
    if (!concerns(change, *touched.coat) || change.at > touched.touches.back().at) continue;
    touched.aged = false;
    stale = true;
  }
  return stale;
}

std::vector<core::TestedCoat> LearnedBook::tested(const core::Material& material, TestedClock clock,
                                                  Instant before) const {
  std::vector<core::TestedCoat> all;
  for (const auto& touched : touched_) {
    const auto& theirs = *touched.coat->material;
    if (touched.heated || !touched.aged || theirs.id != material.id || touched.touches.front().at >= before)
      continue;
    const auto rule = same_clock(theirs, material, clock);
    if (!rule) continue;
    const auto end = std::find_if(touched.touches.begin(), touched.touches.end(),
                                  [&](const core::AgedTouch& touch) { return touch.at >= before; });
    core::TestedCoat coat{touched.piece, (end - 1)->at, touched.lot, {}};
    coat.tests = core::tests_on(theirs, clock.milestone, *rule, {touched.touches.begin(), end});
    if (!coat.tests.empty()) all.push_back(std::move(coat));
  }
  return all;
}

std::vector<core::LearnedShift> LearnedBook::shifts_for(const core::CoatCase& coat, const std::string& lot) {
  const auto& material = *coat.material;
  const auto when = coat.coat.made.first_pass;
  const auto lesson_of = [&](core::Milestone milestone, int rule) {
    auto from = tested(material, {milestone, rule}, when);
    const std::pair key{fmt::format("{}/{}/{}/{}", material.id.text(), core::word(milestone), rule, lot),
                        when};
    auto& kept = kept_[key];
    if (kept.from != from || kept.scatter != coat.strictness.scatter || kept.from.empty()) {
      kept = {std::move(from), coat.strictness.scatter, {}};
      kept.lesson = core::learn(kept.from, coat.strictness.scatter, when, lot);
    }
    return kept.lesson;
  };
  return core::shifts_of(material, lesson_of, coat.strictness.scatter);
}

core::Lesson LearnedBook::lesson(const core::Material& material, TestedClock clock, double scatter,
                                 Instant now) const {
  return core::learn(tested(material, clock, now), scatter, now, "");
}

}  // namespace setwell::service
