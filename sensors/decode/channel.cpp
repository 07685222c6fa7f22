#include "sensors/decode/channel.hpp"

#include <string_view>

namespace setwell::decode {

using quantity::MeasuredQuantity;

bool is_temperature(MeasuredQuantity quantity) {
  return quantity == MeasuredQuantity::air_temperature || quantity == MeasuredQuantity::surface_temperature;
}

Unit unit_of(const ChannelSpec& spec) {
  if (spec.unit) return *spec.unit;
  if (is_temperature(spec.quantity)) return Unit::deg_c;
  return spec.quantity == MeasuredQuantity::relative_humidity ? Unit::percent : Unit::none;
}

std::optional<Range> range_of(const ChannelSpec& spec) {
  if (spec.range) return spec.range;
  if (is_temperature(spec.quantity)) return Range{-40.0, 85.0};
  if (spec.quantity == MeasuredQuantity::relative_humidity) return Range{0.0, 105.0};
  return std::nullopt;
}

double error_of(const ChannelSpec& spec) {
  if (spec.error) return *spec.error;
  if (is_temperature(spec.quantity)) return 0.5;
  return spec.quantity == MeasuredQuantity::relative_humidity ? 5.0 : 0.0;
}

double offset_at(const ChannelSpec& spec, quantity::Instant at) {
  double add = 0.0;
  for (const auto& calibration : spec.offset) {
    if (calibration.valid_from <= at) add = calibration.add;
  }
  return add;
}

quantity::ChannelId id_of(const ChannelSpec& spec) {
  std::string id = spec.zone.text() + '/';
  if (!spec.place.empty()) id += spec.place + '/';
  id += word(spec.quantity);
  if (!spec.probe.empty()) return quantity::ChannelId(id + "/probe " + spec.probe);
  id += '/' + spec.topic;
  if (spec.select) id += '[' + spec.select->is + ']';
  if (!spec.path.empty()) id += (spec.path.front() == '/' ? "" : "/") + spec.path;
  return quantity::ChannelId(id);
}

}  // namespace setwell::decode
