#include "daemon/runtime/zone_rule.hpp"

namespace setwell::runtime {

namespace {

using std::chrono::seconds;

/// Takes a text apart from its front; every failure leaves `ok` false for good.
class Scanner {
 public:
  explicit Scanner(std::string_view text) : rest_(text) {}

  [[nodiscard]] bool ok() const { return ok_; }
  [[nodiscard]] bool at_end() const { return rest_.empty(); }
  [[nodiscard]] char peek() const { return rest_.empty() ? '\0' : rest_.front(); }

  bool take(char c) {
    if (peek() != c || rest_.empty()) return false;
    rest_.remove_prefix(1);
    return true;
  }
  void expect(char c) { ok_ = take(c) && ok_; }

  int number(int least, int most) {
    int value = 0;
    std::size_t digits = 0;
    while (digits < rest_.size() && digits < 4 && is_digit(rest_[digits])) {
      value = value * 10 + (rest_[digits++] - '0');
    }
    ok_ = ok_ && digits > 0 && value >= least && value <= most;
    rest_.remove_prefix(digits);
    return value;
  }

  /// `CET` or `<+03>`: at least three letters, or anything between the angles.
  void zone_name() {
    const bool quoted = take('<');
    std::size_t length = 0;
    while (length < rest_.size() && belongs(rest_[length], quoted))
      ++length;
    rest_.remove_prefix(length);
    ok_ = ok_ && length >= 3;
    if (quoted) expect('>');
  }

  /// `[+-]h[h[h]][:mm[:ss]]`
  seconds time(int most_hours) {
    const bool negative = take('-');
    if (!negative) take('+');
    seconds value = std::chrono::hours(number(0, most_hours));
    if (take(':')) value += std::chrono::minutes(number(0, 59));
    if (take(':')) value += seconds(number(0, 59));
    return negative ? -value : value;
  }

 private:
  static bool is_digit(char c) { return c >= '0' && c <= '9'; }
  static bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
  static bool belongs(char c, bool quoted) {
    return is_letter(c) || (quoted && (is_digit(c) || c == '+' || c == '-'));
  }

  std::string_view rest_;
  bool ok_ = true;
};

YearlyChange scan_change(Scanner& scan) {
  YearlyChange change;
  scan.expect(',');
  if (scan.take('M')) {
    change.month = static_cast<unsigned>(scan.number(1, 12));
    scan.expect('.');
    change.week = static_cast<unsigned>(scan.number(1, 5));
    scan.expect('.');
    change.weekday = static_cast<unsigned>(scan.number(0, 6));
  } else if (scan.take('J')) {
    change.form = YearlyChange::Form::julian;
    change.day = scan.number(1, 365);
  } else {
    change.form = YearlyChange::Form::day_of_year;
    change.day = scan.number(0, 365);
  }
  if (scan.take('/')) change.at = scan.time(167);
  return change;
}

std::chrono::local_days month_week_day(std::chrono::year year, const YearlyChange& change) {
  using namespace std::chrono;
  const month in{change.month};
  const weekday day{change.weekday};
  if (change.week == 5) return local_days(year / in / day[last]);
  return local_days(year / in / day[change.week]);
}

}  // namespace

std::chrono::local_seconds YearlyChange::in(std::chrono::year year) const {
  using namespace std::chrono;
  const local_days first(year / January / 1);
  switch (form) {
    case Form::month_week_day:
      return month_week_day(year, *this) + at;
    case Form::day_of_year:
      return first + days(day) + at;
    case Form::julian:
      break;
  }
  const bool after_leap_day = year.is_leap() && day >= 60;
  return first + days(day - (after_leap_day ? 0 : 1)) + at;
}

std::optional<ZoneRule> parse_zone_rule(std::string_view text) {
  Scanner scan(text);
  ZoneRule rule;
  scan.zone_name();
  rule.standard = -scan.time(24);
  if (scan.ok() && !scan.at_end()) {
    ZoneRule::Daylight daylight;
    scan.zone_name();
    daylight.offset = scan.peek() == ',' ? rule.standard + std::chrono::hours(1) : -scan.time(24);
    daylight.begins = scan_change(scan);
    daylight.ends = scan_change(scan);
    rule.daylight = daylight;
  }
  if (!scan.ok() || !scan.at_end()) return {};
  return rule;
}

}  // namespace setwell::runtime
