#include "daemon/runtime/seldom.hpp"

#include <algorithm>
#include <utility>

namespace setwell::runtime {

std::optional<std::uint64_t> Seldom::let_through(std::string_view key, SteadyInstant now) {
  const auto known = seen_.find(key);
  if (known == seen_.end()) {
    make_room();
    seen_.emplace(std::string(key), Seen{now});
    return 0;
  }
  auto& seen = known->second;
  if (now - seen.last < pause_) {
    ++seen.held_back;
    return {};
  }
  seen.last = now;
  return std::exchange(seen.held_back, 0);
}

void Seldom::make_room() {
  if (seen_.size() < kKeys) return;
  seen_.erase(std::min_element(seen_.begin(), seen_.end(),
                               [](const auto& a, const auto& b) { return a.second.last < b.second.last; }));
}

}  // namespace setwell::runtime
