#include "daemon/service/clock_watch.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"
#include "sensors/decode/device_time.hpp"

namespace setwell::service {

using quantity::Instant;

namespace {

/// Clocks are set by small steps all the time.
constexpr auto kSmallStep = std::chrono::minutes(2);

bool stamped_ahead(const Series& series, Instant now) {
  return series.state.last_message && *series.state.last_message > now + kSmallStep;
}

/// What was heard "later" was heard by now.
ledger::ChannelState heard_by(Instant now, ledger::ChannelState state) {
  for (auto* moment : {&state.last_message, &state.last_good, &state.last_change}) {
    if (*moment) *moment = std::min(**moment, now);
  }
  return state;
}

}  // namespace

bool clock_unset(const Workshop& workshop, Instant now) {
  return !workshop.rehearsal && now < decode::kFirstRehearsedTime;
}

std::string clock_unset_words(const Workshop& workshop, Instant now) {
  return fmt::format(
      "the machine's clock says {}: it was never set. Nothing was logged; set the clock, then log it again",
      core::moment(now, now + std::chrono::days(400), display_of(*workshop.settings)));
}

void settle_clock(Workshop& workshop, Instant now) {
  const auto& all = workshop.sensors.series();
  const bool was_ahead =
      std::any_of(all.begin(), all.end(), [&](const Series& each) { return stamped_ahead(each, now); });
  if (workshop.rehearsal || !was_ahead) return;
  write(workshop, [&] {
    const int ahead = workshop.ledger.delete_readings_after(now);
    for (const auto& series : all)
      workshop.ledger.set_channel_state(series.number, heard_by(now, series.state));
    for (const auto& piece : workshop.book.workbook().pieces) {
      for (const auto& coat : piece.coats)
        workshop.ledger.drop_checkpoints_after(coat.id, now - std::chrono::hours(2));
    }
    workshop.around.clock_remark =
        fmt::format("it was set back {}; {} readings that it had stamped ahead of itself are left out",
                    core::moment(now, now, display_of(*workshop.settings)), ahead);
  });
  workshop.told_time = now;
  workshop.stale = true;
  make_whole(workshop);
}

}  // namespace setwell::service
