#pragma once

#include "sensors/decode/formats/sample.hpp"

namespace setwell::decode {

/// The whole payload is one number with an optional unit, or one word of a switch.
[[nodiscard]] Samples read_number(const ChannelSpec& spec, std::string_view text);

/// One piece of text as the channel's quantity reads it: a figure, or a switch's word.
[[nodiscard]] std::variant<Figure, quantity::Refusal> read_text_value(const ChannelSpec& spec,
                                                                      std::string_view text);

}  // namespace setwell::decode
