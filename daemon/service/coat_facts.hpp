#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/service/notice_facts.hpp"
#include "daemon/service/piece_view.hpp"

namespace setwell::service {

/// Collects the facts of one coat, which share their content.
class CoatFacts {
 public:
  CoatFacts(CoatView view, core::NoticeContent content, std::vector<core::NoticeFact>& to)
      : view_(std::move(view)), content_(std::move(content)), to_(to) {}

  void add(core::NoticeKind kind, core::Standing standing, std::optional<quantity::Instant> since,
           std::optional<quantity::Instant> due = {}, std::optional<quantity::Instant> useless_after = {},
           std::string_view part = {}) {
    core::NoticeFact fact;
    fact.subject = subject_of(view_.coat->id) + std::string(part);
    fact.kind = kind;
    fact.standing = standing;
    fact.since = since.value_or(view_.outlook->now);
    fact.due = due;
    fact.useless_after = useless_after;
    fact.content = content_;
    to_.push_back(std::move(fact));
  }

  /// A milestone reached by the slow clock.
  void reached(core::NoticeKind kind, const core::ClockReading* clock) {
    if (clock == nullptr || clock->no_limit) return;
    content_.without_end = true;
    add(kind, clock->reached.slow ? core::Standing::holds : core::Standing::not_yet, clock->at.slow,
        clock->at.slow);
  }

  [[nodiscard]] const CoatView& view() const { return view_; }
  [[nodiscard]] core::NoticeContent& content() { return content_; }

 private:
  CoatView view_;
  core::NoticeContent content_;
  std::vector<core::NoticeFact>& to_;
};

}  // namespace setwell::service
