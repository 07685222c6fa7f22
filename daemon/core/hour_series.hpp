#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "sensors/quantity/instant.hpp"

/// The air of a zone hour by hour, as a forecast learns from it. A value; pure.
namespace setwell::core {

/// What is foretold.
enum class AirQuantity : std::size_t { temperature, humidity };
inline constexpr std::array kAirQuantities{AirQuantity::temperature, AirQuantity::humidity};

/// Hours since the epoch; the value of an hour is the air at that very moment.
using HourIndex = std::int64_t;
[[nodiscard]] HourIndex hour_at_or_before(quantity::Instant at);
[[nodiscard]] quantity::Instant moment_of(HourIndex hour);

/// °C and %; NaN where nothing trusted was told.
struct HourValue {
  float celsius = 0;
  float percent = 0;
};

/// The last kKept hours, silent ones left in. Values are held in hundredths, so that what is stored and read
/// again is what was there.
class HourSeries {
 public:
  static constexpr HourIndex kKept = 600;

  /// Puts the value of an hour behind the last one; hours between are silent. Hours must rise.
  void append(HourIndex hour, const HourValue& value);
  /// Another value for an hour that is held; others are passed over.
  void correct(HourIndex hour, const HourValue& value);
  [[nodiscard]] bool empty() const { return hours_.empty(); }
  [[nodiscard]] HourIndex first() const { return first_; }
  [[nodiscard]] HourIndex last() const { return first_ + static_cast<HourIndex>(hours_.size()) - 1; }
  /// NaN outside and where it was silent.
  [[nodiscard]] double value(AirQuantity quantity, HourIndex hour) const;
  /// ln of the vapour pressure in Pa, likewise.
  [[nodiscard]] double ln_vapour(HourIndex hour) const;
  /// Hours with a temperature.
  [[nodiscard]] int told() const;

  void save(std::string& bytes) const;
  /// Takes its part off the front of `bytes`. Answers false where it does not hold one.
  [[nodiscard]] bool load(std::string_view& bytes);

 private:
  struct Hour {
    std::int16_t celsius = 0, percent = 0;  ///< hundredths; kSilent = nothing
    float ln_vapour = 0;
  };
  static constexpr std::int16_t kSilent = -32768;
  [[nodiscard]] static Hour hour_of(std::int16_t celsius, std::int16_t percent);
  void push(std::int16_t celsius, std::int16_t percent);
  HourIndex first_ = 0;
  std::vector<Hour> hours_;
};

}  // namespace setwell::core
