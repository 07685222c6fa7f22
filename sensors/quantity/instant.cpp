#include "sensors/quantity/instant.hpp"

#include <charconv>
#include <cstdio>
#include <cstdlib>

namespace setwell::quantity {
namespace {

using std::chrono::milliseconds;
using std::chrono::minutes;

std::string civil_text(std::chrono::local_time<milliseconds> local) {
  const auto day = std::chrono::floor<std::chrono::days>(local);
  const std::chrono::year_month_day date(day);
  const auto since_midnight = local - day;
  const auto whole = std::chrono::floor<std::chrono::seconds>(since_midnight);
  const long seconds = static_cast<long>(whole.count());
  const long ms = static_cast<long>((since_midnight - whole).count());
  char text[48];
  std::snprintf(text, sizeof text, "%04d-%02u-%02uT%02ld:%02ld:%02ld", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()), seconds / 3600,
                seconds / 60 % 60, seconds % 60);
  std::string out = text;
  if (ms != 0) {
    std::snprintf(text, sizeof text, ".%03ld", ms);
    out += text;
  }
  return out;
}

/// Eats digits from the front of a text.
class Cursor {
 public:
  explicit Cursor(std::string_view text) : rest_(text) {}
  [[nodiscard]] bool done() const { return rest_.empty(); }
  [[nodiscard]] char peek() const { return rest_.empty() ? '\0' : rest_.front(); }
  bool skip(char wanted) {
    if (peek() != wanted) return false;
    rest_.remove_prefix(1);
    return true;
  }
  std::optional<int> digits(std::size_t count) {
    int value = 0;
    if (rest_.size() < count) return std::nullopt;
    const auto [end, error] = std::from_chars(rest_.data(), rest_.data() + count, value);
    if (error != std::errc{} || end != rest_.data() + count || rest_.front() == '-') return std::nullopt;
    rest_.remove_prefix(count);
    return value;
  }
  /// A decimal fraction after the point, as milliseconds; digits beyond the third are dropped.
  std::optional<milliseconds> fraction() {
    int value = 0;
    int scale = 100;
    bool any = false;
    while (peek() >= '0' && peek() <= '9') {
      value += (peek() - '0') * scale;
      scale /= 10;
      any = true;
      rest_.remove_prefix(1);
    }
    if (!any) return std::nullopt;
    return milliseconds(value);
  }

 private:
  std::string_view rest_;
};

std::optional<minutes> parse_offset(Cursor& cursor) {
  if (cursor.skip('Z') || cursor.skip('z')) return minutes(0);
  const int sign = cursor.peek() == '-' ? -1 : 1;
  if (!cursor.skip('+') && !cursor.skip('-')) return std::nullopt;
  const auto hours = cursor.digits(2);
  cursor.skip(':');
  const auto rest = cursor.digits(2);
  if (!hours || !rest || *hours > 23 || *rest > 59) return std::nullopt;
  return minutes(sign * (*hours * 60 + *rest));
}

std::optional<std::chrono::local_days> parse_date(Cursor& cursor) {
  const auto year = cursor.digits(4);
  if (!year || !cursor.skip('-')) return std::nullopt;
  const auto month = cursor.digits(2);
  if (!month || !cursor.skip('-')) return std::nullopt;
  const auto day = cursor.digits(2);
  if (!day) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(*year),
                                         std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!date.ok()) return std::nullopt;
  return std::chrono::local_days(date);
}

std::optional<milliseconds> parse_clock(Cursor& cursor) {
  const auto hour = cursor.digits(2);
  if (!hour || *hour > 23 || !cursor.skip(':')) return std::nullopt;
  const auto minute = cursor.digits(2);
  if (!minute || *minute > 59) return std::nullopt;
  milliseconds of_day = std::chrono::hours(*hour) + minutes(*minute);
  if (!cursor.skip(':')) return of_day;
  const auto second = cursor.digits(2);
  if (!second || *second > 59) return std::nullopt;
  of_day += std::chrono::seconds(*second);
  if (!cursor.skip('.')) return of_day;
  const auto fraction = cursor.fraction();
  if (!fraction) return std::nullopt;
  return of_day + *fraction;
}

}  // namespace

std::string rfc3339_utc(Instant at) {
  return civil_text(std::chrono::local_time<milliseconds>(at.time_since_epoch())) + "Z";
}

std::string rfc3339(Instant at, minutes offset) {
  const int total = std::abs(static_cast<int>(offset.count()));
  char text[32];
  std::snprintf(text, sizeof text, "%c%02d:%02d", offset.count() < 0 ? '-' : '+', total / 60, total % 60);
  return civil_text(std::chrono::local_time<milliseconds>(at.time_since_epoch() + offset)) + text;
}

std::optional<CivilTime> parse_civil(std::string_view text) {
  Cursor cursor(text);
  const auto date = parse_date(cursor);
  if (!date || (!cursor.skip('T') && !cursor.skip('t') && !cursor.skip(' '))) return std::nullopt;
  const auto clock = parse_clock(cursor);
  if (!clock) return std::nullopt;
  CivilTime civil{*date + *clock, std::nullopt};
  if (cursor.done()) return civil;
  civil.offset = parse_offset(cursor);
  if (!civil.offset || !cursor.done()) return std::nullopt;
  return civil;
}

std::optional<Instant> parse_rfc3339(std::string_view text) {
  const auto civil = parse_civil(text);
  if (!civil || !civil->offset) return std::nullopt;
  return Instant(civil->local.time_since_epoch() - *civil->offset);
}

}  // namespace setwell::quantity
