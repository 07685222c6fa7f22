// expect: could not convert|cannot convert|no viable conversion|conversion from
#include "sensors/quantity/ids.hpp"

setwell::quantity::ZoneId faulty(const setwell::quantity::ChannelId& channel) {
  return channel;
}
