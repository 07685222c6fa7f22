#pragma once

#include <string_view>

namespace setwell::quantity {

/// Why a message, or one value in it, was kept raw and moved no clock. The words of the settings manual.
enum class Refusal {
  no_value,
  not_a_number,
  not_json,
  not_text,
  too_large,
  unit_conflict,
  unit_suspect,
  scale_suspect,
  out_of_range,
  sentinel,
  boot_zero,
  spike,
  retained,
  duplicate,
  unmapped,
};

/// The reason as users meet it: `no-value`, `boot-zero`, …
[[nodiscard]] std::string_view word(Refusal reason);

}  // namespace setwell::quantity
