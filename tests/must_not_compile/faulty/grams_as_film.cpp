// expect: could not convert|cannot convert|no viable conversion|conversion from
#include "sensors/quantity/measure.hpp"

setwell::quantity::Micrometres faulty(setwell::quantity::Grams weighed) {
  return weighed;
}
