#pragma once

#include <string>

#include <boost/json/object.hpp>

#include "sensors/decode/channel.hpp"

namespace setwell::reference {

/// The text of a JSON string; throws on anything else.
[[nodiscard]] std::string text_of(const boost::json::value& value);
/// The moment of an RFC 3339 string; throws on anything else.
[[nodiscard]] quantity::Instant instant_of(const boost::json::value& value);
/// A channel by the keys of a `[[channel]]` table, written as JSON. Throws on a key or word it does not know.
[[nodiscard]] decode::ChannelSpec channel_of(const boost::json::object& keys);

}  // namespace setwell::reference
