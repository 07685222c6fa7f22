#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "daemon/core/learned.hpp"
#include "daemon/core/time_model.hpp"

namespace setwell::core {
namespace {

constexpr double kColdestNode = -60.0;
constexpr double kWarmestNode = 120.0;
constexpr double kNodesPerKelvin = 20.0;
constexpr int kCells = static_cast<int>((kWarmestNode - kColdestNode) * kNodesPerKelvin);
/// What a workshop is like: most of the table is never asked for, and would only take room.
constexpr int kFirstUsualCell = static_cast<int>((-12.0 - kColdestNode) * kNodesPerKelvin);
constexpr int kLastUsualCell = static_cast<int>((42.0 - kColdestNode) * kNodesPerKelvin);

double cell_start(int cell) {
  return kColdestNode + cell / kNodesPerKelvin;
}

/// Rates only rise with warmth; `from_cold`: what is reached colder holds warmer (a rate is at least that),
/// the other way: what is not reached warmer is not reached colder.
template <typename Nodes, typename Member>
void run_up(Nodes& nodes, Member member, bool from_cold) {
  if (from_cold) {
    for (std::size_t i = 1; i < nodes.size(); ++i) {
      nodes[i].*member = std::max(nodes[i].*member, nodes[i - 1].*member);
    }
  } else {
    for (std::size_t i = nodes.size() - 1; i-- > 0;) {
      nodes[i].*member = std::min(nodes[i].*member, nodes[i + 1].*member);
    }
  }
}

}  // namespace

/// Makes the whole table of one clock.
class ClockRates::Maker {
 public:
  Maker(const TimeModel& model, const CureFloor& floor, Strictness strictness,
        const std::optional<LearnedShift>& learned)
      : model_(model), floor_(floor), strictness_(strictness), learned_(learned) {}

  [[nodiscard]] Table make(const std::vector<double>& kinks) {
    place(kinks);
    make_monotone();
    keep_order();
    return indexed(0, kCells);
  }

  /// The nodes of some cells, each at its own place in the making of the whole.
  [[nodiscard]] Table usual(const std::vector<double>& kinks) {
    place(kinks);
    make_monotone();
    keep_order();
    const auto at = [](double celsius) {
      return [celsius](const Node& node) { return node.celsius < celsius; };
    };
    const auto from = std::partition_point(nodes_.begin(), nodes_.end(), at(cell_start(kFirstUsualCell)));
    const auto to = std::partition_point(from, nodes_.end(), at(cell_start(kLastUsualCell)));
    nodes_ = std::vector<Node>(from, to + 1);
    return indexed(kFirstUsualCell, kLastUsualCell);
  }

 private:
  [[nodiscard]] Node node_at(double celsius) const;
  void apply_lesson(const LnTime& t, const LnTime& slowest, Node& node) const;
  void place(const std::vector<double>& kinks);
  void make_monotone();
  void keep_order();
  [[nodiscard]] Table indexed(int first_cell, int last_cell);

  const TimeModel& model_;
  const CureFloor& floor_;
  Strictness strictness_;
  const std::optional<LearnedShift>& learned_;
  std::vector<Node> nodes_;
};

/// The whole table, made at the first question about a temperature beyond the usual ones.
class ClockRates::Beyond {
 public:
  Beyond(TimeModel model, const CureFloor& floor, Strictness strictness, std::optional<LearnedShift> learned,
         std::vector<double> kinks)
      : model_(std::move(model)),
        floor_(floor),
        strictness_(strictness),
        learned_(learned),
        kinks_(std::move(kinks)) {}

  /// The same bits whoever makes it: of two that ask at once one throws its own away.
  [[nodiscard]] const Table& table() const {
    auto made = std::atomic_load(&made_);
    if (made) return *made;
    auto fresh = std::make_shared<const Table>(Maker(model_, floor_, strictness_, learned_).make(kinks_));
    return std::atomic_compare_exchange_strong(&made_, &made, fresh) ? *fresh : *made;
  }

