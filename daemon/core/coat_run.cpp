#include "daemon/core/coat_run.hpp"

#include <algorithm>
#include <cstring>
#include <limits>

#include "daemon/core/coat_state.hpp"

namespace setwell::core {

using quantity::Instant;

namespace {

constexpr std::size_t kPiecesAtOnce = 256;
constexpr char kMark[4] = {'S', 'C', 'R', '1'};

/// Where a coat is from `at` on, and until when.
struct Whereabouts {
  const quantity::ZoneId* zone;
  const std::string* place;  ///< nullptr where nobody said
  std::optional<Instant> left;
};

Whereabouts whereabouts(const CoatCase& coat, Instant at) {
  Whereabouts out{&coat.coat.made.zone, nullptr, std::nullopt};
  for (const Stay& stay : coat.stays) {
    if (stay.since <= coat.coat.made.last_pass) {
      // While it is being put on it stays where that is done.
      out.place = stay.zone == coat.coat.made.zone ? &stay.place : nullptr;
      continue;
    }
    if (stay.since > at) {
      out.left = stay.since;
      break;
    }
    out.zone = &stay.zone;
    out.place = &stay.place;
  }
  return out;
}

bool recorded_past(const AirHistory* history, Instant at, bool strictly) {
  if (!history || !history->recorded_upto()) return false;
  return strictly ? *history->recorded_upto() > at : *history->recorded_upto() >= at;
}

/// Whether nothing more is to be waited for of a stay that ended at `left`.
bool stay_is_told(const CoatCase& coat, const AirOf& air, const AirHistory* here, Instant left) {
  if (recorded_past(here, left, false)) return true;
  return std::any_of(coat.stays.begin(), coat.stays.end(), [&](const Stay& stay) {
    return stay.since >= left && recorded_past(air(stay.zone), left, true);
  });
}

std::vector<AirPiece> next_pieces(const CoatCase& coat, const AirOf& air, Instant from, Instant until,
                                  std::size_t most) {
  const Whereabouts where = whereabouts(coat, from);
  const AirHistory* here = air(*where.zone);
  const AirHistory nothing;
  if (where.left && stay_is_told(coat, air, here, *where.left))
    return (here ? *here : nothing).whole_pieces(from, until, most, where.left);
  if (!here) return {};
  return here->whole_pieces(from, until, most);
}

template <typename T>
void put(std::string& bytes, const T& value) {
  bytes.append(reinterpret_cast<const char*>(&value), sizeof value);
}

template <typename T>
bool take(std::string_view& bytes, T& value) {
  if (bytes.size() < sizeof value) return false;
  std::memcpy(&value, bytes.data(), sizeof value);
  bytes.remove_prefix(sizeof value);
  return true;
}

}  // namespace

SurfaceSource surface_source(const CoatCase& coat, const AirOf& air, Instant at, Instant seen,
                             SurfaceHistory::Past past) {
  const Whereabouts where = whereabouts(coat, at);
  const AirHistory* here = where.place != nullptr && !where.place->empty() ? air(*where.zone) : nullptr;
  return {here != nullptr ? here->surface(*where.place) : nullptr, std::min(seen, where.left.value_or(seen)),
          past};
}

CoatRun::CoatRun(std::shared_ptr<const CoatCase> coat)
    : case_(std::move(coat)),
      plan_(std::make_shared<const CoatPlan>(plan_of(*case_))),
      numbers_(fresh_numbers(*plan_)) {}

bool CoatRun::advance(const AirOf& air, Instant until, int most_pieces) {
  std::size_t left = most_pieces > 0 ? static_cast<std::size_t>(most_pieces) : 0;
  while (left > 0) {
    if (finished()) return false;
    const auto pieces = next_pieces(*case_, air, upto(), until, std::min(left, kPiecesAtOnce));
    if (pieces.empty()) return false;
    const auto surface = surface_source(*case_, air, upto(), Instant::max(), SurfaceHistory::Past::unknown);
    for (const AirPiece& piece : pieces) {
      if (finished()) return false;
      run_piece(*case_, *plan_, numbers_, piece, surface);
      --left;
    }
  }
  return !finished();
}

Instant CoatRun::upto() const {
  return *moment(numbers_[CoatNumbers::kUpto]);
}

bool CoatRun::finished() const {
  return all_reached(*plan_, numbers_);
}

void CoatRun::run_known(const AirOf& air, Instant now) {
  const AirHistory nothing;
  while (upto() < now && !finished()) {
    const Whereabouts where = whereabouts(*case_, upto());
    const AirHistory* here = air(*where.zone);
    const Instant end = std::min(now, where.left.value_or(now));
    const auto surface = surface_source(*case_, air, upto(), now, SurfaceHistory::Past::held);
    for (const AirPiece& piece : (here ? *here : nothing).as_left(upto(), end))
      run_piece(*case_, *plan_, numbers_, piece, surface);
  }
}

std::vector<ClockProgress> CoatRun::progress_as_known(const AirOf& air, Instant at) const {
  CoatRun known = *this;
  known.run_known(air, at);
  CoatNumbers numbers(known.numbers_, *plan_);
  std::vector<ClockProgress> all;
  for (std::size_t c = 0; c < plan_->clocks->size(); ++c) {
    all.push_back({{numbers.progress(c, Track::slow), numbers.progress(c, Track::expected),
                    numbers.progress(c, Track::fast)},
                   numbers.progress(c, Track::likely)});
  }
  return all;
}

std::string CoatRun::save() const {
  std::string bytes(kMark, sizeof kMark);
  put(bytes, std::int32_t{kEngineVersion});
  put(bytes, static_cast<std::uint64_t>(numbers_.size()));
  bytes.append(reinterpret_cast<const char*>(numbers_.data()), numbers_.size() * sizeof(double));
  return bytes;
}

std::optional<CoatRun> CoatRun::load(std::shared_ptr<const CoatCase> coat, std::string_view bytes) {
  if (bytes.substr(0, sizeof kMark) != std::string_view(kMark, sizeof kMark)) return std::nullopt;
  bytes.remove_prefix(sizeof kMark);
  std::int32_t version = 0;
  std::uint64_t count = 0;
  if (!take(bytes, version) || version != kEngineVersion || !take(bytes, count)) return std::nullopt;
  CoatRun run(std::move(coat));
  if (count != run.numbers_.size() || bytes.size() != count * sizeof(double)) return std::nullopt;
  std::memcpy(run.numbers_.data(), bytes.data(), bytes.size());
  return run;
}

}  // namespace setwell::core
