#pragma once

#include "daemon/service/coat_facts.hpp"

namespace setwell::service {

/// Cold and damp before a coat is tack-free: what is so now, and what the forecast makes likely.
void threats(const Workshop& workshop, CoatFacts& facts);

}  // namespace setwell::service
