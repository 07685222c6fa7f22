#pragma once

#include <cstring>
#include <string>
#include <string_view>
#include <type_traits>

/// Plain values to bytes and back, exact, for what is stored by one machine and read by the same.
namespace setwell::core {

template <typename Value>
void put_bytes(std::string& bytes, const Value& value) {
  static_assert(std::is_trivially_copyable_v<Value>);
  bytes.append(reinterpret_cast<const char*>(&value), sizeof(Value));
}

/// Takes a value off the front. Answers false, and changes nothing, where too little is left.
template <typename Value>
[[nodiscard]] bool take_bytes(std::string_view& bytes, Value& value) {
  static_assert(std::is_trivially_copyable_v<Value>);
  if (bytes.size() < sizeof(Value)) return false;
  std::memcpy(&value, bytes.data(), sizeof(Value));
  bytes.remove_prefix(sizeof(Value));
  return true;
}

}  // namespace setwell::core
