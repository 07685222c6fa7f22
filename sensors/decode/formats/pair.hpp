#pragma once

#include "sensors/decode/formats/sample.hpp"

namespace setwell::decode {

/// Two values with the channel's separator between them; `path` says which one (`1` or `2`). Anything but two
/// parts is `not-a-number`, nothing at all is `no-value`.
[[nodiscard]] Samples read_pair(const ChannelSpec& spec, std::string_view text);

}  // namespace setwell::decode
