#pragma once

#include <string>

#include "daemon/api/messages/asking.hpp"
#include "daemon/core/entry.hpp"
#include "daemon/core/show.hpp"
#include "daemon/core/verdict.hpp"
#include "daemon/core/waking.hpp"

/// Core values as the wire shows them. Pure; shared by every door.
namespace setwell::api {

/// RFC 3339 with the workshop's offset.
[[nodiscard]] std::string time_text(quantity::Instant at, const quantity::TimeZone& zone);
[[nodiscard]] std::optional<std::string> time_text(std::optional<quantity::Instant> at,
                                                   const quantity::TimeZone& zone);

[[nodiscard]] DisplayWish from_core(const core::Display& display);
/// `material` names what goes on top for the clocks of a recoat rule.
[[nodiscard]] MilestoneNow from_core(const core::ClockReading& clock, const core::Material& material,
                                     const quantity::TimeZone& zone);
[[nodiscard]] OutsideNow from_core(const core::OutsideCondition& outside, const quantity::TimeZone& zone);
[[nodiscard]] TroubleNow from_core(const core::Trouble& trouble, const quantity::TimeZone& zone);

/// A window with what the maker's own time makes of it.
struct WindowTimes {
  std::optional<quantity::Instant> last_start;
  std::optional<core::TimeStretch> usable;
};
[[nodiscard]] RecoatNow from_core(const core::Window& window, const WindowTimes& times,
                                  const quantity::TimeZone& zone);

/// One coat's outlook and judgement into `to`: verdict, next act, milestones, what is outside, trouble.
/// Windows are added by the caller, who knows the maker's hours.
void show_coat(const core::Material& material, const core::Outlook& outlook, const core::Judgement& judgement,
               const quantity::TimeZone& zone, PieceNow& to);

/// One entry as a line in the trade's words: `coat "Fast coat" in bench, batch b-0304-1, 12.5 g`.
[[nodiscard]] std::string entry_line(const core::Entry& entry, const core::Display& display);

}  // namespace setwell::api
