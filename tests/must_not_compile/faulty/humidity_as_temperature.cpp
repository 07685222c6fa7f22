// expect: cannot convert|could not convert|no matching function|no known conversion|no viable conversion
#include "sensors/air/psychrometrics.hpp"

setwell::quantity::Celsius faulty() {
  const auto humidity = setwell::quantity::RelativeHumidity::percent(50.0);
  return setwell::air::dew_point(humidity, humidity);
}
