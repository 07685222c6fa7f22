#include "daemon/api/codec.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace setwell::api::codec {

Fault wrong_type(std::string_view expected) {
  return {"", fmt::format("must be {}", expected)};
}

Fault missing(std::string_view key) {
  return {std::string(key), "is missing"};
}

Fault inside(std::string_view key, Fault fault) {
  const bool joins = !fault.place.empty() && !fault.place.starts_with('[');
  fault.place = fmt::format("{}{}{}", key, joins ? "." : "", fault.place);
  return fault;
}

Fault inside(std::size_t index, Fault fault) {
  const bool joins = !fault.place.empty() && !fault.place.starts_with('[');
  fault.place = fmt::format("[{}]{}{}", index, joins ? "." : "", fault.place);
  return fault;
}

MaybeFault unknown_key(const boost::json::object& object, const std::vector<std::string_view>& known) {
  for (const auto& entry : object) {
    const std::string_view key = entry.key();
    if (std::find(known.begin(), known.end(), key) != known.end()) continue;
    const auto hint = known.empty() ? std::string("nothing is taken here")
                                    : fmt::format("known here: {}", fmt::join(known, ", "));
    return Fault{std::string(key), fmt::format("is not known; {}", hint)};
  }
  return {};
}

std::string sentence(const Fault& fault) {
  return fault.place.empty() ? fmt::format("the value {}", fault.what)
                             : fmt::format("`{}` {}", fault.place, fault.what);
}

boost::json::object schema_of_type(std::string_view type) {
  return {{"type", type}};
}

boost::json::object schema_or_null(boost::json::object schema) {
  if (schema.empty()) return schema;
  return {{"anyOf", boost::json::array{std::move(schema), schema_of_type("null")}}};
}

boost::json::object close_schema(boost::json::object properties, boost::json::array required,
                                 SchemaSide side) {
  boost::json::object schema{{"type", "object"}, {"properties", std::move(properties)}};
  if (!required.empty()) schema["required"] = std::move(required);
  if (side == SchemaSide::request) schema["additionalProperties"] = false;
  return schema;
}

}  // namespace setwell::api::codec
