#include "daemon/core/time_phrase.hpp"

#include <algorithm>
#include <optional>
#include <string>

#include <fmt/format.h>

#include "daemon/core/clock_phrase.hpp"

namespace setwell::core {
namespace {

using quantity::Instant;
using quantity::LocalTime;
using quantity::Result;
using quantity::Span;
using quantity::TimeZone;
using Day = std::chrono::local_days;

constexpr Span kWallClockSlack = std::chrono::minutes(2);
constexpr std::string_view kHowToSay =
    "say it like 20m (ago), 14:30, 14:00..15:00, ~14:30, yesterday 21:00, or 2031-03-04 21:00";

std::string lower_case(std::string_view text) {
  std::string lower(text);
  for (char& c : lower) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return lower;
}

bool skip_word(std::string_view& rest, std::string_view wanted) {
  if (!rest.starts_with(wanted)) return false;
  rest = trimmed(rest.substr(wanted.size()));
  return true;
}

std::string date_text(Day day) {
  const std::chrono::year_month_day date(day);
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                     static_cast<unsigned>(date.day()));
}

quantity::Error unreadable(std::string_view text) {
  return quantity::invalid(fmt::format("'{}' is not a time: {}", text, kHowToSay));
}

/// Reads one moment. `bare` tells the caller that no day was said.
class Reader {
 public:
  struct Moment {
    Instant at;
    Span error{0};
    bool bare = false;
  };

  Reader(Instant now, const TimeZone& zone, Ahead ahead)
      : now_(now),
        zone_(zone),
        ahead_(ahead),
        today_(std::chrono::floor<std::chrono::days>(zone.to_local(now))) {}

  [[nodiscard]] Result<Moment> read(std::string_view text) const {
    text = trimmed(text);
    const bool about = skip_word(text, "~");
    auto moment = plain(text);
    if (moment && about) moment->error = std::max(moment->error, kErrorAbout);
    return moment;
  }

  /// A bare clock time as the end of a stretch that began at `from`: the first such time not before it.
  [[nodiscard]] Result<Moment> end_after(std::string_view text, Instant from) const {
    const auto clock = read_clock(trimmed(text));
    if (!clock.of_day) return read(text);
    const Day day = std::chrono::floor<std::chrono::days>(zone_.to_local(from));
    auto same_day = on_day(day, *clock.of_day, kErrorTyped);
    if (!same_day || same_day->at >= from) return same_day;
    return on_day(day + std::chrono::days(1), *clock.of_day, kErrorTyped);
  }

  /// The latest such bare clock time that has come.
  [[nodiscard]] Result<Moment> latest(Span of_day) const {
    auto moment = on_day(today_, of_day, kErrorTyped);
    if (!moment || moment->at <= now_) return moment;
    return on_day(today_ - std::chrono::days(1), of_day, kErrorTyped);
  }

  [[nodiscard]] Ahead ahead() const { return ahead_; }
  [[nodiscard]] Instant now() const { return now_; }

 private:
  [[nodiscard]] Result<Moment> plain(std::string_view text) const {
    if (text.empty() || text == "now") return Moment{now_, kErrorNow};
    if (const auto clock = read_clock(text); clock.looks_like_one) return bare_clock(text, clock);
    if (skip_word(text, "today ")) return with_day(text, today_, kErrorTyped);
    if (skip_word(text, "yesterday ")) {
      return with_day(text, today_ - std::chrono::days(1), kErrorEarlierDay);
    }
    if (skip_word(text, "tomorrow ")) return tomorrow(text);
    if (const auto civil = quantity::parse_civil(upper_marks(text))) return dated(text, *civil);
    if (text.size() > 10 && text[4] == '-') return date_and_clock(text);
    return ago(text);
  }

  /// RFC 3339 in small letters is none to every reader.
  static std::string upper_marks(std::string_view text) {
    std::string marks(text);
    std::replace(marks.begin(), marks.end(), 't', 'T');
    std::replace(marks.begin(), marks.end(), 'z', 'Z');
    return marks;
  }

  [[nodiscard]] Result<Moment> ago(std::string_view text) const {
    std::string_view length = text;
    if (length.ends_with("ago")) length = trimmed(length.substr(0, length.size() - 3));
    const auto span = read_duration(length);
    if (!span) {
      const bool looks_like_a_length = length.find_first_of("0123456789") == 0 && length.ends_with('d');
      return looks_like_a_length ? span.error() : unreadable(text);
    }
    return Moment{now_ - *span, kErrorTyped};
  }

  [[nodiscard]] Result<Moment> tomorrow(std::string_view text) const {
    if (ahead_ == Ahead::refused) {
      return quantity::refused("tomorrow has not come yet: log it when it is done");
    }
    return with_day(text, today_ + std::chrono::days(1), kErrorTyped);
  }

  [[nodiscard]] Result<Moment> with_day(std::string_view text, Day day, Span error) const {
    const auto clock = read_clock(text);
    if (!clock.looks_like_one) return unreadable(text);
    if (!clock.of_day) return impossible(text);
    return not_far_ahead(text, on_day(day, *clock.of_day, error));
  }

