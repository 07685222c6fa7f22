#pragma once

#include <array>
#include <string>

#include "daemon/core/review_facts.hpp"

/// From facts to findings: each a number from -1 (surely not so) over 0 (not known) to +1 (surely so), with
/// the sentence that says why. Causes are weighed by these alone. Pure.
namespace setwell::core {

struct Found {
  double value = 0;
  std::string text;
};

class Findings {
 public:
  void set(Finding finding, double value, std::string text);
  [[nodiscard]] const Found& operator[](Finding finding) const {
    return all_[static_cast<std::size_t>(finding)];
  }
  [[nodiscard]] double value(Finding finding) const { return (*this)[finding].value; }

 private:
  std::array<Found, kFindingCount> all_;
};

/// Everything that facts and the rest of the workbook say.
[[nodiscard]] Findings findings_of(const CaseFile& file, const Facts& facts);

// Its parts.
void find_in_air(const CaseFile& file, const Facts& facts, Findings& findings);
void find_in_mix(const CaseFile& file, const Facts& facts, Findings& findings);
void find_in_interval(const CaseFile& file, const Facts& facts, Findings& findings);
void find_in_steps(const CaseFile& file, const Facts& facts, Findings& findings);
/// What other pieces say; overrides nothing that was noticed on this one.
void find_in_mates(const CaseFile& file, const Facts& facts, Findings& findings);
void find_noticed(const Facts& facts, Findings& findings);

/// How damp it was about a coat while wet, for its family: -1 in order … +1; 0 where it is not known.
[[nodiscard]] Found dampness(const CaseFile& file, const CoatFacts& coat);

/// -1 where the slow clock surely got there, +1 where the fast one surely did not, between them by the
/// expected one; 0 without a clock.
[[nodiscard]] double short_of(const ClockReading* clock);

}  // namespace setwell::core
