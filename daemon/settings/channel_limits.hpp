#pragma once

#include "daemon/toml_text/reader.hpp"
#include "sensors/decode/channel.hpp"

namespace setwell::settings {

/// Reads what a channel's values are held against: sentinels, range, settle, silent_after, stuck_after, error
/// and offset. Needs the channel's quantity to be set.
void read_limits(toml_text::Table& table, decode::ChannelSpec& spec);

}  // namespace setwell::settings
