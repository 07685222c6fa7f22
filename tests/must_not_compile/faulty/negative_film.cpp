// expect: not a constant expression|must be initialized by a constant expression
#include "sensors/quantity/measure.hpp"

inline constexpr setwell::quantity::Micrometres kFilm{-1.0};
