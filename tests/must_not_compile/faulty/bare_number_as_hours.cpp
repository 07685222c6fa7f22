// expect: could not convert|cannot convert|no viable conversion|conversion from 'const double'
#include "daemon/core/material.hpp"

void faulty(setwell::core::StatedTime& time) {
  const double hours = 4.0;
  setwell::quantity::Hours low = hours;
  time.low = low;
}
