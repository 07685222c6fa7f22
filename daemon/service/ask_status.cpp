#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/from_core.hpp"
#include "daemon/service/clock_watch.hpp"
#include "daemon/service/piece_view.hpp"
#include "sensors/screen/silence.hpp"

/// `status`: one line per part and the next thing to do.
namespace setwell::service {

using quantity::Instant;

namespace {

constexpr double kDiskLow = 0.05;
constexpr std::int64_t kLogLarge = std::int64_t{64} * 1024 * 1024;

api::StatusLine broker_line(const Workshop& workshop, const core::Display& display, Instant now) {
  const auto& around = workshop.around;
  if (!around.broker_connected) {
    const auto since = around.broker_away_since
                           ? " since " + core::moment(*around.broker_away_since, now, display)
                           : std::string();
    return {"broker", false, "not connected" + since,
            fmt::format(
                "is it running on {}:{}? Look at the broker's log; [broker] in the settings says where it is",
                workshop.settings->broker.host, workshop.settings->broker.port)};
  }
  if (!around.broker_advice.empty()) return {"broker", false, "connected", around.broker_advice};
  if (!around.subscribed) return {"broker", true, "connected, subscribing", ""};
  return {"broker", true, "connected and subscribed", ""};
}

api::StatusLine sensors_line(const Workshop& workshop, Instant now) {
  int silent = 0;
  int never = 0;
  for (const auto& series : workshop.sensors.series()) {
    if (!series.state.last_message) ++never;
    const auto quiet =
        screen::silent_since(series.state.last_good, series.watched_from, series.spec().silent_after, now);
    if (quiet) ++silent;
  }
  const auto count = workshop.sensors.series().size();
  if (count == 0) return {"sensors", false, "none set up", "add [[channel]] tables to the settings"};
  if (never == static_cast<int>(count) && workshop.around.broker_connected) {
    return {"sensors", false, "no message on any topic yet",
            "check the topics in the settings: `setwell sensors`"};
  }
  if (silent > 0) {
    return {"sensors", false, fmt::format("{} of {} silent", silent, count), "`setwell sensors` names them"};
  }
  return {"sensors", true, fmt::format("{} heard", count), ""};
}

api::StatusLine storage_line(const Workshop& workshop) {
  if (!workshop.around.ledger_damage.empty()) {
    return {"database", false, "damaged", workshop.around.ledger_damage};
  }
  if (workshop.around.waiting_for_storage) {
    return {"database", false, "the disk refuses to take messages; the broker keeps them",
            "make space or look at the disk; nothing acknowledged is lost"};
  }
  if (!workshop.around.inbox_remark.empty()) {
    return {"database", false, workshop.around.inbox_remark, "check that inbox and ledger belong together"};
  }
  const auto sizes = workshop.ledger.sizes();
  if (sizes.log > kLogLarge) {
    return {"database", false, fmt::format("its log has grown to {} MB", sizes.log / 1000000),
            "does another program hold the database open?"};
  }
  return {"database", true, fmt::format("{:.1f} MB", static_cast<double>(sizes.database) / 1e6), ""};
}

api::StatusLine clock_line(const Workshop& workshop, const core::Display& display, Instant now) {
  if (clock_unset(workshop, now)) {
    return {"clock", false, "never set: " + core::moment(now, now + std::chrono::days(400), display),
            "set the machine's clock; nothing is told and nothing can be logged until then"};
  }
  if (!workshop.around.clock_remark.empty()) {
    return {"clock", false, workshop.around.clock_remark,
            "check what was logged meanwhile: `setwell entries PIECE`, `setwell amend N --at T`"};
  }
  return {"clock", true, workshop.rehearsal ? "that of the readings" : "the machine's", ""};
}

api::StatusLine disk_line(const Workshop& workshop) {
  const auto free = workshop.around.disk_free_share;
  if (!free) return {"disk", true, "not looked at", ""};
  const auto state = fmt::format("{:.0f} % free", *free * 100);
  if (*free < kDiskLow) return {"disk", false, state, "make space where the state folder lies"};
  return {"disk", true, state, ""};
}

api::StatusLine sheets_line(const Workshop& workshop) {
  std::size_t faults = workshop.shelf.homeless_faults().size();
  for (const auto& [id, sheet] : workshop.shelf.sheets())
    faults += sheet.faults.size();
  if (faults > 0) {
    return {"sheets", false, fmt::format("{} faults; the last good editions stay in force", faults),
            "`setwell sheets` lists them"};
  }
  return {"sheets", true, fmt::format("{} in force", workshop.shelf.sheets().size()), ""};
}

api::StatusLine route_line(const settings::Route& route, const std::vector<ledger::RouteCounts>& counts,
                           const core::Display& display, Instant now) {
  const auto part = "route " + route.id.text();
  const auto found =
      std::find_if(counts.begin(), counts.end(), [&](const auto& each) { return each.route == route.id; });
  if (found == counts.end()) return {part, true, "nothing sent yet", ""};
  auto state = fmt::format("{} sent, {} waiting", found->sent, found->waiting);
  if (found->last_sent) state += ", last " + core::moment(*found->last_sent, now, display);
  if (found->given_up > 0) {
    state += fmt::format(", {} given up", found->given_up);
    // What went well since then shows that it was mended; until then somebody has to look.
    if (!found->last_sent || *found->last_given_up >= *found->last_sent)
      return {part, false, state,
              fmt::format("given up: {}; when it is mended try it with `setwell notices --test {}`",
                          found->given_up_error, route.id.text())};
  }
  if (!found->last_error.empty())
    return {part, false, state, "tried again by itself; last failure: " + found->last_error};
  return {part, true, state, ""};
}

}  // namespace

Answered<api::StatusAnswer> status(Workshop& workshop, const api::NoParams&, Instant now) {
  const auto display = display_of(*workshop.settings);
  api::StatusAnswer answer;
  answer.time = api::time_text(now, workshop.settings->workshop.time_zone);
  answer.rehearsal = workshop.rehearsal;
  answer.program = std::string("setwelld ") + SETWELL_VERSION;
  answer.lines.push_back(
      {"daemon", true, workshop.rehearsal ? "rehearsing: time goes by the readings" : "running", ""});
  answer.lines.push_back(clock_line(workshop, display, now));
  answer.lines.push_back(broker_line(workshop, display, now));
  answer.lines.push_back(sensors_line(workshop, now));
  answer.lines.push_back(storage_line(workshop));
  answer.lines.push_back(disk_line(workshop));
  answer.lines.push_back(sheets_line(workshop));
  const auto counts = workshop.ledger.outbox().counts();
  for (const auto& route : workshop.settings->routes)
    answer.lines.push_back(route_line(route, counts, display, now));
  answer.ok = std::all_of(answer.lines.begin(), answer.lines.end(), [](const auto& line) { return line.ok; });
  answer.taken = workshop.ledger.inbox_mark().taken_upto;
  answer.waiting = workshop.around.waiting_rows;
  answer.subscribed = workshop.around.subscribed;
  return answer;
}

}  // namespace setwell::service
