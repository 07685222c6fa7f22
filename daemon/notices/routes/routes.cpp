#include "daemon/notices/routes/routes.hpp"

#include "daemon/notices/routes/command.hpp"
#include "daemon/notices/routes/log.hpp"
#include "daemon/notices/routes/mail.hpp"
#include "daemon/notices/routes/mqtt.hpp"
#include "daemon/notices/routes/webhook.hpp"

namespace setwell::notices {

namespace {

std::shared_ptr<RouteSender> with_courier(const settings::Route& route) {
  if (route.kind == settings::RouteKind::mail) return std::make_shared<MailRoute>(route);
  if (route.kind == settings::RouteKind::webhook) return std::make_shared<WebhookRoute>(route);
  return std::make_shared<CommandRoute>(route.argv, route.limit);
}

}  // namespace

std::vector<PumpRoute> routes_from(const std::vector<settings::Route>& routes, mqtt::Publisher* publisher,
                                   const runtime::Log& log) {
  std::vector<PumpRoute> made;
  std::shared_ptr<Courier> to_broker;
  for (const auto& route : routes) {
    switch (route.kind) {
      case settings::RouteKind::log:
        made.push_back({route.id, std::make_shared<LogRoute>(log), nullptr, false});
        break;
      case settings::RouteKind::mqtt:
        if (!to_broker) to_broker = std::make_shared<Courier>();
        made.push_back({route.id, std::make_shared<MqttRoute>(route.topic, publisher), to_broker, true});
        break;
      case settings::RouteKind::mail:
      case settings::RouteKind::webhook:
      case settings::RouteKind::command:
        made.push_back({route.id, with_courier(route), std::make_shared<Courier>(), false});
        break;
    }
  }
  return made;
}

}  // namespace setwell::notices
