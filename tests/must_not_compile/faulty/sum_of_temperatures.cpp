// expect: no match for 'operator\+'|invalid operands to binary expression
#include "sensors/quantity/celsius.hpp"

using setwell::quantity::Celsius;

bool faulty(Celsius a, Celsius b) {
  return a + b > a;
}
