#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/service/logging.hpp"

/// A request for a coat as it was typed, read: shared by logging one and by only asking about one.
namespace setwell::service {

/// What a coat is made of: a sheet, and the batch it was poured from.
struct Poured {
  const ShelvedSheet* sheet = nullptr;
  const core::Batch* batch = nullptr;
};
/// `what` is a sheet, a batch, or `@` for the only batch inside its pot life at `now`.
[[nodiscard]] quantity::Result<Poured> poured(Workshop& workshop, const std::string& what,
                                              quantity::Instant now);

/// `fern-07=12.5` as a name and grams.
struct Named {
  std::vector<std::string> names;
  std::vector<std::optional<quantity::Grams>> grams;
};
[[nodiscard]] quantity::Result<Named> split_grams(const std::vector<std::string>& texts);

/// Grams by resolved piece: ranges carry none, so each plain name keeps its own.
[[nodiscard]] std::optional<quantity::Grams> grams_of(const Workshop& workshop, const Named& named,
                                                      const core::Piece& piece);

/// Over a span the pieces lie evenly in it; several passes on a piece take the whole span.
[[nodiscard]] core::TimePhrase time_of_piece(const core::TimePhrase& said, std::size_t index,
                                             std::size_t count, int passes);

/// All that the pieces' coats share; zone, grams and times are each piece's own.
[[nodiscard]] quantity::Result<core::CoatMade> coat_made(const Workshop& workshop,
                                                         const api::CoatParams& params, const Poured& poured);

/// Where the coat is made: the zone named, else where the piece is, else where the batch was mixed.
[[nodiscard]] quantity::Result<quantity::ZoneId> coat_zone(const Workshop& workshop,
                                                           const api::CoatParams& params,
                                                           const core::Piece& piece, const Poured& poured,
                                                           quantity::Instant at);

/// The topics of the sheet's cautions that putting it on needs.
[[nodiscard]] std::vector<std::string_view> coat_topics(const core::Material& material);

}  // namespace setwell::service
