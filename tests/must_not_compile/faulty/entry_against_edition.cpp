// expect: no match for 'operator=='|invalid operands to binary expression
#include "sensors/quantity/ids.hpp"

bool faulty(setwell::quantity::EntryId entry, setwell::quantity::EditionId edition) {
  return entry == edition;
}
