#pragma once

#include "daemon/api/from_core.hpp"
#include "daemon/service/workshop.hpp"

/// One piece as it stands: the join of entries, clocks, rules and the maker's hours that answers and notices
/// share.
namespace setwell::service {

[[nodiscard]] core::Display display_of(const settings::Settings& settings);
[[nodiscard]] core::WakingHours waking_of(const settings::Settings& settings);
[[nodiscard]] core::QuietHours quiet_of(const settings::Settings& settings);

/// What is to go on next: the schedule's next coat, otherwise the same sheet again.
struct NextCoat {
  const ShelvedSheet* sheet = nullptr;  ///< null when it is not on the shelf
  std::string id;                       ///< as the schedule writes it
  bool planned = false;
};

/// One coat under one rule, judged.
struct CoatView {
  const core::Piece* piece = nullptr;
  const core::Coat* coat = nullptr;
  std::shared_ptr<const core::Material> material;
  const core::Outlook* outlook = nullptr;
  NextCoat next;
  int rule = -1;
  core::Judgement judgement;
  /// What keeps an open coat from being coated in the present air: limits of what goes on next.
  std::vector<core::OutsideCondition> unfit_air;
  bool schedule_done = false;
  bool recomputing = false;
};

/// Whether a fresh coat of it gives off what burns: kept from flames while it flashes off.
[[nodiscard]] bool gives_off_solvent(core::Family family);

/// The view of a coat of a piece in progress; nothing when its edition cannot be read.
[[nodiscard]] std::optional<CoatView> view_of(Workshop& workshop, const core::Piece& piece,
                                              const core::Coat& coat, quantity::Instant now);

/// The same as if `top` were what goes on next.
[[nodiscard]] std::optional<CoatView> view_under(Workshop& workshop, const core::Piece& piece,
                                                 const core::Coat& coat, NextCoat top, quantity::Instant now);
/// What goes on after a coat of the piece, and whether that coat was the schedule's last. The coat need not
/// be logged.
[[nodiscard]] NextCoat next_after(const Workshop& workshop, const core::Piece& piece, const core::Coat& coat);
[[nodiscard]] bool done_after(const Workshop& workshop, const core::Piece& piece, const core::Coat& coat);
/// The index of the rule of `material` for what goes on next; -1 where the sheet states none.
[[nodiscard]] int rule_index(const core::Material& material, const NextCoat& next);

/// Last start and the part in waking hours of one window.
[[nodiscard]] api::WindowTimes times_of(const Workshop& workshop, const core::Window& window,
                                        const core::Material& top, quantity::Instant now);

/// Air colder than what goes on next may be applied at.
struct TooCold {
  quantity::Celsius air;
  quantity::Celsius least;
};
[[nodiscard]] std::optional<TooCold> too_cold_to_apply(const Workshop& workshop, const CoatView& view,
                                                       quantity::Instant now);

/// What handling, packing and full cure say of the whole piece, over all its coats.
[[nodiscard]] std::vector<core::ClockReading> whole_piece(Workshop& workshop, const core::Piece& piece,
                                                          quantity::Instant now);

/// A piece (its newest coat) as answers show it.
[[nodiscard]] api::PieceNow piece_now(Workshop& workshop, const core::Piece& piece, quantity::Instant now);
/// One coat of a piece, for `piece show`.
[[nodiscard]] api::PieceNow coat_now(Workshop& workshop, const core::Piece& piece, const core::Coat& coat,
                                     quantity::Instant now);

/// Where the piece is at `at`.
[[nodiscard]] std::optional<quantity::ZoneId> zone_of(const core::Piece& piece, quantity::Instant at);

/// The touches on the witness of the coat's batch.
[[nodiscard]] std::vector<core::Event<core::TouchTested>> witness_of(const core::Workbook& workbook,
                                                                     const core::Coat& coat);

}  // namespace setwell::service
