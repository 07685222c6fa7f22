#include "daemon/api/review_answer.hpp"

#include <algorithm>

#include "daemon/api/from_core.hpp"
#include "daemon/core/review.hpp"
#include "daemon/core/review_lines.hpp"

namespace setwell::api {
namespace {

/// As fine as a page is wide.
constexpr std::size_t kMostPoints = 400;

class Answer {
 public:
  Answer(const core::CaseFile& file, const core::Review& review)
      : file_(file), review_(review), facts_(review.facts) {}

  ReviewAnswer make() {
    head();
    judgement();
    for (const auto& line : core::fact_lines(file_, review_))
      answer_.facts.push_back({line.topic, line.text});
    figures(facts_.coat);
    if (facts_.below) figures(*facts_.below);
    picture();
    return std::move(answer_);
  }

 private:
  [[nodiscard]] std::string text(quantity::Instant at) const { return time_text(at, file_.display.zone); }

  void head() {
    const auto& piece = *facts_.coat.piece;
    answer_.time = text(file_.now);
    answer_.title = file_.title;
    answer_.piece = piece.id.text();
    answer_.coat = facts_.coat.coat->number;
    answer_.sheet = facts_.coat.coat->made.sheet.text();
    answer_.display = from_core(file_.display);
    for (const auto sign : facts_.signs)
      answer_.signs.emplace_back(core::word(sign));
    for (const auto& defect : piece.defects) {
      if (defect.body.where) answer_.where.push_back(*defect.body.where);
      if (defect.body.photo) answer_.photos.push_back(*defect.body.photo);
    }
  }

  void judgement() {
    answer_.summary = review_.summary;
    answer_.settled = review_.settled;
    answer_.weather = core::word(review_.weather);
    answer_.next_test = review_.next_test;
    answer_.absent = facts_.missing;
    answer_.cautions = core::review_cautions(review_);
    for (const auto& found : review_.causes) {
      ReviewCause cause;
      cause.cause = core::word(found.cause);
      cause.meaning = core::meaning(found.cause);
      cause.level = found.level;
      cause.weather = core::is_weather(found.cause);
      cause.for_ = found.speaks_for;
      cause.against = found.against;
      cause.missing = found.missing;
      cause.remedies.assign(found.remedies.begin(), found.remedies.end());
      answer_.causes.push_back(std::move(cause));
    }
  }

  void figures(const core::CoatFacts& coat) {
    for (const auto& phase : coat.phases) {
      ReviewPhase shown;
      shown.coat = coat.coat->number;
      shown.phase = phase.phase;
      shown.from = text(phase.from);
      shown.to = text(phase.to);
      shown.reached = phase.ended;
      shown.silent_s = phase.silent_h * 3600;
      shown.air_least_c = phase.air_c.least;
      shown.air_most_c = phase.air_c.most;
      shown.surface_least_c = phase.surface_c.least;
      shown.surface_most_c = phase.surface_c.most;
      shown.humidity_least_pct = phase.humidity_pct.least;
      shown.humidity_most_pct = phase.humidity_pct.most;
      shown.dew_margin_least_k = phase.dew_margin_k.least;
      answer_.phases.push_back(std::move(shown));
    }
    for (const auto& outside : coat.outside) {
      const auto told = core::told(outside.rule, outside.worst, outside.rule.from);
      answer_.bounds.push_back({coat.coat->number, told.what, told.unit, outside.rule.bound,
                                outside.rule.is_limit, text(outside.rule.from), text(outside.rule.to),
                                outside.hours * 3600, outside.worst});
    }
  }

  void picture() {
    const auto span = core::picture_span(facts_);
    answer_.from = text(span.from);
    answer_.to = text(span.to);
    for (const auto& step : core::picture_course(facts_, kMostPoints)) {
      ReviewPoint point;
      point.at = text(step.to);
      if (!step.silent) {
        point.air_c = step.air_c;
        point.surface_c = step.surface.expected;
        point.surface_low_c = step.surface.lower;
        point.surface_high_c = step.surface.upper;
        point.dew_point_c = step.dew_point_c;
        point.humidity_pct = step.humidity_pct;
      }
      answer_.course.push_back(std::move(point));
    }
    for (const auto& lane : core::lane_lines(facts_))
      answer_.lanes.push_back(
          {lane.name, text(lane.maybe_from), text(lane.from), text(lane.to), text(lane.maybe_to)});
    for (const auto& event : core::event_lines(file_, facts_))
      answer_.events.push_back({text(event.at), event.text});
  }

  const core::CaseFile& file_;
  const core::Review& review_;
  const core::Facts& facts_;
  ReviewAnswer answer_;
};

}  // namespace

ReviewAnswer review_answer(const core::CaseFile& file, const core::Subject& subject,
                           std::vector<core::Sign> signs) {
  const auto review = core::review(file, subject, std::move(signs));
  return Answer(file, review).make();
}

}  // namespace setwell::api
