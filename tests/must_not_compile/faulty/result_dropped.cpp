// expect: nodiscard|unused-result|unused result|ignoring return value
#include "sensors/quantity/instant.hpp"

void faulty() {
  setwell::quantity::parse_rfc3339("2031-03-04T09:59:00Z");
}