  [[nodiscard]] Result<Moment> bare_clock(std::string_view text, const ClockPhrase& clock) const {
    if (!clock.of_day) return impossible(text);
    auto moment = on_day(today_, *clock.of_day, kErrorTyped);
    if (!moment) return moment;
    moment->bare = true;
    if (ahead_ == Ahead::allowed || moment->at <= now_) return moment;
    if (moment->at - now_ <= kWallClockSlack) return Moment{now_, kErrorTyped, true};
    const std::string time = clock_text(*clock.of_day);
    return quantity::refused(
        fmt::format("{0} has not come yet today: say 'yesterday {0}' or 'today {0}'", time));
  }

  /// `2031-03-04 9:30pm` and other clocks that RFC 3339 does not know.
  [[nodiscard]] Result<Moment> date_and_clock(std::string_view text) const {
    const auto midnight = quantity::parse_civil(std::string(text.substr(0, 10)) + "T00:00");
    const auto clock = read_clock(trimmed(text.substr(11)));
    if (!midnight || !clock.looks_like_one) return unreadable(text);
    if (!clock.of_day) return impossible(text);
    return dated(text, {midnight->local + *clock.of_day, std::nullopt});
  }

  [[nodiscard]] Result<Moment> dated(std::string_view text, const quantity::CivilTime& civil) const {
    if (civil.offset) {
      return not_far_ahead(text,
                           Moment{Instant(civil.local.time_since_epoch() - *civil.offset), kErrorTyped});
    }
    const Day day = std::chrono::floor<std::chrono::days>(civil.local);
    return not_far_ahead(text, on_day(day, civil.local - day, day < today_ ? kErrorEarlierDay : kErrorTyped));
  }

  [[nodiscard]] Result<Moment> not_far_ahead(std::string_view text, Result<Moment> moment) const {
    if (!moment || ahead_ == Ahead::allowed || moment->at - now_ <= Span(std::chrono::days(1))) return moment;
    return quantity::refused(fmt::format("{} has not come yet: log it when it is done", text));
  }

  static quantity::Error impossible(std::string_view text) {
    return quantity::invalid(fmt::format("no clock shows {}: {}", text, kHowToSay));
  }

  /// The moment a clock showed that time on that day.
  [[nodiscard]] Result<Moment> on_day(Day day, Span of_day, Span error) const {
    auto moments = zone_.moments_of(LocalTime(day) + of_day);
    if (moments.empty()) {
      return quantity::invalid(fmt::format("{} {} did not exist: the clock was put forward over it",
                                           date_text(day), clock_text(of_day)));
    }
    if (moments.size() > 1 && ahead_ == Ahead::refused && moments.back() > now_) moments.pop_back();
    if (moments.size() > 1) {
      return quantity::invalid(fmt::format("{} {} came twice, the clock was put back: say {} or {}",
                                           date_text(day), clock_text(of_day),
                                           quantity::rfc3339(moments[0], zone_.offset_at(moments[0])),
                                           quantity::rfc3339(moments[1], zone_.offset_at(moments[1]))));
    }
    return Moment{moments.front(), error};
  }

  Instant now_;
  const TimeZone& zone_;
  Ahead ahead_;
  Day today_;
};

/// The beginning of a stretch: over midnight its clock time is yesterday's, if today's has not come.
Result<Reader::Moment> beginning_of(const Reader& reader, std::string_view text) {
  const auto clock = read_clock(trimmed(text));
  if (clock.of_day && reader.ahead() == Ahead::refused) return reader.latest(*clock.of_day);
  return reader.read(text);
}

Result<TimePhrase> read_stretch(const Reader& reader, std::string_view from_text, std::string_view to_text) {
  if (trimmed(from_text).empty() || trimmed(to_text).empty()) {
    return quantity::invalid("a stretch needs both ends, like 14:00..15:00");
  }
  const auto from = beginning_of(reader, from_text);
  if (!from) return from.error();
  auto to = reader.end_after(to_text, from->at);
  if (!to) return to.error();
  if (to->at < from->at)
    return quantity::invalid("the stretch ends before it begins: give the earlier time first");
  if (to->at > reader.now() && reader.ahead() == Ahead::refused) {
    if (to->at - reader.now() > kWallClockSlack) {
      return quantity::refused(fmt::format("{} has not come yet: log it when it is done", trimmed(to_text)));
    }
    to->at = std::max(reader.now(), from->at);
  }
  return TimePhrase{from->at, to->at, std::max(from->error, to->error)};
}

}  // namespace

Result<TimePhrase> read_time(std::string_view text, Instant now, const TimeZone& zone, Ahead ahead) {
  const Reader reader(now, zone, ahead);
  const std::string lower = lower_case(trimmed(text));
  const std::string_view phrase = lower;
  if (const auto dots = phrase.find(".."); dots != std::string_view::npos) {
    return read_stretch(reader, phrase.substr(0, dots), phrase.substr(dots + 2));
  }
  const auto moment = reader.read(phrase);
  if (!moment) return moment.error();
  return TimePhrase{moment->at, moment->at, moment->error};
}

}  // namespace setwell::core
