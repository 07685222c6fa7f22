#pragma once

#include <memory>
#include <vector>

#include "daemon/notices/courier.hpp"
#include "daemon/notices/route_sender.hpp"
#include "daemon/runtime/log.hpp"
#include "daemon/settings/settings.hpp"
#include "sensors/mqtt/publisher.hpp"

namespace setwell::notices {

/// A way out and who walks it.
struct PumpRoute {
  quantity::RouteId id;
  std::shared_ptr<RouteSender> sender;
  std::shared_ptr<Courier> courier;  ///< none: sent on the loop, at once
  bool by_broker = false;            ///< open again when the broker is
};

/// The routes of the settings. One courier per mail, webhook and command; one for all MQTT routes, since it
/// is the only thread that may publish. `publisher` may be null (no broker is set): MQTT routes are then
/// always away. It must outlive the routes.
[[nodiscard]] std::vector<PumpRoute> routes_from(const std::vector<settings::Route>& routes,
                                                 mqtt::Publisher* publisher, const runtime::Log& log);

}  // namespace setwell::notices
