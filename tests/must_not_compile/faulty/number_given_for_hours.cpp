// expect: could not convert|cannot convert|no matching function|no known conversion
#include "sensors/quantity/instant.hpp"

double spent(setwell::quantity::Hours hours) {
  return hours.count();
}
double faulty() {
  return spent(4.0);
}
