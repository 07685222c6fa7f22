#pragma once

#include <cstdint>

namespace setwell::room {

/// A stream of random numbers that is the same on every machine and standard library: splitmix64 (Steele, Lea
/// and Flood, OOPSLA 2014), normals by Box and Muller.
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}

  [[nodiscard]] std::uint64_t next();
  /// [0, 1).
  [[nodiscard]] double uniform();
  /// Mean 0, standard deviation 1.
  [[nodiscard]] double normal();
  [[nodiscard]] bool chance(double probability) { return uniform() < probability; }
  /// A whole number in [low, high].
  [[nodiscard]] std::uint64_t between(std::uint64_t low, std::uint64_t high);

 private:
  std::uint64_t state_;
};

}  // namespace setwell::room
