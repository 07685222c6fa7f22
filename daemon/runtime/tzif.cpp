#include "daemon/runtime/tzif.hpp"

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

#include "daemon/runtime/zone_rule.hpp"

namespace setwell::runtime {

namespace {

using quantity::Instant;
using quantity::TimeZone;
using Changes = std::vector<TimeZone::Change>;

std::int64_t big_endian(std::string_view bytes) {
  // Sign-extends from the first byte, as both widths of the format are two's complement.
  std::int64_t value = static_cast<signed char>(bytes.front());
  for (const char byte : bytes.substr(1))
    value = value * 256 + static_cast<unsigned char>(byte);
  return value;
}

/// The six counts of a header, in the order of the format.
struct Header {
  std::int64_t is_ut = 0, is_std = 0, leap = 0, time = 0, type = 0, chars = 0;

  [[nodiscard]] bool plausible() const {
    const auto least = std::min({is_ut, is_std, leap, time, type, chars});
    const auto most = std::max({is_ut, is_std, leap, time, type, chars});
    return least >= 0 && most < 100'000 && type >= 1 && type <= 256;
  }
  [[nodiscard]] std::int64_t body(std::int64_t time_size) const {
    return time * time_size + time + type * 6 + chars + leap * (time_size + 4) + is_std + is_ut;
  }
};
constexpr std::size_t kHeaderSize = 44;

std::optional<Header> read_header(std::string_view bytes) {
  if (bytes.size() < kHeaderSize || !bytes.starts_with("TZif") || bytes[4] < '2') return {};
  const auto count = [&](std::size_t index) { return big_endian(bytes.substr(20 + 4 * index, 4)); };
  Header header{count(0), count(1), count(2), count(3), count(4), count(5)};
  if (!header.plausible()) return {};
  return header;
}

std::chrono::minutes rounded(std::chrono::seconds offset) {
  return std::chrono::round<std::chrono::minutes>(offset);
}

/// The 64-bit body: its times, then the type of each, then the types' offsets.
class Body {
 public:
  Body(const Header& header, std::string_view bytes) : header_(header), bytes_(bytes) {}

  [[nodiscard]] std::chrono::minutes first_offset() const { return offset_of(0); }

  /// Nothing when a time names a type that is not there.
  [[nodiscard]] std::optional<Changes> changes() const {
    Changes changes;
    for (std::int64_t i = 0; i < header_.time; ++i) {
      const auto type = static_cast<unsigned char>(bytes_[static_cast<std::size_t>(header_.time * 8 + i)]);
      if (type >= header_.type) return {};
      const auto at = big_endian(bytes_.substr(static_cast<std::size_t>(i * 8), 8));
      if (std::abs(at) > kFarthest) continue;
      changes.push_back({Instant(std::chrono::seconds(at)), offset_of(type)});
    }
    return changes;
  }

 private:
  /// Some files begin with a "big bang" far outside every calendar.
  static constexpr std::int64_t kFarthest = 100'000'000'000;

  [[nodiscard]] std::chrono::minutes offset_of(std::int64_t type) const {
    const auto start = static_cast<std::size_t>(header_.time * 9 + type * 6);
    return rounded(std::chrono::seconds(big_endian(bytes_.substr(start, 4))));
  }

  const Header& header_;
  std::string_view bytes_;
};

Changes changes_in(std::chrono::year year, const ZoneRule& rule) {
  const auto& daylight = *rule.daylight;
  const auto utc = [&](const YearlyChange& change, std::chrono::seconds before) {
    return Instant(change.in(year).time_since_epoch() - before);
  };
  Changes changes{{utc(daylight.begins, rule.standard), rounded(daylight.offset)},
                  {utc(daylight.ends, daylight.offset), rounded(rule.standard)}};
  if (changes[1].at < changes[0].at) std::swap(changes[0], changes[1]);
  return changes;
}

std::chrono::year year_of(Instant at) {
  return std::chrono::year_month_day(std::chrono::floor<std::chrono::days>(at)).year();
}

void add_change(Changes& changes, const TimeZone::Change& next) {
  if (!changes.empty() && (next.at <= changes.back().at || next.offset == changes.back().offset)) return;
  changes.push_back(next);
}

/// Continues the list by the rule, from its last change (or 1970) to `until`.
void extend(Changes& changes, const ZoneRule& rule, Instant until) {
  const Instant from = changes.empty() ? Instant{} : changes.back().at;
  if (!rule.daylight) return add_change(changes, {from + quantity::Span(1), rounded(rule.standard)});
  for (auto year = year_of(from); year <= year_of(until); ++year) {
    for (const auto& change : changes_in(year, rule))
      add_change(changes, change);
  }
}

}  // namespace

std::optional<TimeZone> parse_tzif(std::string_view name, std::string_view bytes, Instant until) {
  const auto narrow = read_header(bytes);
  if (!narrow) return {};
  const auto skip = kHeaderSize + static_cast<std::size_t>(narrow->body(4));
  if (bytes.size() < skip) return {};
  bytes.remove_prefix(skip);
  const auto wide = read_header(bytes);
  if (!wide) return {};
  bytes.remove_prefix(kHeaderSize);
  const auto size = static_cast<std::size_t>(wide->body(8));
  if (bytes.size() < size + 2 || bytes[size] != '\n' || bytes.back() != '\n') return {};

  const Body body(*wide, bytes.substr(0, size));
  auto changes = body.changes();
  if (!changes) return {};
  const auto footer = bytes.substr(size + 1, bytes.size() - size - 2);
  if (!footer.empty()) {
    const auto rule = parse_zone_rule(footer);
    if (!rule) return {};
    extend(*changes, *rule, until);
  }
  return TimeZone(std::string(name), body.first_offset(), std::move(*changes));
}

}  // namespace setwell::runtime