 private:
  TimeModel model_;
  CureFloor floor_;
  Strictness strictness_;
  std::optional<LearnedShift> learned_;
  std::vector<double> kinks_;
  mutable std::shared_ptr<const Table> made_;  // once set it stays, so views of it hold
};

ClockRates::ClockRates(const TimeModel& model, const CureFloor& floor, Strictness strictness,
                       const LearnedShift* learned)
    : floor_(floor) {
  if (model.never()) return;
  kinks_ = model.row_temperatures();
  for (const std::optional<double>& at : {floor.slow_c, floor.expected_c}) {
    if (at) kinks_.push_back(*at);
  }
  std::sort(kinks_.begin(), kinks_.end());
  kinks_.erase(std::unique(kinks_.begin(), kinks_.end()), kinks_.end());
  const auto lesson = learned != nullptr ? std::optional(*learned) : std::nullopt;
  usual_ = Maker(model, floor_, strictness, lesson).usual(kinks_);
  beyond_ = std::make_shared<const Beyond>(model, floor_, strictness, lesson, kinks_);
}

ClockRates::Node ClockRates::Maker::node_at(double celsius) const {
  const LnTime t = model_.at(celsius);
  const LnTime slowest = celsius > model_.warmest_row_c() ? model_.at(model_.warmest_row_c()) : t;
  const auto joined = [&](double spread) { return std::hypot(spread, strictness_.scatter); };
  Node node{};
  node.celsius = celsius;
  node.slow = std::exp(-(slowest.high + strictness_.k * joined(slowest.slow_spread())));
  node.expected = std::exp(-t.expected);
  node.fast = std::exp(-(t.low - strictness_.k * joined(t.fast_spread())));
  node.expected_upper = std::exp(-t.high);
  node.likely = std::exp(-(t.expected + kLikelyQuantile * joined(t.slow_spread())));
  if (learned_) apply_lesson(t, slowest, node);
  return node;
}

void ClockRates::Maker::apply_lesson(const LnTime& t, const LnTime& slowest, Node& node) const {
  const auto joined = [&](double spread) { return std::hypot(spread, learned_->scatter_ln); };
  const double k = strictness_.k, mean = learned_->mean_ln;
  if (learned_->delays) {
    const double slow = std::exp(-(slowest.expected + mean + k * joined(slowest.slow_spread())));
    const double sheet = std::exp(-(slowest.high + k * slowest.slow_spread()));
    node.slow = learned_->replaces ? std::min(sheet, slow) : std::min(node.slow, slow);
    node.expected = std::exp(-(t.expected + mean));
    node.likely = std::exp(-(t.expected + mean + kLikelyQuantile * joined(t.slow_spread())));
  }
  if (learned_->closes)
    node.fast = std::max(node.fast, std::exp(-(t.expected + mean - k * joined(t.fast_spread()))));
}

void ClockRates::Maker::place(const std::vector<double>& kinks) {
  std::vector<double> at;
  at.reserve(static_cast<std::size_t>(kCells) + 1 + kinks.size());
  for (int cell = 0; cell <= kCells; ++cell)
    at.push_back(cell_start(cell));
  at.insert(at.end(), kinks.begin(), kinks.end());
  std::sort(at.begin(), at.end());
  at.erase(std::unique(at.begin(), at.end()), at.end());
  nodes_.reserve(at.size());
  for (double celsius : at)
    nodes_.push_back(node_at(celsius));
}

void ClockRates::Maker::make_monotone() {
  // Below the floor the slow clock has no rate that a warmer temperature could inherit.
  if (floor_.slow_c) {
    for (Node& node : nodes_) {
      if (node.celsius < *floor_.slow_c) node.slow = 0.0;
    }
  }
  run_up(nodes_, &Node::slow, model_.high_ends_fall());
  run_up(nodes_, &Node::fast, !model_.low_ends_fall());
  run_up(nodes_, &Node::expected, true);
  run_up(nodes_, &Node::expected_upper, true);
  run_up(nodes_, &Node::likely, model_.high_ends_fall());
}

/// The maximum and minimum of rising functions rise, so order is kept without losing that.
void ClockRates::Maker::keep_order() {
  for (Node& node : nodes_) {
    node.fast = std::max(node.fast, node.slow);
    node.expected = std::clamp(node.expected, node.slow, node.fast);
    node.expected_upper = std::min(node.expected_upper, node.expected);
    node.likely = std::clamp(node.likely, node.slow, node.expected);
  }
}

ClockRates::Table ClockRates::Maker::indexed(int first_cell, int last_cell) {
  Table table;
  table.first_cell = first_cell;
  table.first_in_cell.reserve(static_cast<std::size_t>(last_cell - first_cell));
  std::size_t node = 0;
  for (int cell = first_cell; cell < last_cell; ++cell) {
    while (node + 1 < nodes_.size() && nodes_[node + 1].celsius <= cell_start(cell))
      ++node;
    table.first_in_cell.push_back(static_cast<std::uint16_t>(node));
  }
  table.nodes = std::move(nodes_);
  table.from_c = table.nodes.front().celsius;
  table.to_c = table.nodes.back().celsius;
  return table;
}

ClockRates::Spot ClockRates::spot(double celsius) const {
  const bool usual = celsius >= usual_.from_c && celsius < usual_.to_c;
  const Table& table = usual ? usual_ : beyond_->table();
  const auto& nodes = table.nodes;
  Spot spot{};
  spot.celsius_ = celsius;
  if (!(celsius > table.from_c) || celsius >= table.to_c) {
    spot.colder_ = spot.warmer_ = celsius >= table.to_c ? &nodes.back() : &nodes.front();
    return spot;
  }
  const int cell = static_cast<int>((celsius - kColdestNode) * kNodesPerKelvin) - table.first_cell;
  const int last = static_cast<int>(table.first_in_cell.size()) - 1;
  const Node* node = &nodes[table.first_in_cell[static_cast<std::size_t>(std::clamp(cell, 0, last))]];
  while (node[1].celsius <= celsius)
    ++node;
  spot.colder_ = node;
  spot.warmer_ = node + 1;
  spot.f_ = std::max(0.0, (celsius - node->celsius) / (node[1].celsius - node->celsius));
  return spot;
}

double ClockRates::slow(double celsius) const {
  return never() ? 0.0 : slow(spot(celsius));
}

double ClockRates::expected(double celsius) const {
  return never() ? 0.0 : expected(spot(celsius));
}

double ClockRates::fast(double celsius) const {
  return never() ? 0.0 : fast(spot(celsius));
}

double ClockRates::expected_upper(double celsius) const {
  return never() ? 0.0 : expected_upper(spot(celsius));
}

double ClockRates::likely(double celsius) const {
  return never() ? 0.0 : likely(spot(celsius));
}

}  // namespace setwell::core
