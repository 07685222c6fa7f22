#include <catch2/catch.hpp>

#include "daemon/settings/settings_reader.hpp"
#include "tests/unit/settings/zones.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;
using settings::RouteKind;
using std::chrono::hours;
using std::chrono::minutes;

settings::Settings read(const std::string& text) {
  auto reading = settings::read_settings(text, "test.toml", expectations::two_zones);
  REQUIRE(expectations::described(reading.faults).empty());
  return *std::move(reading.settings);
}

TEST_CASE("The workshop is read as it is written", "[settings]") {
  const auto workshop = read(R"([workshop]
name = "Shed"
time_zone = "Europe/Vienna"
temperature = "F"
clock = "12h"
waking = "06:30-24:00"
quiet = "21:00-06:15"
days_off = ["sunday", "wednesday"]
cannot_wait = ["last-start"]
sanded_lasts = "12 h"
per_piece = "150 s"
stirring = "5 min"
k = 2.5
scatter = 0.08
scale = "0.1 g"
)")
                            .workshop;
  CHECK(workshop.name == "Shed");
  CHECK(workshop.time_zone.name() == "Europe/Vienna");
  CHECK(workshop.temperature == settings::TemperatureUnit::fahrenheit);
  CHECK(workshop.clock == settings::ClockFace::hours_12);
  CHECK(workshop.waking == settings::DayHours{minutes(390), hours(24)});
  CHECK(workshop.quiet == settings::DayHours{hours(21), minutes(375)});
  CHECK(workshop.days_off == std::vector{std::chrono::Sunday, std::chrono::Wednesday});
  CHECK(workshop.cannot_wait == std::vector{core::NoticeKind::last_start});
  CHECK(workshop.sanded_lasts == quantity::Hours(12));
  CHECK(workshop.per_piece.count() == Approx(2.5));
  CHECK(workshop.stirring.count() == Approx(5));
  CHECK(workshop.k == 2.5);
  CHECK(workshop.scatter == 0.08);
  CHECK(workshop.scale == quantity::Grams(0.1));
}

TEST_CASE("The broker is read as it is written", "[settings]") {
  const auto broker = read(R"([broker]
host = "broker.local"
port = 8883
client_id = "bench"
user = "shop"
password_file = "/etc/setwell/password"
keepalive = "1 min"
tls = true
ca_file = "ca.pem"
certificate_file = "own.pem"
key_file = "own.key"
)")
                          .broker;
  CHECK(broker.host == "broker.local");
  CHECK(broker.port == 8883);
  CHECK(broker.client_id == "bench");
  CHECK(broker.user == "shop");
  CHECK(broker.password_file == "/etc/setwell/password");
  CHECK(broker.keepalive == std::chrono::seconds(60));
  CHECK(broker.tls);
  CHECK(broker.ca_file == "ca.pem");
  CHECK(broker.certificate_file == "own.pem");
  CHECK(broker.key_file == "own.key");
}

TEST_CASE("Places are counted or named", "[settings]") {
  const auto all = read(R"([[zone]]
id = "rack"
places = 3
[[zone]]
id = "cabinet"
kind = "heated"
set_point = "95 F"
places = ["top", "bottom"]
)");
  CHECK(all.zone(quantity::ZoneId("rack"))->places == std::vector<std::string>{"1", "2", "3"});
  CHECK(all.zone(quantity::ZoneId("rack"))->kind == settings::ZoneKind::room);
  const auto* cabinet = all.zone(quantity::ZoneId("cabinet"));
  CHECK(cabinet->places == std::vector<std::string>{"top", "bottom"});
  CHECK(cabinet->set_point->degrees() == Approx(35.0));
  CHECK(all.zone(quantity::ZoneId("attic")) == nullptr);
}

TEST_CASE("Forms have their area and their lag", "[settings]") {
  const auto all = read("[[form]]\nid = \"cup\"\narea = \"70 in2\"\nlag = \"1 h\"\n");
  const auto* form = all.form(quantity::FormId("cup"));
  REQUIRE(form);
  CHECK(form->area.value() == Approx(451.612));
  CHECK(form->lag.count() == Approx(60.0));
}

TEST_CASE("Routes are read as they are written", "[settings]") {
  const auto all = read(R"([[route]]
id = "a"
kind = "log"
[[route]]
id = "b"
kind = "mqtt"
topic = "shop/notices"
kinds = ["closed", "safe-to-recoat"]
[[route]]
id = "c"
kind = "command"
argv = ["/bin/bell", "two words"]
instant = true
)");
  REQUIRE(all.routes.size() == 3);
  CHECK(all.routes[0].kind == RouteKind::log);
  CHECK(!all.routes[0].instant);
  CHECK(all.routes[0].kinds.empty());
  CHECK(all.routes[1].topic == "shop/notices");
  CHECK(all.routes[1].kinds == std::vector{core::NoticeKind::closed, core::NoticeKind::safe_to_recoat});
  CHECK(all.route(quantity::RouteId("c"))->argv == std::vector<std::string>{"/bin/bell", "two words"});
  CHECK(all.routes[2].instant);
}

TEST_CASE("Mail and webhooks are read as they are written, with the usual ports and limits", "[settings]") {
  const auto all = read(R"([[route]]
id = "a"
kind = "mail"
host = "mail.example.org"
user = "shop"
password_file = "/etc/setwell/mail"
from = "shop@example.org"
to = ["maker@example.org", "other@example.org"]
[[route]]
id = "b"
kind = "mail"
host = "localhost"
security = "none"
from = "shop@example.org"
to = ["maker@example.org"]
limit = "10 s"
[[route]]
id = "c"
kind = "webhook"
url = "https://example.org/setwell?room=1"
secret_file = "/etc/setwell/hook"
ca_file = "/etc/setwell/ca.pem"
)");
  REQUIRE(all.routes.size() == 3);
  const auto& mail = all.routes[0].mail;
  CHECK(mail.security == settings::MailSecurity::starttls);
  CHECK(mail.port == 587);
  CHECK(mail.to.size() == 2);
  CHECK(all.routes[0].limit == std::chrono::seconds(30));
  CHECK(all.routes[1].mail.port == 25);
  CHECK(all.routes[1].limit == std::chrono::seconds(10));
  CHECK(all.routes[2].kind == RouteKind::webhook);
  CHECK(all.routes[2].url == "https://example.org/setwell?room=1");
  CHECK(all.routes[2].ca_file == "/etc/setwell/ca.pem");
}

TEST_CASE("Entry over MQTT is off unless it is set", "[settings]") {
  CHECK(!read("").entry.mqtt);
  CHECK(read("[entry]\nmqtt = true\n").entry.mqtt);
}

TEST_CASE("Without a zone lookup every named zone is unknown", "[settings]") {
  const auto reading = settings::read_settings("[workshop]\ntime_zone = \"UTC\"\n", "x.toml", {});
  REQUIRE(reading.faults.size() == 1);
  CHECK(reading.faults[0].key == "workshop.time_zone");
}

}  // namespace
