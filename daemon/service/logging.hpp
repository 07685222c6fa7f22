#pragma once

#include "daemon/core/time_phrase.hpp"
#include "daemon/service/workshop.hpp"

/// What every request that adds entries has in common.
namespace setwell::service {

/// The pieces in progress that a list of names means.
[[nodiscard]] quantity::Result<std::vector<const core::Piece*>> pieces_named(
    const Workshop& workshop, const std::vector<std::string>& names);
/// The piece in progress, else the newest gone one of that very id.
[[nodiscard]] quantity::Result<const core::Piece*> piece_ever(const Workshop& workshop,
                                                              const std::string& name);
/// When it happened: the typed time, or now.
[[nodiscard]] quantity::Result<core::TimePhrase> time_said(const Workshop& workshop,
                                                           const std::optional<std::string>& at,
                                                           quantity::Instant now);
/// The zone named, or with none named the only one there is; otherwise the answer lists them.
[[nodiscard]] quantity::Result<quantity::ZoneId> zone_named(const Workshop& workshop,
                                                            const std::optional<std::string>& name,
                                                            std::optional<quantity::ZoneId> otherwise);
/// `8C`, `46F`, `8`: a temperature as people type it, the workshop's unit where none is said.
[[nodiscard]] quantity::Result<std::optional<quantity::Celsius>> temperature_said(
    const Workshop& workshop, const std::optional<std::string>& text, std::string_view what);

/// An entry said now that happened at `at`.
[[nodiscard]] core::Entry entry_of(const quantity::PieceId& piece, quantity::Instant now,
                                   const core::TimePhrase& at, core::EntryBody body);

/// Stores entries, all or none, brings the clocks along, and answers with the pieces as they stand now.
/// `said` and `cautions` go into the answer as they are. `also` is done in the same transaction, before them.
[[nodiscard]] Answered<api::LoggedAnswer> store(Workshop& workshop, std::vector<core::Entry> entries,
                                                quantity::Instant now, std::vector<std::string> said = {},
                                                std::vector<std::string> cautions = {},
                                                const std::function<void()>& also = {});

/// The sheet's cautions of the given topics, each once.
[[nodiscard]] std::vector<std::string> cautions_of(const core::Material& material,
                                                   const std::vector<std::string_view>& topics);

}  // namespace setwell::service
