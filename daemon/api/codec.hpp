#pragma once

#include <cmath>
#include <concepts>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include <boost/describe.hpp>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/value.hpp>
#include <boost/mp11/algorithm.hpp>

#include "sensors/quantity/error.hpp"

/// Structs ↔ JSON for the wire. A struct says its members once, with BOOST_DESCRIBE_STRUCT, and gets reading,
/// writing and its JSON Schema from that. Pure; any thread.
///
/// Members may be std::string, double, whole numbers, bool, optional<T>, vector<T>, map<string, T>, other
/// described structs, and boost::json::value (taken as it is).
/// The key of a member is its name; one underscore at its end is dropped, so that `else_` travels as `else`.
/// Optional, list, map, bool and free JSON members may be missing (they keep the struct's own default); every
/// other member is required. Null equals missing.
namespace setwell::api {

/// What a key that the struct does not know means: a mistake (in a request), or a newer partner (in an
/// answer).
enum class UnknownKeys { refused, ignored };

/// Which side a schema describes. A request lists what must be given and allows nothing more; an answer
/// always carries every key and may grow.
enum class SchemaSide { request, answer };

namespace codec {

/// What is wrong and where in the value, `pieces[2].grams`; an empty place is the value itself.
struct Fault {
  std::string place;
  std::string what;
};
using MaybeFault = std::optional<Fault>;

template <typename T>
struct IsOptional : std::false_type {};
template <typename T>
struct IsOptional<std::optional<T>> : std::true_type {};
template <typename T>
struct IsList : std::false_type {};
template <typename T>
struct IsList<std::vector<T>> : std::true_type {};
template <typename T>
struct IsMap : std::false_type {};
template <typename T>
struct IsMap<std::map<std::string, T>> : std::true_type {};

template <typename T>
concept Described = std::is_class_v<T> && boost::describe::has_describe_members<T>::value;
template <typename T>
concept Whole = std::integral<T> && !std::same_as<T, bool> && sizeof(T) >= 4;

template <typename T>
inline constexpr bool kMayBeMissing = IsOptional<T>::value || IsList<T>::value || IsMap<T>::value ||
                                      std::same_as<T, bool> || std::same_as<T, boost::json::value>;

template <typename T>
using Members =
    boost::describe::describe_members<T, boost::describe::mod_public | boost::describe::mod_inherited>;
template <typename T, typename Descriptor>
using MemberType = std::remove_cvref_t<decltype(std::declval<T>().*Descriptor::pointer)>;

constexpr std::string_view key_of(std::string_view member) {
  if (member.ends_with('_')) member.remove_suffix(1);
  return member;
}

template <typename T>
std::vector<std::string_view> keys_of() {
  std::vector<std::string_view> keys;
  boost::mp11::mp_for_each<Members<T>>([&](auto member) { keys.push_back(key_of(member.name)); });
  return keys;
}

[[nodiscard]] Fault wrong_type(std::string_view expected);
[[nodiscard]] Fault missing(std::string_view key);
[[nodiscard]] Fault inside(std::string_view key, Fault fault);
[[nodiscard]] Fault inside(std::size_t index, Fault fault);
[[nodiscard]] MaybeFault unknown_key(const boost::json::object& object,
                                     const std::vector<std::string_view>& known);
[[nodiscard]] std::string sentence(const Fault& fault);
[[nodiscard]] boost::json::object schema_of_type(std::string_view type);
[[nodiscard]] boost::json::object schema_or_null(boost::json::object schema);
[[nodiscard]] boost::json::object close_schema(boost::json::object properties, boost::json::array required,
                                               SchemaSide side);

template <typename T>
MaybeFault read(const boost::json::value& from, T& to, UnknownKeys unknown);

template <typename T>
MaybeFault read_list(const boost::json::value& from, std::vector<T>& to, UnknownKeys unknown) {
  if (!from.is_array()) return wrong_type("a list");
  to.clear();
  for (const auto& element : from.get_array()) {
    T item{};
    if (auto fault = read(element, item, unknown)) return inside(to.size(), std::move(*fault));
    to.push_back(std::move(item));
  }
  return {};
}

template <typename T>
MaybeFault read_map(const boost::json::value& from, std::map<std::string, T>& to, UnknownKeys unknown) {
  if (!from.is_object()) return wrong_type("an object");
  to.clear();
  for (const auto& [key, element] : from.get_object()) {
    T item{};
    if (auto fault = read(element, item, unknown)) return inside(key, std::move(*fault));
    to.emplace(std::string(key), std::move(item));
  }
  return {};
}

template <typename T>
MaybeFault read_number(const boost::json::value& from, T& to) {
  constexpr auto kExpected = std::integral<T> ? "a whole number" : "a number";
  if (!from.is_number()) return wrong_type(kExpected);
  boost::system::error_code failed;
  const T number = from.to_number<T>(failed);
  if (failed) return wrong_type(kExpected);
  if constexpr (std::floating_point<T>) {
    if (!std::isfinite(number)) return wrong_type(kExpected);
  }
  to = number;
  return {};
}

template <typename T>
MaybeFault read_member(const boost::json::object& from, std::string_view key, T& to, UnknownKeys unknown) {
  const auto* value = from.if_contains(key);
  if (value == nullptr || value->is_null()) {
    if constexpr (kMayBeMissing<T>) return {};
    return missing(key);
  }
  if (auto fault = read(*value, to, unknown)) return inside(key, std::move(*fault));
  return {};
}

template <Described T>
MaybeFault read_struct(const boost::json::value& from, T& to, UnknownKeys unknown) {
  if (!from.is_object()) return wrong_type("an object");
  const auto& object = from.get_object();
  MaybeFault first;
  if (unknown == UnknownKeys::refused) first = unknown_key(object, keys_of<T>());
  boost::mp11::mp_for_each<Members<T>>([&](auto member) {
    if (!first) first = read_member(object, key_of(member.name), to.*member.pointer, unknown);
  });
  return first;
}

template <typename T>
MaybeFault read(const boost::json::value& from, T& to, UnknownKeys unknown) {
  if constexpr (std::same_as<T, boost::json::value>) {
    to = from;
  } else if constexpr (std::same_as<T, std::string>) {
    if (!from.is_string()) return wrong_type("text");
    to.assign(from.get_string().data(), from.get_string().size());
  } else if constexpr (std::same_as<T, bool>) {
    if (!from.is_bool()) return wrong_type("true or false");
    to = from.get_bool();
  } else if constexpr (Whole<T> || std::same_as<T, double>) {
    return read_number(from, to);
  } else if constexpr (IsOptional<T>::value) {
    if (from.is_null()) return to.reset(), MaybeFault{};
    return read(from, to.emplace(), unknown);
  } else if constexpr (IsList<T>::value) {
    return read_list(from, to, unknown);
  } else if constexpr (IsMap<T>::value) {
    return read_map(from, to, unknown);
  } else {
    static_assert(Described<T>, "this type does not travel");
    return read_struct(from, to, unknown);
  }
  return {};
}

template <typename T>
boost::json::value write(const T& from) {
  if constexpr (std::same_as<T, boost::json::value> || std::same_as<T, bool> || Whole<T>) {
    return from;
  } else if constexpr (std::same_as<T, double>) {
    return std::isfinite(from) ? boost::json::value(from) : boost::json::value(nullptr);
  } else if constexpr (std::same_as<T, std::string>) {
    return boost::json::string(from);
  } else if constexpr (IsOptional<T>::value) {
    return from ? write(*from) : boost::json::value(nullptr);
  } else if constexpr (IsList<T>::value) {
    boost::json::array list;
    for (const auto& item : from)
      list.push_back(write<typename T::value_type>(item));
    return list;
  } else if constexpr (IsMap<T>::value) {
    boost::json::object object;
    for (const auto& [key, item] : from)
      object[key] = write(item);
    return object;
  } else {
    static_assert(Described<T>, "this type does not travel");
    boost::json::object object;
    boost::mp11::mp_for_each<Members<T>>(
        [&](auto member) { object[key_of(member.name)] = write(from.*member.pointer); });
    return object;
  }
}

template <typename T>
boost::json::object schema(SchemaSide side) {
  if constexpr (std::same_as<T, boost::json::value>) {
    return {};
  } else if constexpr (std::same_as<T, std::string>) {
    return schema_of_type("string");
  } else if constexpr (std::same_as<T, bool>) {
    return schema_of_type("boolean");
  } else if constexpr (Whole<T>) {
    return schema_of_type("integer");
  } else if constexpr (std::same_as<T, double>) {
    return schema_of_type("number");
  } else if constexpr (IsOptional<T>::value) {
    return schema_or_null(schema<typename T::value_type>(side));
  } else if constexpr (IsList<T>::value) {
    return {{"type", "array"}, {"items", schema<typename T::value_type>(side)}};
  } else if constexpr (IsMap<T>::value) {
    return {{"type", "object"}, {"additionalProperties", schema<typename T::mapped_type>(side)}};
  } else {
    static_assert(Described<T>, "this type does not travel");
    boost::json::object properties;
    boost::json::array required;
    boost::mp11::mp_for_each<Members<T>>([&](auto member) {
      using Member = MemberType<T, decltype(member)>;
      const auto key = key_of(member.name);
      properties[key] = schema<Member>(side);
      if (side == SchemaSide::answer || !kMayBeMissing<Member>) required.emplace_back(key);
    });
    return close_schema(std::move(properties), std::move(required), side);
  }
}

}  // namespace codec

/// Reads a value. Error (kind usage) in one sentence that names the place, as `pieces[2].grams`, and what is
/// expected there: a wrong type, a missing key, a key nobody knows (with the known ones).
template <typename T>
[[nodiscard]] quantity::Result<T> from_json(const boost::json::value& from,
                                            UnknownKeys unknown = UnknownKeys::refused) {
  T to{};
  if (auto fault = codec::read(from, to, unknown)) {
    return quantity::Error{quantity::ErrorKind::usage, codec::sentence(*fault)};
  }
  return to;
}

/// Writes every member, in the order the struct lists them; an empty optional, and a number that is none, as
/// null.
template <typename T>
[[nodiscard]] boost::json::value to_json(const T& from) {
  return codec::write(from);
}

/// The same for a struct, as the object it is.
template <codec::Described T>
[[nodiscard]] boost::json::object to_object(const T& from) {
  return std::move(codec::write(from).as_object());
}

/// JSON Schema (draft 2020-12) of a type, nested structs written out in place.
template <typename T>
[[nodiscard]] boost::json::object json_schema_of(SchemaSide side = SchemaSide::answer) {
  boost::json::object schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"}};
  for (auto& [key, value] : codec::schema<T>(side))
    schema[key] = value;
  return schema;
}

/// One member as a parameter list shows it.
struct MemberNote {
  std::string name;
  std::string type;  ///< `text`, `number`, `whole number`, `true or false`, `object`, `any`, `list of …`
  bool required = false;
};

namespace codec {
template <typename T>
std::string type_words() {
  if constexpr (std::same_as<T, boost::json::value>) {
    return "any";
  } else if constexpr (std::same_as<T, std::string>) {
    return "text";
  } else if constexpr (std::same_as<T, bool>) {
    return "true or false";
  } else if constexpr (Whole<T>) {
    return "whole number";
  } else if constexpr (std::same_as<T, double>) {
    return "number";
  } else if constexpr (IsOptional<T>::value) {
    return type_words<typename T::value_type>();
  } else if constexpr (IsList<T>::value) {
    return "list of " + type_words<typename T::value_type>();
  } else {
    return "object";
  }
}
}  // namespace codec

/// The members of a struct, in order.
template <codec::Described T>
[[nodiscard]] std::vector<MemberNote> members_of() {
  std::vector<MemberNote> notes;
  boost::mp11::mp_for_each<codec::Members<T>>([&](auto member) {
    using Member = codec::MemberType<T, decltype(member)>;
    notes.push_back({std::string(codec::key_of(member.name)), codec::type_words<Member>(),
                     !codec::kMayBeMissing<Member>});
  });
  return notes;
}

}  // namespace setwell::api
