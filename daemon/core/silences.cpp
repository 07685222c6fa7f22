#include "daemon/core/silences.hpp"

#include <algorithm>

#include "daemon/core/leg.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

struct StayHere {
  quantity::ZoneId zone;
  Instant from, until;
};

std::vector<StayHere> stays_of(const CoatCase& coat, Instant now) {
  std::vector<StayHere> all{{coat.coat.made.zone, coat.coat.made.first_pass - coat.coat.error, now}};
  for (const Stay& stay : coat.stays) {
    if (stay.since <= coat.coat.made.last_pass || stay.since >= now) continue;
    all.back().until = stay.since;
    all.push_back({stay.zone, stay.since, now});
  }
  return all;
}

template <typename Found>
void for_each_silent_piece(const CoatCase& coat, const AirOf& air, Instant now, Found&& found) {
  for (const StayHere& stay : stays_of(coat, now)) {
    const AirHistory* history = air(stay.zone);
    if (history == nullptr) continue;
    for (const AirPiece& piece : history->pieces(stay.from, stay.until)) {
      const auto surface =
          surface_source(coat, air, piece.from, Instant::max(), SurfaceHistory::Past::unknown);
      if (piece.temperature.silent && piece.temperature.closed &&
          !measured_surface(coat, surface, piece.from))
        found(stay, *history, piece);
    }
  }
}

/// Told often enough that nothing is silent any more.
void tell(AirHistory& air, const AirPiece& piece) {
  const auto step = std::min(air.limits().temperature_silent_after, air.limits().humidity_silent_after);
  for (Instant at = piece.from + quantity::Span(1); at < piece.to; at += step) {
    air.put_temperature({at, piece.temperature.middle, piece.temperature.error});
    if (piece.humidity && piece.humidity->silent)
      air.put_humidity({at, piece.humidity->middle, piece.humidity->error});
  }
}

}  // namespace

std::vector<SilentStretch> silences_of(const CoatCase& coat, const AirOf& air, Instant now) {
  std::vector<SilentStretch> all;
  for (const StayHere& stay : stays_of(coat, now)) {
    const AirHistory* history = air(stay.zone);
    if (history == nullptr) continue;
    const auto& points = history->temperature();
    auto next = std::upper_bound(points.begin(), points.end(), stay.from,
                                 [](Instant t, const AirPoint& p) { return t < p.at; });
    for (; next != points.begin() && next != points.end() && (next - 1)->at < stay.until; ++next) {
      if (next->at - (next - 1)->at <= history->limits().temperature_silent_after) continue;
      all.push_back({std::max((next - 1)->at, stay.from), std::min(next->at, stay.until)});
    }
  }
  return all;
}

std::map<quantity::ZoneId, AirHistory> bridged_air(const CoatCase& coat, const AirOf& air, Instant now) {
  std::map<quantity::ZoneId, AirHistory> bridged;
  for (const StayHere& stay : stays_of(coat, now)) {
    if (const AirHistory* history = air(stay.zone)) bridged.emplace(stay.zone, *history);
  }
  for_each_silent_piece(coat, air, now, [&](const StayHere& stay, const AirHistory&, const AirPiece& piece) {
    tell(bridged.at(stay.zone), piece);
  });
  return bridged;
}

}  // namespace setwell::core
