// expect: could not convert|cannot convert|no viable conversion|conversion from 'double'
#include "sensors/quantity/celsius.hpp"

setwell::quantity::Celsius faulty() {
  return 20.0;
}
