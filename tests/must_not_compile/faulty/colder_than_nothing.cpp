// expect: not a constant expression|must be initialized by a constant expression
#include "sensors/quantity/celsius.hpp"

inline constexpr setwell::quantity::Celsius kAir{-300.0};
