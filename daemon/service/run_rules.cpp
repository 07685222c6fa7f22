#include <algorithm>

#include "daemon/service/notice_facts.hpp"
#include "daemon/service/notice_sending.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"

/// One round of the notice rules: states, notices and outbox rows in the caller's transaction.
namespace setwell::service {

using core::NoticeState;
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
