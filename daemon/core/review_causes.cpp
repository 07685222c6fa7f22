#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "daemon/core/review.hpp"

namespace setwell::core {
namespace {

struct SignWeight {
  Sign sign;
  Cause cause;
  double weight;
  std::string_view provenance;
};

constexpr std::array kRatios = std::to_array<CauseRatio>({
#include "daemon/core/data/causes.inc"
});
#define SETWELL_SIGN_WEIGHTS
constexpr std::array kWeights = std::to_array<SignWeight>({
#include "daemon/core/data/causes.inc"
});
#undef SETWELL_SIGN_WEIGHTS

struct Remedy {
  Cause cause;
  int step;
  std::string_view text;
};
constexpr std::array kRemedies = std::to_array<Remedy>({
#include "daemon/core/data/remedies.inc"
});

constexpr double kUnnamed = 0.02;
constexpr std::size_t kMostTold = 8;
/// A factor nearer to one than this is not worth a line.
constexpr double kWorthTelling = 1.15;

double weight_of(Sign sign, Cause cause) {
  for (const auto& row : kWeights) {
    if (row.sign == sign && row.cause == cause) return row.weight;
  }
  return 0;
}

/// Several signs may come from one cause or from two: half the mean, half what explains all of them.
double weight_of(const std::vector<Sign>& signs, Cause cause) {
  double sum = 0, logs = 0;
  for (const auto sign : signs) {
    const double weight = weight_of(sign, cause);
    sum += weight;
    logs += std::log(std::max(weight, kUnnamed));
  }
  if (sum == 0) return 0;
  const auto count = static_cast<double>(signs.size());
  return 0.5 * sum / count + 0.5 * std::exp(logs / count);
}

/// ln of the factor of one line, by how sure the finding is.
double effect(const CauseRatio& ratio, double value) {
  return value >= 0 ? value * std::log(ratio.if_so) : -value * std::log(ratio.if_not);
}

struct Weighed {
  Cause cause;
  double ln_odds;
  double ln_for;  ///< what speaks for it, together
};

std::vector<Weighed> weigh(const Findings& findings, const std::vector<Sign>& signs,
                           std::span<const CauseRatio> ratios) {
  std::vector<Weighed> all;
  for (const auto cause : all_causes()) {
    const double weight = weight_of(signs, cause);
    if (weight <= 0) continue;
    Weighed weighed{cause, std::log(weight), 0};
    for (const auto& ratio : ratios) {
      if (ratio.cause != cause) continue;
      const double value = findings.value(ratio.finding);
      const double ln = effect(ratio, value);
      weighed.ln_odds += ln;
      if (value > 0 && ln > 0) weighed.ln_for += ln;
    }
    all.push_back(weighed);
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Weighed& a, const Weighed& b) { return a.ln_odds > b.ln_odds; });
  return all;
}

std::string line_of(const Found& found, const CauseRatio& ratio) {
  return found.text.empty() ? std::string(ratio.reason) : fmt::format("{} ({})", found.text, ratio.reason);
}

bool contains(const std::vector<std::string>& lines, std::string_view line) {
  return std::find(lines.begin(), lines.end(), line) != lines.end();
}

CauseFound told(const Weighed& weighed, const Findings& findings, std::span<const CauseRatio> ratios) {
  CauseFound cause;
  cause.cause = weighed.cause;
  for (const auto& ratio : ratios) {
    if (ratio.cause != weighed.cause) continue;
    const auto& found = findings[ratio.finding];
    const double ln = effect(ratio, found.value);
    if (std::abs(ln) > std::log(kWorthTelling)) {
      (ln > 0 ? cause.speaks_for : cause.against).push_back(line_of(found, ratio));
    } else if (found.value == 0 && std::max(ratio.if_so, 1 / ratio.if_not) >= 2.5) {
      const std::string wanted(question(ratio.finding));
      if (!contains(cause.missing, wanted)) cause.missing.push_back(wanted);
    }
  }
  for (const auto& remedy : kRemedies) {
    if (remedy.cause == weighed.cause) cause.remedies.push_back(remedy.text);
  }
  return cause;
}

void set_levels(std::vector<CauseFound>& causes, const std::vector<Weighed>& weighed) {
  double sum = 0;
  for (const auto& one : weighed)
    sum += std::exp(one.ln_odds);
  double top = weighed.front().ln_odds;
  int level = 1;
  for (std::size_t i = 0; i < causes.size(); ++i) {
    if (weighed[i].ln_odds < top - std::log(kLevel)) {
      top = weighed[i].ln_odds;
      ++level;
    }
    causes[i].level = level;
    causes[i].odds = std::exp(weighed[i].ln_odds) / sum;
  }
}

/// The trial that can still be made and moves two causes furthest apart, either way it comes out.
std::string best_trial(const Findings& findings, Cause first, Cause second,
                       std::span<const CauseRatio> ratios) {
  struct Pull {
    double so = 0, not_so = 0;
  };
  std::array<Pull, kFindingCount> pulls{};
  for (const auto& ratio : ratios) {
    if (ratio.cause != first && ratio.cause != second) continue;
    const double sign = ratio.cause == first ? 1 : -1;
    auto& pull = pulls[static_cast<std::size_t>(ratio.finding)];
    pull.so += sign * std::log(ratio.if_so);
    pull.not_so += sign * std::log(ratio.if_not);
  }
  double best = std::log(2.0);
  std::string_view text;
  for (std::size_t i = 0; i < kFindingCount; ++i) {
    const auto finding = static_cast<Finding>(i);
    if (findings.value(finding) != 0 || trial(finding).empty()) continue;
    const double power = std::abs(pulls[i].so - pulls[i].not_so);
    if (power <= best) continue;
    best = power;
    text = trial(finding);
  }
  return std::string(text);
}

/// Which finding about the air each cause of weather stands on.
double grounds(const Findings& findings, Cause cause) {
  switch (cause) {
    case Cause::cold_cure:
      return std::max(findings.value(Finding::under_floor), findings.value(Finding::cold));
    case Cause::too_hot:
      return findings.value(Finding::hot);
    case Cause::blush:
      return findings.value(Finding::blush_air);
    case Cause::moisture:
      return findings.value(Finding::damp);
    case Cause::too_dry:
      return findings.value(Finding::dry_air);
    case Cause::outgassing:
      return findings.value(Finding::warming);
    default:
      return -1;
  }
}

/// Cleared: every cause of weather that these signs could have is contradicted by the record, or far behind.
/// Suspect: one has grounds in the record and is on the first level or not far off.
Weather weather_of(const Findings& findings, const std::vector<CauseFound>& causes) {
  constexpr double kFar = 0.05;
  bool suspect = false, unknown = causes.empty();
  for (const auto& cause : causes) {
    if (!is_weather(cause.cause)) continue;
    const double ground = grounds(findings, cause.cause);
    if (ground >= 0.3 && (cause.level == 1 || cause.odds >= kFar)) suspect = true;
    if (ground == 0 && cause.odds >= kFar) unknown = true;
  }
  return suspect ? Weather::suspect : unknown ? Weather::unknown : Weather::cleared;
}

std::string summary_of(const Review& review) {
  if (review.causes.empty())
    return "No sign is logged on this coat: `setwell defect` records what is seen. The facts stand below.";
  const auto& first = review.causes.front();
  std::string text;
  if (review.settled) {
    text = fmt::format("What the records point to: {}.", meaning(first.cause));
  } else {
    std::string names;
    for (const auto& cause : review.causes) {
      if (cause.level == 1) names += (names.empty() ? "" : ", ") + std::string(word(cause.cause));
    }
    text = "The records do not tell: " + names +
           (first.speaks_for.empty() ? " are what such signs usually come from."
                                     : " cannot be told apart by them.");
  }
  if (review.weather == Weather::cleared)
    text += " The air was in order as far as these signs go; look elsewhere.";
  if (review.weather == Weather::unknown)
    text += " The record of the air does not reach to clear or to blame it.";
  return text;
}

}  // namespace

