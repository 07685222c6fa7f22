#pragma once

#include <stdexcept>
#include <string>
#include <utility>
#include <variant>

#include "sensors/decode/decoder.hpp"

namespace setwell::tests {

inline quantity::Instant at(const std::string& text) {
  return *quantity::parse_rfc3339(text);
}

inline decode::RawMessage message(std::string payload, const std::string& received = "2031-03-04T10:00:00Z") {
  decode::RawMessage raw;
  raw.topic = "shop/bench/t";
  raw.payload = std::move(payload);
  raw.payload_size = raw.payload.size();
  raw.received = at(received);
  return raw;
}

inline decode::ChannelSpec thermometer() {
  decode::ChannelSpec spec;
  spec.zone = quantity::ZoneId("bench");
  spec.topic = "shop/bench/t";
  return spec;
}

inline decode::ChannelSpec hygrometer() {
  auto spec = thermometer();
  spec.quantity = quantity::MeasuredQuantity::relative_humidity;
  return spec;
}

inline decode::ChannelSpec json_at(std::string path, decode::ChannelSpec spec = thermometer()) {
  spec.format = decode::Format::json;
  spec.path = std::move(path);
  return spec;
}

/// What became of a message with one value: the word of its refusal, or nothing where it was taken or absent.
inline std::string refusal(const decode::ChannelSpec& spec, const decode::RawMessage& raw) {
  const auto decoding = decode::decode(spec, raw);
  if (decoding.size() != 1) return decoding.empty() ? "absent" : "several";
  if (const auto* reason = std::get_if<quantity::Refusal>(&decoding[0])) return std::string(word(*reason));
  const auto& value = std::get<decode::DecodedValue>(decoding[0]);
  return value.refusal ? std::string(word(*value.refusal)) : "";
}
inline std::string refusal(const decode::ChannelSpec& spec, const std::string& payload) {
  return refusal(spec, message(payload));
}

/// The one value of a message that must be taken.
inline decode::DecodedValue taken(const decode::ChannelSpec& spec, const decode::RawMessage& raw) {
  const auto decoding = decode::decode(spec, raw);
  if (decoding.size() != 1 || !std::holds_alternative<decode::DecodedValue>(decoding[0])) {
    throw std::runtime_error("not taken: " + raw.payload);
  }
  auto value = std::get<decode::DecodedValue>(decoding[0]);
  if (value.refusal) throw std::runtime_error("refused: " + raw.payload);
  return value;
}
inline double value(const decode::ChannelSpec& spec, const std::string& payload) {
  return taken(spec, message(payload)).value;
}

}  // namespace setwell::tests
