#pragma once

#include <compare>
#include <cstdint>
#include <functional>
#include <string>
#include <utility>

namespace setwell::quantity {

/// A name that identifies one kind of thing; names of different kinds do not mix.
template <typename Kind>
class Name {
 public:
  Name() = default;
  explicit Name(std::string text) : text_(std::move(text)) {}
  [[nodiscard]] const std::string& text() const { return text_; }
  [[nodiscard]] bool empty() const { return text_.empty(); }
  friend auto operator<=>(const Name&, const Name&) = default;
  friend bool operator==(const Name&, const Name&) = default;

 private:
  std::string text_;
};

/// A row number in the database, one type per kind of row. 0 is "none yet".
template <typename Kind>
class Number {
 public:
  constexpr Number() = default;
  explicit constexpr Number(std::int64_t value) : value_(value) {}
  [[nodiscard]] constexpr std::int64_t value() const { return value_; }
  friend constexpr auto operator<=>(Number, Number) = default;

 private:
  std::int64_t value_ = 0;
};

using ZoneId = Name<struct ZoneKind>;
using ChannelId = Name<struct ChannelKind>;  ///< derived from the settings: zone/quantity/topic/path
using SheetId = Name<struct SheetKind>;
using FormId = Name<struct FormKind>;
using ScheduleId = Name<struct ScheduleKind>;
using PieceId = Name<struct PieceKind>;  ///< the maker's id, unique among pieces in progress
using BatchId = Name<struct BatchKind>;
using RouteId = Name<struct RouteKind>;

using EntryId = Number<struct EntryKindTag>;
using EditionId = Number<struct EditionKindTag>;

}  // namespace setwell::quantity

template <typename Kind>
struct std::hash<setwell::quantity::Name<Kind>> {
  std::size_t operator()(const setwell::quantity::Name<Kind>& name) const noexcept {
    return std::hash<std::string>{}(name.text());
  }
};
template <typename Kind>
struct std::hash<setwell::quantity::Number<Kind>> {
  std::size_t operator()(setwell::quantity::Number<Kind> number) const noexcept {
    return std::hash<std::int64_t>{}(number.value());
  }
};
