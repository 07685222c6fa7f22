#include "sensors/screen/silence.hpp"

namespace setwell::screen {

using quantity::Instant;
using quantity::Span;

Instant silence_begins(std::optional<Instant> last_good, Instant watched_from, Span silent_after) {
  return last_good.value_or(watched_from) + silent_after;
}

std::optional<Instant> silent_since(std::optional<Instant> last_good, Instant watched_from, Span silent_after,
                                    Instant now) {
  const Instant begins = silence_begins(last_good, watched_from, silent_after);
  if (now < begins) return std::nullopt;
  return begins;
}

}  // namespace setwell::screen
