#pragma once

#include <vector>

#include "daemon/core/notice.hpp"

/// Which tellings of one round become one message.
namespace setwell::core {

/// Adds a telling to those of its round, as part of one that is alike where there is one.
void tell(std::vector<Telling>& tellings, Telling fresh);

/// What waited for the end of quiet hours goes into the morning list, where that is among the tellings.
void gather(std::vector<Telling>& tellings);

}  // namespace setwell::core
