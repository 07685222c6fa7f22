#include <catch2/catch.hpp>
#include <sqlite3.h>

#include "daemon/notices/routes/command.hpp"
#include "tests/component/notices/yard.hpp"

namespace setwell::notices_test {

using ledger::DeliveryState;
using notices::backoff;
using notices::Pump;
using notices::PumpRoute;
using std::chrono::milliseconds;
using std::chrono::minutes;
using std::chrono::seconds;
using Strings = std::vector<std::string>;

namespace {

/// What another program does to the file.
void run_sql(const std::string& file, const char* sql) {
  sqlite3* database = nullptr;
  const bool done = sqlite3_open(file.c_str(), &database) == SQLITE_OK &&
                    sqlite3_exec(database, sql, nullptr, nullptr, nullptr) == SQLITE_OK;
  sqlite3_close(database);
  if (!done) throw std::runtime_error("the statement did not run");
}

PumpRoute by_courier(const std::string& id, std::shared_ptr<notices::RouteSender> sender,
                     bool by_broker = false) {
  return {RouteId(id), std::move(sender), std::make_shared<notices::Courier>(), by_broker};
}

/// A pump over a ledger in memory, its clock in the test's hand.
struct House {
  ledger::Ledger ledger = new_ledger();
  Loop loop;
  Instant now = at(0);
  Strings log_lines;
  runtime::Log log = runtime::Log::to_lines([this](std::string_view line) { log_lines.emplace_back(line); });
  std::unique_ptr<Pump> pump;

