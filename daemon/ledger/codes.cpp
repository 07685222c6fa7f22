#include "daemon/ledger/codes.hpp"

#include <algorithm>
#include <array>
#include <stdexcept>

namespace setwell::ledger {

using decode::TimeQuality;
using decode::Unit;
using quantity::Quality;
using quantity::Refusal;

namespace {

constexpr std::array kRefusals{Refusal::no_value,     Refusal::not_a_number,  Refusal::not_json,
                               Refusal::not_text,     Refusal::too_large,     Refusal::unit_conflict,
                               Refusal::unit_suspect, Refusal::scale_suspect, Refusal::out_of_range,
                               Refusal::sentinel,     Refusal::boot_zero,     Refusal::spike,
                               Refusal::retained,     Refusal::duplicate,     Refusal::unmapped};
constexpr std::array kTimes{TimeQuality::certain, TimeQuality::uncertain, TimeQuality::bad};
constexpr std::array kUnits{Unit::deg_c, Unit::deg_f, Unit::percent, Unit::ratio, Unit::none};
constexpr std::array kQualities{Quality::time_bad, Quality::time_uncertain, Quality::settling,
                                Quality::clamped, Quality::good};

template <typename List, typename T>
std::int64_t place_in(const List& list, T value) {
  return std::find(list.begin(), list.end(), value) - list.begin();
}

template <typename List>
auto at_place(const List& list, std::int64_t place) {
  if (place < 0 || place >= static_cast<std::int64_t>(list.size()))
    throw std::runtime_error("the database holds a code that this program does not know");
  return list[static_cast<std::size_t>(place)];
}

std::int64_t code_of(const std::optional<Refusal>& refusal) {
  return refusal ? place_in(kRefusals, *refusal) + 1 : 0;
}

std::optional<Refusal> optional_refusal_of(std::int64_t code) {
  if (code == 0) return std::nullopt;
  return at_place(kRefusals, code - 1);
}

}  // namespace

std::int64_t code_of(Refusal refusal) {
  return place_in(kRefusals, refusal);
}
Refusal refusal_of(std::int64_t code) {
  return at_place(kRefusals, code);
}

std::int64_t facts_of(const decode::DecodedValue& value) {
  return place_in(kTimes, value.time) | std::int64_t{value.by_device} << 2 |
         std::int64_t{value.clamped} << 3 | std::int64_t{value.redelivered} << 4 |
         place_in(kUnits, value.unit) << 5 | code_of(value.refusal) << 8;
}

void apply_facts(std::int64_t facts, decode::DecodedValue& value) {
  value.time = at_place(kTimes, facts & 3);
  value.by_device = (facts & 4) != 0;
  value.clamped = (facts & 8) != 0;
  value.redelivered = (facts & 16) != 0;
  value.unit = at_place(kUnits, facts >> 5 & 7);
  value.refusal = optional_refusal_of(facts >> 8);
}

std::int64_t code_of(const ReadingVerdict& verdict) {
  return place_in(kQualities, verdict.quality) | std::int64_t{verdict.judged} << 3 |
         code_of(verdict.refusal) << 4;
}

ReadingVerdict verdict_of(std::int64_t code) {
  return {optional_refusal_of(code >> 4), at_place(kQualities, code & 7), (code & 8) != 0};
}

}  // namespace setwell::ledger
