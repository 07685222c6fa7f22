#include "sensors/screen/series.hpp"

#include <algorithm>
#include <tuple>

namespace setwell::screen {

bool earlier(const quantity::DecodedValue& a, const quantity::DecodedValue& b) {
  const auto key = [](const quantity::DecodedValue& v) {
    return std::tie(v.measured, v.received, v.redelivered, v.topic, v.seq, v.uptime, v.number, v.value,
                    v.unit, v.refusal, v.time, v.by_device);
  };
  return key(a) < key(b);
}

Side before(const Flags& eligible, std::size_t position) {
  Side side;
  const std::size_t last = position > kSearch ? position - kSearch : 0;
  for (std::size_t at = position; at-- > last && !side.full();) {
    if (eligible[at]) side.add(at);
  }
  return side;
}

Side after(const Flags& eligible, std::size_t position) {
  Side side;
  const std::size_t end = std::min(eligible.size(), position + kSearch + 1);
  for (std::size_t at = position + 1; at < end && !side.full(); ++at) {
    if (eligible[at]) side.add(at);
  }
  return side;
}

}  // namespace setwell::screen
