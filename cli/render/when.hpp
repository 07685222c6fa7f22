#pragma once

#include <optional>
#include <string>

#include "daemon/api/messages/common.hpp"
#include "daemon/core/show.hpp"

/// Times, temperatures and spans of an answer as the maker reads them. The command line has no time zones of
/// its own: every time in an answer carries its offset, and that is the clock it is shown by.
namespace setwell::cli {

/// How one answer is shown: the workshop's wishes, and the moment "today" is counted from.
class Reading {
 public:
  /// `now` is the answer's own time where it has one.
  Reading(const api::DisplayWish& wish, std::optional<quantity::Instant> now, quantity::Instant clock_now);

  /// `today 14:30`; opening moments are rounded up to the next full minute. Unreadable text is shown as it
  /// is.
  [[nodiscard]] std::string moment(const std::string& rfc3339,
                                   core::Minute minute = core::Minute::past) const;
  /// `today 14:30 to 18:00`, `from today 14:30`, empty when both are.
  [[nodiscard]] std::string stretch(const std::optional<std::string>& from,
                                    const std::optional<std::string>& until) const;
  /// The hour alone, for a drawing: `14`, or `2pm`.
  [[nodiscard]] std::string hour(const std::string& rfc3339) const;
  [[nodiscard]] std::string temperature(double celsius) const;
  [[nodiscard]] std::string difference(double kelvin) const;
  [[nodiscard]] std::string seconds(double span) const;
  [[nodiscard]] quantity::Instant now() const { return now_; }

 private:
  [[nodiscard]] core::Display display_at(const std::string& rfc3339) const;
  core::Display display_;
  quantity::Instant now_;
};

}  // namespace setwell::cli
