#pragma once

#include "sensors/decode/formats/sample.hpp"

namespace setwell::decode {

/// A JSON document with the value at a pointer; `select` first picks an element of a root array.
/// What is no JSON is `not-json`, an empty payload `no-value`, `null` `no-value`, any other type
/// `not-a-number`.
[[nodiscard]] Samples read_json(const ChannelSpec& spec, std::string_view text);

}  // namespace setwell::decode
