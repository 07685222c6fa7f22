#include "sensors/decode/device_time.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace setwell::decode {
namespace {

using quantity::Instant;
using quantity::Span;

/// A moment that a stamp states; `sure` is false where a local time could as well mean another one.
struct Stated {
  Instant at;
  bool sure = true;
};

/// Decimal seconds since 1970 of ten digits, milliseconds of thirteen; other magnitudes are another unit.
std::optional<Stated> from_epoch(double number, double per_second) {
  const double seconds = number / per_second;
  if (!(seconds >= 1e9 && seconds < 1e10)) return std::nullopt;
  return Stated{Instant(Span(std::llround(seconds * 1000.0)))};
}

/// The moments a local time may mean: none are lost in a skipped hour, where both offsets around it are
/// tried.
std::vector<Instant> candidates(const quantity::TimeZone& zone, quantity::LocalTime local) {
  auto moments = zone.moments_of(local);
  if (!moments.empty()) return moments;
  const Instant guess(local.time_since_epoch());
  const Instant a = guess - zone.offset_at(guess - std::chrono::days(1));
  const Instant b = guess - zone.offset_at(guess + std::chrono::days(1));
  return a == b ? std::vector{a} : std::vector{std::min(a, b), std::max(a, b)};
}

Span distance(Instant a, Instant b) {
  return a < b ? b - a : a - b;
}

/// The candidate nearest to the receive time. It is sure where it is the only one that does not lie ahead, or
/// clearly nearer than the other: live readings come within minutes, the candidates are an hour apart.
std::optional<Stated> nearest(const std::vector<Instant>& moments, Instant received) {
  if (moments.empty()) return std::nullopt;
  const auto nearer = [&](Instant a, Instant b) { return distance(a, received) < distance(b, received); };
  const Instant best = *std::min_element(moments.begin(), moments.end(), nearer);
  const auto possible = std::count_if(moments.begin(), moments.end(),
                                      [&](Instant moment) { return moment <= received + kMostAhead; });
  const bool close = distance(best, received) < (moments.back() - moments.front()) / 2;
  return Stated{best, moments.size() == 1 || possible == 1 || close};
}

std::optional<Stated> from_iso(const ChannelSpec& spec, const std::string& text, Instant received) {
  const auto civil = quantity::parse_civil(text);
  if (!civil) return std::nullopt;
  if (civil->offset) return Stated{Instant(civil->local.time_since_epoch() - *civil->offset)};
  if (!spec.time_zone) return std::nullopt;
  return nearest(candidates(*spec.time_zone, civil->local), received);
}

std::optional<Stated> stated(const ChannelSpec& spec, const TimeStamp& stamp, Instant received) {
  switch (stamp.kind) {
    case TimeStamp::Kind::number:
      return from_epoch(stamp.number, spec.time_unit == TimeUnit::milliseconds ? 1000.0 : 1.0);
    case TimeStamp::Kind::absolute_s:
      return from_epoch(stamp.number, 1.0);
    case TimeStamp::Kind::relative_s:
      if (std::abs(stamp.number) > 3e8) return std::nullopt;
      return Stated{received + Span(std::llround(stamp.number * 1000.0))};
    case TimeStamp::Kind::text:
      return from_iso(spec, stamp.text, received);
    case TimeStamp::Kind::none:
    case TimeStamp::Kind::unusable:
      return std::nullopt;
  }
  return std::nullopt;
}

bool believable(Instant at, Instant received) {
  return at >= (received < kFirstBelievableTime ? kFirstRehearsedTime : kFirstBelievableTime);
}

bool may_have_waited(const RawMessage& message) {
  return message.session_resumed && message.since_connected < kQueuedWithin;
}

TimeQuality quality_by_receiving(const RawMessage& message) {
  return may_have_waited(message) ? TimeQuality::uncertain : TimeQuality::certain;
}

}  // namespace

std::optional<Instant> stated_time(const ChannelSpec& spec, const TimeStamp& stamp, Instant received) {
  const auto found = stated(spec, stamp, received);
  if (!found || !believable(found->at, received)) return std::nullopt;
  return found->at;
}

Timed resolve_time(const ChannelSpec& spec, const TimeStamp& stamp, const RawMessage& message) {
  if (stamp.kind == TimeStamp::Kind::none) return {message.received, quality_by_receiving(message), false};
  const auto found = stated(spec, stamp, message.received);
  const bool usable =
      found && believable(found->at, message.received) && found->at <= message.received + kMostAhead;
  if (!usable) return {message.received, TimeQuality::bad, false};
  if (stamp.kind == TimeStamp::Kind::relative_s) return {found->at, quality_by_receiving(message), false};
  return {found->at, found->sure ? TimeQuality::certain : TimeQuality::uncertain, true};
}

}  // namespace setwell::decode
