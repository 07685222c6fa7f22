#pragma once

#include "daemon/service/workshop.hpp"

/// Batches as they stand.
namespace setwell::service {

/// The clock of one batch carried to `now`; nothing when its sheet states no pot life or cannot be read.
[[nodiscard]] std::optional<core::BatchOutlook> batch_outlook(Workshop& workshop, const core::Batch& batch,
                                                              quantity::Instant now);
/// Those inside their pot life by the fast clock, newest first; one whose pot life is not known counts for 12
/// h.
[[nodiscard]] std::vector<const core::Batch*> open_batches(Workshop& workshop, quantity::Instant now);
[[nodiscard]] api::BatchNow batch_now(Workshop& workshop, const core::Batch& batch, quantity::Instant now);

/// What to say when a batch was just mixed: its name, the ratio, how long it lasts, what is dangerous.
[[nodiscard]] std::vector<std::string> mixed_remarks(Workshop& workshop, const core::Batch& batch,
                                                     quantity::Instant now);
/// What to say of a coat poured from it between two moments: nothing, or that it was too old (or too new).
[[nodiscard]] std::vector<std::string> pot_life_remarks(Workshop& workshop, const core::Batch& batch,
                                                        quantity::Instant from, quantity::Instant to,
                                                        quantity::Instant now);

}  // namespace setwell::service
