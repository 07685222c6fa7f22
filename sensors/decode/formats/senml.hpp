#pragma once

#include "sensors/decode/formats/sample.hpp"

namespace setwell::decode {

/// A SenML pack in JSON (RFC 8428): base fields are resolved in order, and every record whose resolved name
/// is the channel's `path` is one sample, so a pack may carry a history. A pack of another version (`bver`
/// other than 10), one with a field that must be understood (its label ends in `_`), and what is no array of
/// objects are `not-json`; a record with text, a boolean or data is `not-a-number` (but a switch takes the
/// boolean and the text), one without any value `no-value`.
[[nodiscard]] Samples read_senml(const ChannelSpec& spec, std::string_view text);

}  // namespace setwell::decode
