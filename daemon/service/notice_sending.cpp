#include "daemon/service/notice_sending.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "daemon/api/notice_body.hpp"
#include "daemon/service/piece_view.hpp"
#include "daemon/service/upkeep.hpp"

namespace setwell::service {

using core::Telling;
using quantity::Instant;

namespace {

constexpr std::string_view kRehearsal = "REHEARSAL: ";
/// A test that nobody waits for any more is not tried again.
constexpr auto kTestIsOver = std::chrono::minutes(6);

bool wants(const settings::Route& route, core::NoticeKind kind) {
  return route.kinds.empty() || std::find(route.kinds.begin(), route.kinds.end(), kind) != route.kinds.end();
}

/// A route that asks for some kinds gets the morning list when one of them is in it.
bool takes(const settings::Route& route, const Telling& telling) {
  const auto kind = telling.fact.kind;
  if (kind == core::NoticeKind::pot_life_ending && !route.instant) return false;
  return wants(route, kind) || std::any_of(telling.with.begin(), telling.with.end(),
                                           [&](const Telling& each) { return wants(route, each.fact.kind); });
}

/// subject/kind/generation, with what was taken back told apart from what was told.
std::string id_of(const Telling& telling) {
  return fmt::format("{}/{}/{}{}", telling.fact.subject, core::word(telling.fact.kind), telling.generation,
                     telling.withdrawal ? "/withdrawn" : "");
}

/// `id` is that of the message that carries it.
void store_notice(Workshop& workshop, const Telling& telling, const core::NoticeText& text,
                  const std::string& id, Instant now) {
  ledger::NoticeRow row;
  row.subject = telling.fact.subject;
  row.kind = core::word(telling.fact.kind);
  if (!telling.fact.content.pieces.empty()) row.piece = telling.fact.content.pieces.front().text();
  row.title = text.title;
  row.body = text.body;
  row.extra = id;
  row.generation = telling.generation;
  row.created = now;
  workshop.ledger.append_notice(row);
}

core::NoticeText worded(const Workshop& workshop, const Telling& telling, Instant now) {
  auto text = core::notice_text(telling, now, display_of(*workshop.settings));
  if (workshop.rehearsal) text.title = std::string(kRehearsal) + text.title;
  return text;
}

void enqueue(Workshop& workshop, const settings::Route& route, ledger::Parcel parcel) {
  parcel.route = route.id;
  workshop.ledger.outbox().enqueue(parcel);
  workshop.outbox_grew = true;
}

}  // namespace

void send(Workshop& workshop, const Telling& telling, Instant now) {
  const auto& settings = *workshop.settings;
  const auto text = worded(workshop, telling, now);
  if (telling.withdrawal) {
    for (const auto& subject : telling.subjects)
      workshop.ledger.close_notices(subject, std::string(core::word(telling.fact.kind)), now);
  }
  const auto id = id_of(telling);
  for (const auto& each : telling.with)
    store_notice(workshop, each, worded(workshop, each, now), id, now);
  store_notice(workshop, telling, text, id, now);
  const auto event = api::event_body(telling, text, id, now, workshop.rehearsal, settings.workshop.time_zone);
  // Rehearsed time says nothing about when a delivery is late.
  const auto drop_after = workshop.rehearsal ? std::nullopt : telling.fact.useless_after;
  for (const auto& route : settings.routes) {
    if (!takes(route, telling)) continue;
    const bool mail = route.kind == settings::RouteKind::mail;
    enqueue(workshop, route,
            {{}, id, mail ? api::mail_body(text) : event, workshop.clock_time, "", drop_after});
  }
}

void send_states(Workshop& workshop, const std::vector<Telling>& tellings, Instant now) {
  const auto& settings = *workshop.settings;
  std::set<quantity::PieceId> pieces;
  for (const auto& telling : tellings) {
    pieces.insert(telling.fact.content.pieces.begin(), telling.fact.content.pieces.end());
    for (const auto& each : telling.with)
      pieces.insert(each.fact.content.pieces.begin(), each.fact.content.pieces.end());
  }
  for (const auto& id : pieces) {
    const auto* piece = workshop.book.workbook().in_progress(id);
    if (piece == nullptr) continue;
    const auto body = api::piece_body(piece_now(workshop, *piece, now), now, workshop.rehearsal,
                                      settings.workshop.time_zone);
    const auto key = "piece/" + id.text();
    for (const auto& route : settings.routes) {
      if (route.kind != settings::RouteKind::mqtt) continue;
      const auto unique = fmt::format("{}/{}", key, quantity::to_ms(now));
      enqueue(workshop, route, {{}, unique, body, workshop.clock_time, key, std::nullopt});
    }
  }
}

Answered<api::NoticeTestAnswer> notice_test(Workshop& workshop, const api::NoticeTestParams& params,
                                            Instant now) {
  const auto& settings = *workshop.settings;
  const auto* route = settings.route(quantity::RouteId(params.route));
  if (route == nullptr) {
    std::string known;
    for (const auto& each : settings.routes)
      known += (known.empty() ? "" : ", ") + each.id.text();
    return quantity::not_found(fmt::format("there is no route {}; {}", params.route,
                                           known.empty() ? "the settings have none" : "there are " + known));
  }
  api::NoticeTestAnswer answer;
  answer.route = params.route;
  answer.id =
      params.id.value_or(fmt::format("test/{}/{}", params.route, quantity::to_ms(workshop.clock_time)));
  if (!params.id) {
    core::NoticeText text{fmt::format("Test of route {} from {}: this message needs nothing done",
                                      params.route, settings.workshop.name),
                          "Somebody asked for it with setwell notices --test."};
    if (workshop.rehearsal) text.title = std::string(kRehearsal) + text.title;
    const auto event = api::test_body(text, answer.id, now, workshop.rehearsal, settings.workshop.time_zone);
    const bool mail = route->kind == settings::RouteKind::mail;
    write(workshop, [&] {
      enqueue(workshop, *route,
              {{},
               answer.id,
               mail ? api::mail_body(text) : event,
               workshop.clock_time,
               "",
               workshop.clock_time + kTestIsOver});
    });
    workshop.try_now.push_back(route->id);
  }
  for (const auto& delivery : workshop.ledger.outbox().deliveries(answer.id)) {
    answer.state = ledger::word(delivery.state);
    answer.attempts = delivery.attempts;
    answer.error = delivery.last_error;
  }
  if (answer.state.empty()) return quantity::not_found("there is no test " + answer.id);
  return answer;
}

}  // namespace setwell::service
