#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "sensors/quantity/instant.hpp"
#include "sensors/room/random.hpp"
#include "tests/shops/truth.hpp"

/// The rooms that simulated shops stand in.
namespace setwell::shops {

struct Room {
  std::string name;
  quantity::Instant begin;
  std::vector<TrueAir> air;  ///< minutes from `begin`
};

/// Every `room-*.csv` of the folder that is not outdoors, by name. None where the folder is absent.
[[nodiscard]] std::vector<Room> recorded_rooms(const std::filesystem::path& folder);

/// Rooms that nobody recorded: both seasons, heated and not, forty days each.
[[nodiscard]] std::vector<Room> generated_rooms(room::Random& random);

/// A stretch of a room, minutes counted anew from its start.
[[nodiscard]] Room stretch_of(const Room& room, double from, double length);

}  // namespace setwell::shops
