#include <atomic>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <thread>

#include <CLI/CLI.hpp>

#include "tests/shops/report.hpp"

/// Simulated shops: how often would "safe to recoat" have been wrong? Leaves with 77 where there is nothing
/// to run on, with 1 where more was wrong than `--most-false` allows.
namespace setwell::shops {
namespace {

constexpr int kCoatsPerShop = 30;

struct Options {
  int coats = 3000;
  std::uint64_t seed = 1;
  double k = 3.1;
  int jobs = 2;
  std::string family, rooms, tables;
  bool json = false, explain = false;
  int most_false = -1;
};

std::string from_environment(const char* name, const char* otherwise) {
  const char* value = std::getenv(name);
  return value != nullptr ? value : otherwise;
}

struct Ground {
  std::vector<Product> products;
  std::vector<Room> rooms;
};

/// Tables and recorded rooms; nothing where either is absent.
std::optional<Ground> ground_of(const Options& options) {
  std::ifstream in(options.tables, std::ios::binary);
  const std::string text(std::istreambuf_iterator<char>(in), {});
  const auto tables = reference::read_tables(text);
  Ground ground;
  ground.rooms = recorded_rooms(options.rooms);
  if (!tables || tables->empty() || ground.rooms.empty()) return std::nullopt;
  ground.products = products_of(*tables);
  room::Random random(options.seed);
  for (Room& room : generated_rooms(random))
    ground.rooms.push_back(std::move(room));
  return ground;
}

/// Families in turn, within a family its sheets in turn; rooms, scatters and habits are drawn.
std::vector<ShopPlan> plans_of(const Ground& ground, const Options& options) {
  std::map<std::string, std::map<std::string, std::vector<const Product*>>> families;
  for (const Product& product : ground.products) {
    if (options.family.empty() || product.family == options.family)
      families[product.family][product.sheet].push_back(&product);
  }
  std::vector<ShopPlan> plans;
  const int shops = (options.coats + kCoatsPerShop - 1) / kCoatsPerShop;
  std::map<std::string, std::size_t> turn;
  for (int i = 0; i < shops && !families.empty(); ++i) {
    const auto& [family, sheets] = *std::next(
        families.begin(), static_cast<std::ptrdiff_t>(static_cast<std::size_t>(i) % families.size()));
    const auto sheet = std::next(sheets.begin(), static_cast<std::ptrdiff_t>(turn[family]++ % sheets.size()));
    ShopPlan plan;
    plan.seed = options.seed * 1000003 + static_cast<std::uint64_t>(i);
    room::Random random(plan.seed ^ 0x5e77e11);
    plan.products = sheet->second;
    plan.room = &ground.rooms[random.between(0, ground.rooms.size() - 1)];
    plan.scatter.sigma = random.chance(0.5) ? 0.05 : 0.10;
    plan.scatter.heavy_tailed = random.chance(0.5);
    plan.stated_scatter = plan.scatter.sigma;
    plan.k = options.k;
    plan.wrong_touches = random.chance(0.2);
    plan.coats = std::min(kCoatsPerShop, options.coats - i * kCoatsPerShop);
    plans.push_back(std::move(plan));
  }
  return plans;
}

std::vector<CoatRecord> run_all(const std::vector<ShopPlan>& plans, int jobs) {
  std::vector<std::vector<CoatRecord>> by_shop(plans.size());
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < plans.size(); i = next++)
      by_shop[i] = run_shop(plans[i]);
  };
  std::vector<std::thread> workers;
  for (int i = 0; i < jobs; ++i)
    workers.emplace_back(work);
  for (std::thread& worker : workers)
    worker.join();
  std::vector<CoatRecord> all;
  for (auto& shop : by_shop)
    std::move(shop.begin(), shop.end(), std::back_inserter(all));
  return all;
}

int run(const Options& options) {
  const auto ground = ground_of(options);
  if (!ground) {
    std::fprintf(stderr, "skipped: no tables at %s or no rooms in %s\n", options.tables.c_str(),
                 options.rooms.c_str());
    return 77;
  }
  const auto started = std::chrono::steady_clock::now();
  const auto plans = plans_of(*ground, options);
  const auto records = run_all(plans, options.jobs);
  RunFacts facts{options.seed, options.k, 0, static_cast<int>(plans.size())};
  facts.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - started).count();
  if (options.explain) std::fputs(explained(records).c_str(), stderr);
  std::fputs(table_of(records, facts).c_str(), options.json ? stderr : stdout);
  if (options.json) std::puts(json_of(records, facts).c_str());
  const Counts counts = count(records, options.seed);
  const bool too_many =
      options.most_false >= 0 && counts.false_openings + counts.false_comforts > options.most_false;
  return too_many || records.empty() ? 1 : 0;
}

}  // namespace
}  // namespace setwell::shops

int main(int argc, char** argv) {
  setwell::shops::Options options;
  options.rooms = setwell::shops::from_environment("SETWELL_ROOMS", "../shared/climate");
  options.tables = setwell::shops::from_environment("SETWELL_TABLES", "../shared/datasheets/tables.csv");
  CLI::App app("Simulated shops: the real engine against a known truth.");
  app.add_option("--coats", options.coats, "how many coats in all")->check(CLI::PositiveNumber);
  app.add_option("--seed", options.seed, "the same seed gives the same figures");
  app.add_option("--k", options.k, "spreads that the sure bounds keep away");
  app.add_option("--family", options.family, "only sheets of this family");
  app.add_option("--jobs", options.jobs, "shops at work at a time")->check(CLI::PositiveNumber);
  app.add_option("--most-false", options.most_false,
                 "leave with 1 when more openings and comforts are false");
  app.add_flag("--json", options.json, "one JSON object on the last line");
  app.add_flag("--explain", options.explain, "every false telling, on stderr");
  CLI11_PARSE(app, argc, argv);
  return setwell::shops::run(options);
}
