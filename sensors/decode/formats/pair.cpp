#include "sensors/decode/formats/pair.hpp"

#include "sensors/decode/formats/number.hpp"
#include "sensors/decode/text.hpp"

namespace setwell::decode {
namespace {

using quantity::Refusal;

struct Halves {
  std::string_view first;
  std::string_view second;

  [[nodiscard]] std::string_view by_path(std::string_view path) const { return path == "2" ? second : first; }
};

std::optional<Halves> split(std::string_view text, std::string_view separator) {
  if (separator.empty()) return std::nullopt;
  const auto at = text.find(separator);
  if (at == std::string_view::npos) return std::nullopt;
  const Halves halves{text.substr(0, at), text.substr(at + separator.size())};
  if (halves.second.find(separator) != std::string_view::npos) return std::nullopt;
  return halves;
}

}  // namespace

Samples read_pair(const ChannelSpec& spec, std::string_view text) {
  if (trimmed(text).empty()) return one(Refusal::no_value);
  const auto halves = split(text, spec.separator);
  if (!halves) return one(Refusal::not_a_number);
  const auto value = read_text_value(spec, halves->by_path(spec.path));
  if (const auto* refusal = std::get_if<Refusal>(&value)) return one(*refusal);
  Sample sample;
  sample.figure = std::get<Figure>(value);
  if (!spec.with_humidity.empty()) {
    const auto humidity = parse_figure(halves->by_path(spec.with_humidity), spec.decimal);
    if (const auto* figure = std::get_if<Figure>(&humidity)) sample.humidity_along = figure->number;
  }
  return one(std::move(sample));
}

}  // namespace setwell::decode
