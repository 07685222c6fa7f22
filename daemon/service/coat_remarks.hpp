#pragma once

#include <string>
#include <vector>

#include "daemon/service/workshop.hpp"

/// What to say of a coat on one piece besides its times.
namespace setwell::service {

/// A coat as it is about to be logged (or only asked about).
struct CoatSaid {
  const core::Piece* piece = nullptr;
  const core::Material* material = nullptr;
  const core::CoatMade* made = nullptr;
};

/// Of a piece brought in from a colder place: whether water condenses on it and how long until it may be
/// coated; the time counts from when it came in. Needs the air of the coat's zone at its time; says so where
/// there is none. Empty when the piece came from nowhere colder.
[[nodiscard]] std::string brought_in_remark(const Workshop& workshop, const CoatSaid& coat);

/// All of it: brought in cold, the lamp of light-cured films, flake and pigment, air too dry for films that
/// cure with its water. Sentences with their stops.
[[nodiscard]] std::vector<std::string> coat_remarks(const Workshop& workshop, const CoatSaid& coat);

/// That the air now holds too little water for a film that needs it; empty otherwise.
[[nodiscard]] std::string too_dry_remark(const Workshop& workshop, const core::Material& material,
                                         const quantity::ZoneId& zone, quantity::Instant at);

}  // namespace setwell::service
