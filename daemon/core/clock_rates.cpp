#include <algorithm>
#include <cmath>

#include "daemon/core/time_model.hpp"

namespace setwell::core {
namespace {

constexpr double kColdestNode = -60.0;
constexpr double kWarmestNode = 120.0;
constexpr double kNodesPerKelvin = 20.0;
constexpr int kCells = static_cast<int>((kWarmestNode - kColdestNode) * kNodesPerKelvin);

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

ClockRates::ClockRates(const TimeModel& model, const CureFloor& floor, Strictness strictness)
    : floor_(floor) {
  if (model.never()) return;
  kinks_ = model.row_temperatures();
  for (const std::optional<double>& at : {floor.slow_c, floor.expected_c}) {
    if (at) kinks_.push_back(*at);
  }
  std::sort(kinks_.begin(), kinks_.end());
  kinks_.erase(std::unique(kinks_.begin(), kinks_.end()), kinks_.end());
  place_nodes(model, strictness);
  make_monotone(model);
  keep_order();
  index_nodes();
}

ClockRates::Node ClockRates::node_at(const TimeModel& model, double celsius, Strictness strictness) {
  const LnTime t = model.at(celsius);
  const LnTime slowest = celsius > model.warmest_row_c() ? model.at(model.warmest_row_c()) : t;
  const auto joined = [&](double spread) { return std::hypot(spread, strictness.scatter); };
  Node node{};
  node.celsius = celsius;
  node.slow = std::exp(-(slowest.high + strictness.k * joined(slowest.spread)));
  node.expected = std::exp(-t.expected);
  node.fast = std::exp(-(t.low - strictness.k * joined(t.spread)));
  node.expected_upper = std::exp(-t.high);
  node.likely = std::exp(-(t.expected + kLikelyQuantile * joined(t.spread)));
  return node;
}

void ClockRates::place_nodes(const TimeModel& model, Strictness strictness) {
  std::vector<double> at;
  at.reserve(static_cast<std::size_t>(kCells) + 1 + kinks_.size());
  for (int cell = 0; cell <= kCells; ++cell)
    at.push_back(cell_start(cell));
  at.insert(at.end(), kinks_.begin(), kinks_.end());
  std::sort(at.begin(), at.end());
  at.erase(std::unique(at.begin(), at.end()), at.end());
  nodes_.reserve(at.size());
  for (double celsius : at)
    nodes_.push_back(node_at(model, celsius, strictness));
}

void ClockRates::make_monotone(const TimeModel& model) {
  // Below the floor the slow clock has no rate that a warmer temperature could inherit.
  if (floor_.slow_c) {
    for (Node& node : nodes_) {
      if (node.celsius < *floor_.slow_c) node.slow = 0.0;
    }
  }
  run_up(nodes_, &Node::slow, model.high_ends_fall());
  run_up(nodes_, &Node::fast, !model.low_ends_fall());
  run_up(nodes_, &Node::expected, true);
  run_up(nodes_, &Node::expected_upper, true);
  run_up(nodes_, &Node::likely, model.high_ends_fall());
}

/// The maximum and minimum of rising functions rise, so order is kept without losing that.
void ClockRates::keep_order() {
  for (Node& node : nodes_) {
    node.fast = std::max(node.fast, node.slow);
    node.expected = std::clamp(node.expected, node.slow, node.fast);
    node.expected_upper = std::min(node.expected_upper, node.expected);
    node.likely = std::clamp(node.likely, node.slow, node.expected);
  }
}

void ClockRates::index_nodes() {
  first_in_cell_.reserve(static_cast<std::size_t>(kCells));
  std::size_t node = 0;
  for (int cell = 0; cell < kCells; ++cell) {
    while (node + 1 < nodes_.size() && nodes_[node + 1].celsius <= cell_start(cell))
      ++node;
    first_in_cell_.push_back(node);
  }
}

double ClockRates::look_up(double celsius, double Node::*member) const {
  if (nodes_.empty()) return 0.0;
  if (!(celsius > nodes_.front().celsius)) return nodes_.front().*member;
  if (celsius >= nodes_.back().celsius) return nodes_.back().*member;
  const double cell = (celsius - kColdestNode) * kNodesPerKelvin;
  std::size_t i = first_in_cell_[std::min(static_cast<std::size_t>(cell), first_in_cell_.size() - 1)];
  while (nodes_[i + 1].celsius <= celsius)
    ++i;
  const Node& a = nodes_[i];
  const Node& b = nodes_[i + 1];
  const double f = std::max(0.0, (celsius - a.celsius) / (b.celsius - a.celsius));
  return a.*member + (b.*member - a.*member) * f;
}

double ClockRates::slow(double celsius) const {
  return stands_still(celsius, floor_.slow_c) ? 0.0 : look_up(celsius, &Node::slow);
}

double ClockRates::expected(double celsius) const {
  return stands_still(celsius, floor_.expected_c) ? 0.0 : look_up(celsius, &Node::expected);
}

double ClockRates::fast(double celsius) const {
  return look_up(celsius, &Node::fast);
}

double ClockRates::expected_upper(double celsius) const {
  return stands_still(celsius, floor_.expected_c) ? 0.0 : look_up(celsius, &Node::expected_upper);
}

double ClockRates::likely(double celsius) const {
  return stands_still(celsius, floor_.expected_c) ? 0.0 : look_up(celsius, &Node::likely);
}

}  // namespace setwell::core
