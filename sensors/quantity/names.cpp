#include "sensors/quantity/quality.hpp"
#include "sensors/quantity/refusal.hpp"

namespace setwell::quantity {

std::string_view word(Refusal reason) {
  switch (reason) {
    case Refusal::no_value:
      return "no-value";
    case Refusal::not_a_number:
      return "not-a-number";
    case Refusal::not_json:
      return "not-json";
    case Refusal::not_text:
      return "not-text";
    case Refusal::too_large:
      return "too-large";
    case Refusal::unit_conflict:
      return "unit-conflict";
    case Refusal::unit_suspect:
      return "unit-suspect";
    case Refusal::scale_suspect:
      return "scale-suspect";
    case Refusal::out_of_range:
      return "out-of-range";
    case Refusal::sentinel:
      return "sentinel";
    case Refusal::boot_zero:
      return "boot-zero";
    case Refusal::spike:
      return "spike";
    case Refusal::retained:
      return "retained";
    case Refusal::duplicate:
      return "duplicate";
    case Refusal::unmapped:
      return "unmapped";
  }
  return "unmapped";
}

std::string_view word(Quality quality) {
  switch (quality) {
    case Quality::time_bad:
      return "time-bad";
    case Quality::time_uncertain:
      return "time-uncertain";
    case Quality::settling:
      return "settling";
    case Quality::clamped:
      return "clamped";
    case Quality::good:
      return "good";
  }
  return "good";
}

std::string_view word(MeasuredQuantity quantity) {
  switch (quantity) {
    case MeasuredQuantity::air_temperature:
      return "air-temperature";
    case MeasuredQuantity::relative_humidity:
      return "relative-humidity";
    case MeasuredQuantity::surface_temperature:
      return "surface-temperature";
    case MeasuredQuantity::battery:
      return "battery";
    case MeasuredQuantity::running:
      return "running";
    case MeasuredQuantity::door:
      return "door";
  }
  return "air-temperature";
}

}  // namespace setwell::quantity
