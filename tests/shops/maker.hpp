#pragma once

#include <optional>
#include <string>
#include <vector>

#include "tests/shops/shop.hpp"

/// What the maker of a simulated shop does, and what really becomes of it.
namespace setwell::shops {

/// One coat before anything is told of it; minutes from the start of the shop's air.
struct CoatPlan {
  const Variant* variant = nullptr;
  std::string piece;
  TrueCoat truth;
  double film_um = 60;
  bool film_told = false;
  double logged = 0;       ///< when the maker logs it
  std::string said;        ///< the time typed; empty: just now
  double said_minute = 0;  ///< what that means
  TrueCourse course;
  double open = 0;              ///< minute of the true opening
  std::optional<double> close;  ///< of the true closing
  double give_up = 0;           ///< when nobody waits for its opening any more
  CoatRecord record;
};

struct Shopful {
  Room room;
  std::vector<Variant> variants;
  std::vector<CoatPlan> coats;
  double interval = 5;  ///< minutes between readings
  double begins = 0;    ///< before that the sensor only gets to know the room
};

/// Chooses when and what the maker coats, and works out what really happens. Coats whose opening the
/// recording does not reach are left out.
[[nodiscard]] Shopful furnish(const ShopPlan& plan, room::Random& random);

/// Minutes of [from, to) between 07:00 and 22:00.
[[nodiscard]] double waking_minutes(const Room& room, double from, double to);

}  // namespace setwell::shops
