#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/notice_body.hpp"
#include "daemon/service/notice_facts.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"

/// One round of the notice rules: states, notices and outbox rows in the caller's transaction.
namespace setwell::service {

using core::NoticeState;
using core::Telling;
using quantity::Instant;

namespace {

/// Without anything due the rules are asked this often all the same.
constexpr auto kAskAgain = std::chrono::minutes(10);

std::vector<NoticeState> stored_states(const ledger::Ledger& ledger) {
  std::vector<NoticeState> states;
  for (const auto& row : ledger.notice_states()) {
    const auto kind = core::notice_kind_from(row.kind);
    const auto phase = core::notice_phase_from(row.state);
    // A kind of another version of the program: left as it is, for that version to go on with.
    if (!kind || !phase) continue;
    states.push_back({row.subject, *kind, *phase, row.since, row.last_told, row.generation});
  }
  return states;
}

core::NoticePolicy policy_of(const settings::Settings& settings) {
  core::NoticePolicy policy;
  policy.zone = settings.workshop.time_zone;
  policy.waking = waking_of(settings);
  policy.quiet = quiet_of(settings);
  policy.cannot_wait.insert(settings.workshop.cannot_wait.begin(), settings.workshop.cannot_wait.end());
  return policy;
}

bool takes(const settings::Route& route, const Telling& telling) {
  const auto kind = telling.fact.kind;
  if (kind == core::NoticeKind::pot_life_ending && !route.instant) return false;
  return route.kinds.empty() || std::find(route.kinds.begin(), route.kinds.end(), kind) != route.kinds.end();
}

/// subject/kind/generation, with what was taken back told apart from what was told.
std::string id_of(const Telling& telling) {
  return fmt::format("{}/{}/{}{}", telling.fact.subject, core::word(telling.fact.kind), telling.generation,
                     telling.withdrawal ? "/withdrawn" : "");
}

void store_notice(Workshop& workshop, const Telling& telling, const core::NoticeText& text, Instant now) {
  ledger::NoticeRow row;
  row.subject = telling.fact.subject;
  row.kind = core::word(telling.fact.kind);
  if (!telling.fact.content.pieces.empty()) row.piece = telling.fact.content.pieces.front().text();
  row.title = text.title;
  row.body = text.body;
  row.extra = id_of(telling);
  row.generation = telling.generation;
  row.created = now;
  workshop.ledger.append_notice(row);
}

void send(Workshop& workshop, const Telling& telling, Instant now) {
  const auto& settings = *workshop.settings;
  auto text = core::notice_text(telling, now, display_of(settings));
  if (workshop.rehearsal) text.title = "REHEARSAL: " + text.title;
  if (telling.withdrawal) {
    for (const auto& subject : telling.subjects)
      workshop.ledger.close_notices(subject, std::string(core::word(telling.fact.kind)), now);
  }
  store_notice(workshop, telling, text, now);
  const auto id = id_of(telling);
  const auto body = api::event_body(telling, text, id, now, workshop.rehearsal, settings.workshop.time_zone);
  for (const auto& route : settings.routes) {
    if (!takes(route, telling)) continue;
    // Rehearsed time says nothing about when a delivery is late.
    const auto drop_after = workshop.rehearsal ? std::nullopt : telling.fact.useless_after;
    workshop.ledger.outbox().enqueue({route.id, id, body, workshop.clock_time, "", drop_after});
    workshop.outbox_grew = true;
  }
}

/// The retained state of each piece that a telling speaks of, for the MQTT routes.
void send_states(Workshop& workshop, const std::vector<Telling>& tellings, Instant now) {
  const auto& settings = *workshop.settings;
  for (const auto& telling : tellings) {
    for (const auto& id : telling.fact.content.pieces) {
      const auto* piece = workshop.book.workbook().in_progress(id);
      if (piece == nullptr) continue;
      const auto body = api::piece_body(piece_now(workshop, *piece, now), now, workshop.rehearsal,
                                        settings.workshop.time_zone);
      const auto key = "piece/" + id.text();
      for (const auto& route : settings.routes) {
        if (route.kind != settings::RouteKind::mqtt) continue;
        const auto unique = fmt::format("{}/{}", key, quantity::to_ms(now));
        workshop.ledger.outbox().enqueue({route.id, unique, body, workshop.clock_time, key, std::nullopt});
      }
    }
  }
}

void close_over(Workshop& workshop, const NoticeState& state, Instant now) {
  if (state.phase != core::NoticePhase::over) return;
  workshop.ledger.close_notices(state.subject, std::string(core::word(state.kind)), now);
}

}  // namespace

Instant run_rules(Workshop& workshop, Instant now) {
  const auto states = stored_states(workshop.ledger);
  const auto facts = notice_facts(workshop, now);
  const auto round = core::decide_notices(states, facts, now, policy_of(*workshop.settings));
  for (const auto& state : round.changed) {
    workshop.ledger.put_notice_state({state.subject, std::string(core::word(state.kind)),
                                      std::string(core::word(state.phase)), state.since, state.last_told,
                                      state.generation, ""});
    close_over(workshop, state, now);
  }
  for (const auto& telling : round.tell)
    send(workshop, telling, now);
  send_states(workshop, round.tell, now);
  const auto again = now + kAskAgain;
  return round.next_due ? std::min(*round.next_due, again) : again;
}

}  // namespace setwell::service
