#include <catch2/catch.hpp>

#include "tests/component/ledger/workbench.hpp"

namespace setwell::ledger_test {

using ledger::DeliveryState;
using ledger::Outbox;
using ledger::Parcel;
using quantity::RouteId;
using std::chrono::hours;

namespace {

const RouteId kMail("mail");

Parcel parcel(const std::string& id, Instant created = at(0)) {
  Parcel made;
  made.route = kMail;
  made.idempotency_id = id;
  made.body = "body of " + id;
  made.created = created;
  return made;
}

std::vector<std::string> ids_due(const Outbox& outbox, Instant now, const RouteId& route = kMail) {
  std::vector<std::string> ids;
  for (const auto& delivery : outbox.due(route, now, 100))
    ids.push_back(delivery.parcel.idempotency_id);
  return ids;
}

DeliveryState state_of(const Outbox& outbox, const std::string& id) {
  return outbox.deliveries(id).at(0).state;
}

using Ids = std::vector<std::string>;

}  // namespace

TEST_CASE("a parcel is stored once per route and id, and its bytes never change", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  CHECK(outbox.enqueue(parcel("a")) == Outbox::Enqueued::stored);
  auto again = parcel("a");
  again.body = "other words";
  CHECK(outbox.enqueue(again) == Outbox::Enqueued::already_there);
  again.route = RouteId("log");
  CHECK(outbox.enqueue(again) == Outbox::Enqueued::stored);
  CHECK(outbox.due(kMail, at(0), 10).at(0).parcel.body == "body of a");
  CHECK(outbox.deliveries("a").size() == 2);
}

TEST_CASE("what is due comes oldest first, route by route, and not before its time", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  CHECK_FALSE(outbox.next_due());
  for (const auto* id : {"a", "b", "c"})
    (void)outbox.enqueue(parcel(id));
  CHECK(ids_due(outbox, at(0)) == Ids{"a", "b", "c"});
  CHECK(outbox.due(kMail, at(0), 2).size() == 2);
  CHECK(ids_due(outbox, at(0), RouteId("log")).empty());
  CHECK(ids_due(outbox, at(-1)).empty());
  CHECK(outbox.next_due() == at(0));
}

TEST_CASE("a sent parcel is not sent again; a failed one comes back at its time", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  (void)outbox.enqueue(parcel("a"));
  (void)outbox.enqueue(parcel("b"));
  const auto due = outbox.due(kMail, at(0), 10);
  outbox.mark_sent(due.at(0).id, at(1));
  outbox.mark_failed(due.at(1).id, at(60), "no answer");
  CHECK(ids_due(outbox, at(59)).empty());
  CHECK(outbox.next_due() == at(60));
  REQUIRE(ids_due(outbox, at(60)) == Ids{"b"});
  const auto waiting = outbox.due(kMail, at(60), 10).at(0);
  CHECK(waiting.attempts == 1);
  CHECK(waiting.last_error == "no answer");
  outbox.mark_failed(due.at(0).id, at(90), "too late");
  CHECK(state_of(outbox, "a") == DeliveryState::sent);
  CHECK(outbox.deliveries("a").at(0).settled == at(1));
  outbox.mark_given_up(waiting.id, at(61));
  CHECK(state_of(outbox, "b") == DeliveryState::given_up);
}

TEST_CASE("a newer parcel takes the place of those waiting under its key, on its route only", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  auto state = parcel("a");
  state.collapse_key = "fern-07";
  (void)outbox.enqueue(state);
  auto elsewhere = state;
  elsewhere.route = RouteId("log");
  (void)outbox.enqueue(elsewhere);
  (void)outbox.enqueue(parcel("event"));
  auto newer = parcel("b", at(5));
  newer.collapse_key = "fern-07";
  (void)outbox.enqueue(newer);
  CHECK(ids_due(outbox, at(9)) == Ids{"event", "b"});
  CHECK(ids_due(outbox, at(9), RouteId("log")) == Ids{"a"});
  const auto first = outbox.deliveries("a").at(0);
  CHECK(first.state == DeliveryState::superseded);
  // It was on its way already: what is told of it is the truth.
  outbox.mark_sent(first.id, at(10));
  CHECK(state_of(outbox, "a") == DeliveryState::sent);
}

TEST_CASE("a parcel that is too late is never due and is dropped", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  auto urgent = parcel("a");
  urgent.drop_after = at(10);
  (void)outbox.enqueue(urgent);
  CHECK(ids_due(outbox, at(10)) == Ids{"a"});
  CHECK(ids_due(outbox, at(11)).empty());
  CHECK(outbox.settle_overdue(at(10)).empty());
  CHECK(state_of(outbox, "a") == DeliveryState::waiting);
  CHECK(outbox.settle_overdue(at(11)).empty());
  CHECK(state_of(outbox, "a") == DeliveryState::dropped);
}

TEST_CASE("after three days a parcel is given up, and said to be", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  (void)outbox.enqueue(parcel("a"));
  (void)outbox.enqueue(parcel("b", at(1)));
  CHECK(outbox.settle_overdue(at(0) + hours(72) - std::chrono::milliseconds(1)).empty());
  const auto given_up = outbox.settle_overdue(at(0) + hours(72));
  REQUIRE(given_up.size() == 1);
  CHECK(given_up[0].parcel.idempotency_id == "a");
  CHECK(given_up[0].state == DeliveryState::given_up);
  CHECK(outbox.settle_overdue(at(0) + hours(72)).empty());
  CHECK(state_of(outbox, "b") == DeliveryState::waiting);
}

TEST_CASE("routes are counted for status", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  CHECK(outbox.counts().empty());
  for (const auto* id : {"a", "b", "c"})
    (void)outbox.enqueue(parcel(id, at(3)));
  auto on_log = parcel("a");
  on_log.route = RouteId("log");
  (void)outbox.enqueue(on_log);
  const auto due = outbox.due(kMail, at(3), 10);
  outbox.mark_sent(due.at(0).id, at(4));
  outbox.mark_failed(due.at(1).id, at(60), "refused");
  const auto counts = outbox.counts();
  REQUIRE(counts.size() == 2);
  CHECK(counts[0].route == RouteId("log"));
  CHECK(counts[0].waiting == 1);
  CHECK(counts[1].route == kMail);
  CHECK(counts[1].waiting == 2);
  CHECK(counts[1].sent == 1);
  CHECK(counts[1].oldest_waiting == at(3));
  CHECK(counts[1].last_sent == at(4));
  CHECK(counts[1].last_error == "refused");
}

TEST_CASE("only settled parcels are forgotten, a few at a time", "[outbox]") {
  auto book = open_ledger();
  auto& outbox = book.outbox();
  for (const auto* id : {"a", "b", "c", "d"})
    (void)outbox.enqueue(parcel(id));
  for (const auto& delivery : outbox.due(kMail, at(0), 3))
    outbox.mark_sent(delivery.id, at(5));
  CHECK(outbox.prune(at(5), 10) == 0);
  CHECK(outbox.prune(at(6), 2) == 2);
  CHECK(outbox.prune(at(6), 2) == 1);
  CHECK(ids_due(outbox, at(6)) == Ids{"d"});
}

TEST_CASE("what the outbox does inside a transaction is part of it", "[outbox]") {
  auto book = open_ledger();
  {
    auto undone = book.begin();
    (void)book.outbox().enqueue(parcel("a"));
  }
  CHECK(ids_due(book.outbox(), at(0)).empty());
  auto done = book.begin();
  (void)book.outbox().enqueue(parcel("a"));
  done.commit();
  CHECK(ids_due(book.outbox(), at(0)) == Ids{"a"});
}

}  // namespace setwell::ledger_test
