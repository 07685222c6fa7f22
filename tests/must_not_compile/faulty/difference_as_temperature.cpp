// expect: could not convert|cannot convert|no viable conversion|conversion from
#include "sensors/quantity/celsius.hpp"

using setwell::quantity::Celsius;

Celsius faulty(Celsius a, Celsius b) {
  return a - b;
}
