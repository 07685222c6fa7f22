#include "sensors/room/random.hpp"

#include <cmath>
#include <numbers>

namespace setwell::room {

std::uint64_t Random::next() {
  std::uint64_t z = (state_ += 0x9e3779b97f4a7c15U);
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
  return z ^ (z >> 31);
}

double Random::uniform() {
  return static_cast<double>(next() >> 11) * 0x1p-53;
}

double Random::normal() {
  const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
  return radius * std::cos(2.0 * std::numbers::pi * uniform());
}

std::uint64_t Random::between(std::uint64_t low, std::uint64_t high) {
  return low + next() % (high - low + 1);
}

}  // namespace setwell::room
