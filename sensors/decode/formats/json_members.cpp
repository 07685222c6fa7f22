#include "sensors/decode/formats/json_members.hpp"

#include <cmath>

#include "sensors/decode/formats/number.hpp"

namespace setwell::decode {

namespace json = boost::json;
using quantity::Refusal;

const json::value* find(const json::value& root, std::string_view pointer) {
  json::error_code error;
  const json::value* found = root.find_pointer({pointer.data(), pointer.size()}, error);
  return error ? nullptr : found;
}

std::optional<double> as_number(const json::value& value, Decimal decimal) {
  if (value.is_string()) return parse_number(std::string_view(value.get_string()), decimal);
  if (!value.is_number()) return std::nullopt;
  json::error_code error;
  const double number = value.to_number<double>(error);
  if (error || !std::isfinite(number)) return std::nullopt;
  return number;
}

std::variant<Figure, Refusal> read_member(const ChannelSpec& spec, const json::value& member) {
  if (member.is_null()) return Refusal::no_value;
  if (member.is_string()) return read_text_value(spec, std::string_view(member.get_string()));
  if (member.is_bool()) return read_text_value(spec, member.get_bool() ? "true" : "false");
  const auto number = as_number(member, spec.decimal);
  if (!number) return Refusal::not_a_number;
  const bool is_switch = spec.quantity == quantity::MeasuredQuantity::running ||
                         spec.quantity == quantity::MeasuredQuantity::door;
  if (is_switch && *number != 0.0 && *number != 1.0) return Refusal::not_a_number;
  return Figure{*number, std::nullopt};
}

}  // namespace setwell::decode
