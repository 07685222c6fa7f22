#include "sensors/decode/formats/number.hpp"

namespace setwell::decode {

std::variant<Figure, quantity::Refusal> read_text_value(const ChannelSpec& spec, std::string_view text) {
  const bool is_switch = spec.quantity == quantity::MeasuredQuantity::running ||
                         spec.quantity == quantity::MeasuredQuantity::door;
  return is_switch ? parse_switch(text, spec) : parse_figure(text, spec.decimal);
}

Samples read_number(const ChannelSpec& spec, std::string_view text) {
  const auto value = read_text_value(spec, text);
  if (const auto* refusal = std::get_if<quantity::Refusal>(&value)) return one(*refusal);
  Sample sample;
  sample.figure = std::get<Figure>(value);
  return one(std::move(sample));
}

}  // namespace setwell::decode