std::span<const CauseRatio> cause_ratios() {
  return kRatios;
}

std::string_view word(Weather weather) {
  switch (weather) {
    case Weather::cleared:
      return "cleared";
    case Weather::suspect:
      return "suspect";
    case Weather::unknown:
      break;
  }
  return "unknown";
}

Review review(const CaseFile& file, const Subject& subject, std::vector<Sign> signs,
              std::span<const CauseRatio> ratios) {
  Review made;
  made.facts = facts_of(file, subject, std::move(signs));
  made.findings = findings_of(file, made.facts);
  const auto& findings = made.findings;
  const auto weighed = weigh(findings, made.facts.signs, ratios);
  for (const auto& one : weighed)
    made.causes.push_back(told(one, findings, ratios));
  if (!weighed.empty()) {
    set_levels(made.causes, weighed);
    const bool alone = weighed.size() < 2 || made.causes[1].level > 1;
    const bool agreed = contradiction(made.facts.signs, *subject.piece, *made.facts.coat.coat).empty();
    made.settled = alone && agreed && weighed.front().ln_for >= std::log(kDeciding);
    if (!made.settled) {
      // Left over by elimination alone: what was second stands beside it.
      if (alone && weighed.size() > 1) made.causes[1].level = 1;
      if (weighed.size() > 1)
        made.next_test = best_trial(findings, weighed[0].cause, weighed[1].cause, ratios);
    } else if (weighed.size() > 1) {
      made.next_test = best_trial(findings, weighed[0].cause, weighed[1].cause, ratios);
    }
  }
  made.weather = weather_of(findings, made.causes);
  const auto keep = std::find_if(made.causes.begin(), made.causes.end(), [&](const CauseFound& cause) {
    return cause.level > 1 &&
           (cause.odds < 0.005 || &cause - made.causes.data() >= static_cast<std::ptrdiff_t>(kMostTold));
  });
  made.causes.erase(keep, made.causes.end());
  made.summary = summary_of(made);
  return made;
}

}  // namespace setwell::core
