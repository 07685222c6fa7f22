#include "sensors/room/faults.hpp"

#include <algorithm>
#include <chrono>
#include <utility>

#include "sensors/room/random.hpp"

namespace setwell::room {
namespace {

using namespace std::chrono_literals;
using Messages = std::vector<SensorMessage>;
using quantity::Instant;
using quantity::Span;

constexpr std::pair<std::string_view, Fault> kNames[] = {
    {"dropouts", Fault::dropouts},     {"stuck", Fault::stuck},       {"spikes", Fault::spikes},
    {"sentinel", Fault::sentinel},     {"retained", Fault::retained}, {"clock-unset", Fault::clock_unset},
    {"duplicates", Fault::duplicates},
};

struct Stretch {
  Instant begin;
  Instant end;
  [[nodiscard]] bool holds(Instant at) const { return at >= begin && at < end; }
};

/// One stretch a day at a random hour, each of a random length; none on the first two hours, so that
/// something good comes first.
std::vector<Stretch> one_a_day(const Messages& messages, Span shortest, Span longest, Random& random) {
  std::vector<Stretch> stretches;
  for (Instant day = messages.front().at + 2h; day < messages.back().at; day += 24h) {
    const Instant begin = day + Span(random.between(0, Span(20h).count()));
    stretches.push_back({begin, begin + Span(random.between(shortest.count(), longest.count()))});
  }
  return stretches;
}

bool in_any(const std::vector<Stretch>& stretches, Instant at) {
  return std::any_of(stretches.begin(), stretches.end(), [&](const Stretch& s) { return s.holds(at); });
}

void drop_out(Messages& messages, Random& random) {
  const auto gaps = one_a_day(messages, 20min, 3h, random);
  std::erase_if(messages, [&](const SensorMessage& message) { return in_any(gaps, message.at); });
}

void stick(Messages& messages, Random& random) {
  const Span whole = messages.back().at - messages.front().at;
  const Span length = std::min<Span>(14h, whole / 3);
  const Instant begin =
      messages.front().at + Span(random.between(0, static_cast<std::uint64_t>((whole - length).count())));
  const SensorMessage* held = nullptr;
  for (auto& message : messages) {
    if (!Stretch{begin, begin + length}.holds(message.at)) continue;
    if (held == nullptr) held = &message;
    message.temperature = held->temperature;
    message.humidity = held->humidity;
  }
}

void spike(Messages& messages, Random& random) {
  for (auto& message : messages) {
    if (!random.chance(0.005)) continue;
    message.temperature += random.chance(0.5) ? 25.0 : -25.0;
    message.humidity = random.chance(0.5) ? 0.5 : 104.0;
  }
}

void put_sentinels(Messages& messages, Random& random) {
  for (auto& message : messages) {
    if (!random.chance(0.005)) continue;
    if (random.chance(0.5))
      message.temperature = 85.0;
    else
      message.humidity = 998.0;
  }
}

void leave_retained(Messages& messages) {
  SensorMessage old = messages.front();
  old.device_time = old.at - 30 * 24h;
  old.temperature = 31.5;
  old.humidity = 22.0;
  old.retained = true;
  messages.insert(messages.begin(), old);
}

void unset_clock(Messages& messages, Random& random) {
  for (const auto& stretch : one_a_day(messages, 30min, 30min, random))
    for (auto& message : messages)
      if (stretch.holds(message.at)) message.device_time = Instant(message.at - stretch.begin);
}

void duplicate(Messages& messages, Random& random) {
  Messages all;
  for (const auto& message : messages) {
    all.push_back(message);
    if (!message.retained && random.chance(0.02)) all.push_back(message);
  }
  messages = std::move(all);
}

void put(Fault fault, Messages& messages, Random& random) {
  switch (fault) {
    case Fault::dropouts:
      return drop_out(messages, random);
    case Fault::stuck:
      return stick(messages, random);
    case Fault::spikes:
      return spike(messages, random);
    case Fault::sentinel:
      return put_sentinels(messages, random);
    case Fault::retained:
      return leave_retained(messages);
    case Fault::clock_unset:
      return unset_clock(messages, random);
    case Fault::duplicates:
      return duplicate(messages, random);
  }
}

}  // namespace

std::optional<Fault> fault_named(std::string_view word) {
  for (const auto& [name, fault] : kNames)
    if (name == word) return fault;
  return std::nullopt;
}

std::vector<std::string_view> fault_names() {
  std::vector<std::string_view> all;
  for (const auto& [name, fault] : kNames)
    all.push_back(name);
  return all;
}

std::vector<SensorMessage> with_faults(std::vector<SensorMessage> messages, const std::vector<Fault>& faults,
                                       std::uint64_t seed) {
  // In the order of the list above whatever order they are asked in, each from numbers of its own: asking for
  // one more does not move the others.
  for (const auto& [name, fault] : kNames) {
    if (messages.empty() || std::find(faults.begin(), faults.end(), fault) == faults.end()) continue;
    Random random(seed * 31 + static_cast<std::uint64_t>(fault) + 1);
    put(fault, messages, random);
  }
  return messages;
}

}  // namespace setwell::room