  explicit House(std::vector<PumpRoute> routes) { open(std::move(routes)); }
  House() = default;
  void open(std::vector<PumpRoute> routes) {
    pump = std::make_unique<Pump>(
        ledger.outbox(), std::move(routes), [this] { return now; }, loop.door(), log);
  }
  void put(const std::string& route, const std::string& id) {
    ledger.outbox().enqueue(parcel(route, id, now));
  }
  [[nodiscard]] Delivery only(const std::string& id) const { return ledger.outbox().deliveries(id).at(0); }
  /// To the next due moment, kick, and let the couriers that went out come back.
  void next_round(int couriers = 1) {
    const auto due = pump->next_due();
    REQUIRE(due);
    now = std::max(now, *due);
    pump->kick();
    for (int i = 0; i < couriers; ++i)
      REQUIRE(loop.run_one());
  }
};

std::shared_ptr<Receiver> receiver(Receiver::Answer answer) {
  return std::make_shared<Receiver>(std::move(answer));
}
Receiver::Answer always(SendResult result) {
  return [result](const Delivery&) { return result; };
}

}  // namespace

TEST_CASE("backoff doubles from a second to half an hour") {
  CHECK(backoff(1) == seconds(1));
  CHECK(backoff(2) == seconds(2));
  CHECK(backoff(3) == seconds(4));
  CHECK(backoff(11) == seconds(1024));
  CHECK(backoff(12) == minutes(30));
  CHECK(backoff(100'000) == minutes(30));
}

TEST_CASE("what waits is sent one after the other, oldest first, and marked sent") {
  const auto got = std::make_shared<Receiver>();
  House house({by_courier("phone", got)});
  for (const auto* id : {"a", "b", "c"})
    house.put("phone", id);
  CHECK(house.pump->next_due() == at(0));
  house.pump->kick();
  house.pump->kick();
  CHECK_FALSE(house.pump->next_due());  // the courier is out
  for (int i = 0; i < 3; ++i)
    REQUIRE(house.loop.run_one());
  CHECK(got->got() == Strings{"a=body of a", "b=body of b", "c=body of c"});
  CHECK(house.only("c").state == DeliveryState::sent);
  CHECK(house.only("c").settled == at(0));
  CHECK_FALSE(house.pump->next_due());
}

TEST_CASE("the log gets its lines at once, with the bytes of the body") {
  House house;
  settings::Route to_log;
  to_log.id = RouteId("journal");
  house.open(notices::routes_from({to_log}, nullptr, house.log));
  house.put("journal", "a");
  house.put("journal", "b");
  house.pump->kick();
  CHECK(house.log_lines == Strings{"info: body of a", "info: body of b"});
  CHECK(house.only("b").state == DeliveryState::sent);
}

TEST_CASE("a failing command is tried again after 1, 2, 4 … seconds, with the same bytes, until it works") {
  const Folder folder;
  const auto script = folder.script("flaky", "cat >> \"$1\"; echo >> \"$1\"; [ -e \"$1.mended\" ] || exit 7");
  House house;
  settings::Route command;
  command.id = RouteId("phone");
  command.kind = settings::RouteKind::command;
  command.argv = {script, folder.file("out")};
  house.open(notices::routes_from({command}, nullptr, house.log));
  house.put("phone", "a");
  std::vector<std::int64_t> tried;
  for (int i = 0; i < 4; ++i) {
    house.next_round();
    tried.push_back((house.now - at(0)) / seconds(1));
  }
  CHECK(tried == std::vector<std::int64_t>{0, 1, 3, 7});
  CHECK(house.only("a").attempts == 4);
  CHECK(house.only("a").last_error == "ended with 7");
  CHECK(house.log_lines == Strings{"warning: route phone: ended with 7"});  // once, not at each try
  std::ofstream(folder.file("out.mended")) << "yes";
  house.next_round();
  CHECK(house.now == at(15));
  CHECK(house.only("a").state == DeliveryState::sent);
  CHECK(folder.content("out") == "body of a\nbody of a\nbody of a\nbody of a\nbody of a\n");
  CHECK(house.log_lines.back() == "info: route phone is well again");
}

TEST_CASE("before it is due again a failed parcel is not tried") {
  const auto dead = receiver(always(SendResult::failed("no")));
  House house({by_courier("phone", dead)});
  house.put("phone", "a");
  house.next_round();
  house.now = at(1) - milliseconds(1);
  house.pump->kick();
  CHECK(dead->got().size() == 1);
  CHECK(house.pump->next_due() == at(1));
}

TEST_CASE("a dead route never delays another") {
  Gate asked, gate;
  const auto hangs = receiver([&](const Delivery&) {
    asked.open();
    gate.wait();
    return SendResult::failed("nobody answered");
  });
  const auto live = std::make_shared<Receiver>();
  House house({by_courier("dead", hangs), by_courier("live", live)});
  for (const auto* id : {"a", "b", "c"}) {
    house.put("dead", id);
    house.put("live", id);
  }
  house.pump->kick();
  for (int i = 0; i < 3; ++i)
    REQUIRE(house.loop.run_one());  // only the live one can come back
  CHECK(live->got().size() == 3);
  asked.wait();  // its courier is a thread of its own, and may be slow to begin
  CHECK(hangs->got().size() == 1);
  gate.open();
  REQUIRE(house.loop.run_one());
  CHECK(house.only("a").last_error == "nobody answered");
}

TEST_CASE("a dead route costs one probe per pause, however much waits for it") {
  const auto dead = receiver(always(SendResult::failed("no")));
  House house({by_courier("phone", dead)});
  for (int i = 0; i < 40; ++i)
    house.put("phone", std::to_string(i));
  while (house.now < at(3600))
    house.next_round();
  CHECK(dead->got().size() <= 14);  // 11 doublings in the first 34 minutes, then every 30
  CHECK(dead->got().size() >= 11);
}

TEST_CASE("one parcel that always fails does not hold up those behind it") {
  const auto picky = receiver([](const Delivery& each) {
    return each.parcel.idempotency_id == "bad" ? SendResult::failed("not this one") : SendResult::sent();
  });
  House house({by_courier("phone", picky)});
  house.put("phone", "bad");
  house.put("phone", "b");
  house.put("phone", "c");
  for (int i = 0; i < 4 && house.only("c").state == DeliveryState::waiting; ++i) {
    house.next_round();
    while (house.pump->next_due() == std::nullopt)
      REQUIRE(house.loop.run_one());
  }
  CHECK(house.only("b").state == DeliveryState::sent);
  CHECK(house.only("c").state == DeliveryState::sent);
  CHECK(house.only("bad").state == DeliveryState::waiting);
  CHECK(house.now <= at(2));
}

TEST_CASE("what no attempt can help is given up at once, with the reason, and the next one goes") {
  const auto strict = receiver([](const Delivery& each) {
    return each.parcel.idempotency_id == "bad" ? SendResult::final("cannot be") : SendResult::sent();
  });
  House house({by_courier("phone", strict)});
  house.put("phone", "bad");
  house.put("phone", "good");
  house.pump->kick();
  REQUIRE(house.loop.run_one());
  REQUIRE(house.loop.run_one());
  CHECK(house.only("bad").state == DeliveryState::given_up);
  CHECK(house.only("bad").last_error == "cannot be");
  CHECK(house.only("good").state == DeliveryState::sent);
}

TEST_CASE("while the broker is away its routes pause; when it is back everything goes at once") {
  std::atomic<bool> here = false;
  const auto broker =
      receiver([&](const Delivery&) { return here ? SendResult::sent() : SendResult::away("away"); });
  House house({by_courier("broker", broker, true)});
  house.put("broker", "a");
  house.put("broker", "b");
  for (int i = 0; i < 12; ++i)
    house.next_round();
  CHECK(*house.pump->next_due() - house.now == minutes(30));
  here = true;
  house.pump->broker_is_back();
  REQUIRE(house.loop.run_one());
  REQUIRE(house.loop.run_one());
  CHECK(house.only("a").state == DeliveryState::sent);
  CHECK(house.only("b").state == DeliveryState::sent);
}

TEST_CASE("what is too late to be of use is dropped, not sent") {
  const auto got = std::make_shared<Receiver>();
  House house({by_courier("phone", got)});
  auto late = parcel("phone", "late");
  late.drop_after = at(60);
  house.ledger.outbox().enqueue(late);
  house.now = at(61);
  house.pump->kick();
  CHECK(got->got().empty());
  CHECK(house.only("late").state == DeliveryState::dropped);
  CHECK_FALSE(house.pump->next_due());
}

TEST_CASE("what could not be sent for three days is given up and said in the log") {
  House house({by_courier("phone", receiver(always(SendResult::failed("no"))))});
  house.put("phone", "a");
  house.now = at(72 * 3600);
  house.pump->kick();
  CHECK(house.only("a").state == DeliveryState::given_up);
  REQUIRE(house.log_lines.size() == 1);
  CHECK(house.log_lines[0] == "warning: route phone: given up after three days: a");
}

TEST_CASE("a parcel of a route that is in no settings waits and wakes nobody") {
  House house({by_courier("phone", std::make_shared<Receiver>())});
  house.put("gone", "a");
  house.pump->kick();
  CHECK(house.only("a").state == DeliveryState::waiting);
  CHECK_FALSE(house.pump->next_due());
}

TEST_CASE("events and states of two broker routes go to their topics from one thread") {
  struct Broker : mqtt::Publisher {
    std::mutex mutex;
    std::vector<std::pair<std::string, bool>> got;
    std::vector<std::thread::id> threads;
    mqtt::PublishOutcome publish(const mqtt::Publication& publication) noexcept override {
      const std::lock_guard lock(mutex);
      got.emplace_back(publication.topic, publication.retained);
      threads.push_back(std::this_thread::get_id());
      return mqtt::PublishOutcome::accepted;
    }
  } broker;
  House house;
  settings::Route one;
  one.id = RouteId("one");
  one.kind = settings::RouteKind::mqtt;
  auto two = one;
  two.id = RouteId("two");
  two.topic = "attic";
  house.open(notices::routes_from({one, two}, &broker, house.log));
  house.put("one", "a");
  house.put("two", "a");
  auto state = parcel("one", "piece/fern-07/1");
  state.collapse_key = "piece/fern-07";
  house.ledger.outbox().enqueue(state);
  house.pump->kick();
  for (int i = 0; i < 3; ++i)
    REQUIRE(house.loop.run_one());
  std::sort(broker.got.begin(), broker.got.end());
  using Got = std::vector<std::pair<std::string, bool>>;
  CHECK(broker.got == Got{{"attic/event", false}, {"setwell/event", false}, {"setwell/piece/fern-07", true}});
  CHECK(std::set(broker.threads.begin(), broker.threads.end()).size() == 1);
  CHECK(broker.threads.front() != std::this_thread::get_id());
}

TEST_CASE("stopping kills a running command within five seconds; its parcel waits for the next start") {
  const Folder folder;
  const auto script = folder.script("hang", "echo up > \"$1\"; trap '' TERM; while :; do sleep 60; done");
  House house(
      {by_courier("phone", std::make_shared<notices::CommandRoute>(Strings{script, folder.file("up")}))});
  house.put("phone", "a");
  house.pump->kick();
  const auto patience = std::chrono::steady_clock::now() + seconds(10);
  while (folder.content("up").empty() && std::chrono::steady_clock::now() < patience)
    std::this_thread::yield();
  REQUIRE_FALSE(folder.content("up").empty());
  const auto begun = std::chrono::steady_clock::now();
  CHECK(house.pump->stop());
  CHECK(std::chrono::steady_clock::now() - begun < seconds(5));
  CHECK(house.only("a").state == DeliveryState::waiting);
  CHECK(house.only("a").attempts == 0);
  CHECK_FALSE(house.pump->next_due());
  house.pump->kick();  // stays stopped
  house.pump.reset();
  REQUIRE(house.loop.run_one());  // what came back late finds nobody and does no harm
}

TEST_CASE("what was sent while stopping is marked sent, so that it is not sent twice") {
  Gate gate;
  Gate begun;
  const auto slow = receiver([&](const Delivery&) {
    begun.open();
    gate.wait();
    return SendResult::sent();
  });
  House house({by_courier("phone", slow)});
  house.put("phone", "a");
  house.pump->kick();
  begun.wait();
  CHECK_FALSE(house.pump->stop(milliseconds(0)));  // the courier is still out
  gate.open();
  CHECK(house.pump->stop());
  CHECK(house.only("a").state == DeliveryState::sent);
}

TEST_CASE(
    "an outcome that the ledger did not keep is worked for again ten seconds later, with the same bytes") {
  const Folder folder;
  const auto got = std::make_shared<Receiver>();
  House house;
  house.ledger = new_ledger(folder.file("ledger"));
  house.open({by_courier("phone", got)});
  house.put("phone", "a");
  house.pump->kick();
  run_sql(folder.file("ledger"), "ALTER TABLE parcel RENAME TO away");
  CHECK_THROWS(house.loop.run_one());
  run_sql(folder.file("ledger"), "ALTER TABLE away RENAME TO parcel");
  CHECK(house.only("a").state == DeliveryState::waiting);
  CHECK(house.pump->next_due() == at(10));
  house.next_round();
  CHECK(house.only("a").state == DeliveryState::sent);
  CHECK(got->got() == Strings{"a=body of a", "a=body of a"});
}

}  // namespace setwell::notices_test
