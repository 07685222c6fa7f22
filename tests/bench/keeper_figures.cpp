#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <thread>
#include <vector>

#include <fmt/format.h>

#include "daemon/ledger/inbox.hpp"
#include "daemon/ledger/read_only_ledger.hpp"
#include "daemon/service/workshop.hpp"
#include "daemon/settings/settings_reader.hpp"

/// How fast the keeper commits alone, and beside a loop that drains a backlog and a reader that walks a week,
/// on the same disk. One JSON object on one line; figures.py prints it.
namespace setwell::tests {

namespace {

using quantity::Instant;
using std::chrono::days;
using std::chrono::seconds;
using Steady = std::chrono::steady_clock;

constexpr int kBacklog = 100'000;
constexpr int kCommits = 2000;
constexpr std::size_t kRowsPerTurn = 100;
constexpr auto kMonday = Instant(std::chrono::sys_days(std::chrono::year(2031) / 3 / 3).time_since_epoch());

constexpr std::string_view kSettings = R"(
[[zone]]
id = "bench"
[[channel]]
zone = "bench"
topic = "shop/bench/air"
quantity = "air-temperature"
format = "json"
path = "/t"
time_path = "/at"
time_unit = "ms"
)";

decode::RawMessage message(int number) {
  decode::RawMessage made;
  const auto at = kMonday + seconds(10) * number;
  made.row = number + 1;
  made.topic = "shop/bench/air";
  made.payload = fmt::format(R"({{"t":{:.2f},"at":{}}})", 18 + 0.01 * (number % 7), quantity::to_ms(at));
  made.payload_size = made.payload.size();
  made.received = at;
  made.connection = 1;
  return made;
}

struct Pace {
  double per_second = 0;
  double p50_ms = 0;
  double p99_ms = 0;
};

/// Keeps `kCommits` messages, each on disk before the next.
Pace keep_for_a_while(ledger::Inbox& inbox) {
  std::vector<double> took;
  const auto begin = Steady::now();
  for (int i = 0; i < kCommits; ++i) {
    const auto before = Steady::now();
    inbox.keep(message(i));
    took.push_back(std::chrono::duration<double, std::milli>(Steady::now() - before).count());
  }
  const double whole = std::chrono::duration<double>(Steady::now() - begin).count();
  std::sort(took.begin(), took.end());
  return {kCommits / whole, took[took.size() / 2], took[took.size() * 99 / 100]};
}

std::unique_ptr<service::Workshop> workshop_in(const std::filesystem::path& folder) {
  auto reading = settings::read_settings(std::string(kSettings), "figures.toml", [](std::string_view name) {
    return std::optional(quantity::TimeZone(std::string(name), std::chrono::minutes(0), {}));
  });
  auto ledger = ledger::Ledger::open(folder / "ledger.db", ledger::Mode::live);
  if (!reading.settings || !ledger) return nullptr;
  auto opened =
      service::open_workshop(std::make_shared<const settings::Settings>(std::move(*reading.settings)), folder,
                             std::move(*ledger), false, kMonday);
  return opened ? std::move(*opened) : nullptr;
}

/// The loop: the backlog in turns as the daemon takes them, until it is through or told to stop.
int drain(service::Workshop& workshop, const std::atomic<bool>& stop) {
  int taken = 0;
  while (taken < kBacklog && !stop) {
    service::TakeIn batch{1, {}, {}};
    while (batch.messages.size() < kRowsPerTurn)
      batch.messages.push_back(message(taken++));
    service::take_in(workshop, batch, batch.messages.back().received);
  }
  return taken;
}

/// The reader: a week of readings, a day at a time, again and again.
void walk_weeks(const std::filesystem::path& file, const std::atomic<bool>& stop) {
  const auto opened = ledger::Ledger::open(file, ledger::Mode::live);
  while (opened && !stop) {
    (*opened).visit_readings(ledger::ChannelNumber(1), kMonday, kMonday + days(7),
                             [&](const ledger::StoredReading&) { return !stop.load(); });
  }
}

}  // namespace

}  // namespace setwell::tests

int main(int count, char** words) {
  using namespace setwell;
  using namespace setwell::tests;
  if (count != 2) {
    std::fputs("setwell_keeper_figures FOLDER: databases are made in FOLDER, which must exist\n", stderr);
    return 2;
  }
  const std::filesystem::path folder = words[1];
  const auto alone_inbox = ledger::Inbox::open(folder / "alone.db", {});
  const auto inbox = ledger::Inbox::open(folder / "inbox.db", {});
  const auto workshop = workshop_in(folder);
  if (!alone_inbox || !inbox || !workshop) {
    std::fputs("no databases can be made in that folder\n", stderr);
    return 1;
  }
  const auto alone = keep_for_a_while(**alone_inbox);
  std::atomic<bool> stop{false};
  int taken = 0;
  std::thread loop([&] { taken = drain(*workshop, stop); });
  std::thread reader([&] { walk_weeks(folder / "ledger.db", stop); });
  const auto beside = keep_for_a_while(**inbox);
  stop = true;
  loop.join();
  reader.join();
  fmt::print(
      "{{\"alone_per_second\":{:.0f},\"alone_p50_ms\":{:.2f},\"alone_p99_ms\":{:.2f},\"beside_per_second\":{:"
      ".0f},"
      "\"beside_p50_ms\":{:.2f},\"beside_p99_ms\":{:.2f},\"share\":{:.3f},\"rows_taken_meanwhile\":{}}}\n",
      alone.per_second, alone.p50_ms, alone.p99_ms, beside.per_second, beside.p50_ms, beside.p99_ms,
      beside.per_second / alone.per_second, taken);
  return 0;
}
