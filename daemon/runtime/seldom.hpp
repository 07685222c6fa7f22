#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/runtime/clocks.hpp"

namespace setwell::runtime {

/// Holds back repetitions: lets one through per key and pause. Knows at most `kKeys` keys; beyond that the
/// one let through longest ago is forgotten. Not safe across threads.
class Seldom {
 public:
  static constexpr std::size_t kKeys = 256;
  explicit Seldom(std::chrono::seconds pause) : pause_(pause) {}

  /// Nothing when this one is held back; else how many were held back since the last one.
  [[nodiscard]] std::optional<std::uint64_t> let_through(std::string_view key, SteadyInstant now);

 private:
  struct Seen {
    SteadyInstant last;
    std::uint64_t held_back = 0;
  };
  void make_room();

  std::chrono::seconds pause_;
  std::map<std::string, Seen, std::less<>> seen_;
};

}  // namespace setwell::runtime
