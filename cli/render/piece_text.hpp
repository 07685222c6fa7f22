#pragma once

#include <string>

#include "cli/render/page.hpp"
#include "cli/render/when.hpp"
#include "daemon/api/messages/now.hpp"

/// The parts of answers that speak of one piece, batch or zone.
namespace setwell::cli {

/// `no-readings` as people say it: `no readings`.
[[nodiscard]] std::string spoken(std::string word);

void write_zone(Page& page, const api::ZoneNow& zone, const Reading& reading);
/// Verdict and next act in the first line, then windows, what is outside limits, and trouble.
void write_piece(Page& page, const api::PieceNow& piece, const Reading& reading);
/// What is known of the air at the piece, nothing if nothing is.
void write_surface(Page& page, const api::PieceNow& piece, const Reading& reading);
/// The milestones of a piece, one line each, with what they rest on.
void write_milestones(Page& page, const api::PieceNow& piece, const Reading& reading);
void write_batch(Page& page, const api::BatchNow& batch, const Reading& reading);
void write_notice(Page& page, const api::NoticeNow& notice, const Reading& reading);

}  // namespace setwell::cli
