#pragma once

#include <boost/json/value.hpp>

#include "sensors/decode/formats/sample.hpp"

namespace setwell::decode {

/// The value that a JSON Pointer leads to; null where it leads nowhere or is no pointer.
[[nodiscard]] const boost::json::value* find(const boost::json::value& root, std::string_view pointer);

/// A number, or a string that reads as one; nothing for the rest.
[[nodiscard]] std::optional<double> as_number(const boost::json::value& value, Decimal decimal);

/// A member as the channel's quantity reads it: number, numeric string, or a switch's word or boolean.
[[nodiscard]] std::variant<Figure, quantity::Refusal> read_member(const ChannelSpec& spec,
                                                                  const boost::json::value& member);

}  // namespace setwell::decode
