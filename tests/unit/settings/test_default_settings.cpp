#include <sstream>

#include <catch2/catch.hpp>

#include "daemon/settings/settings_reader.hpp"
#include "tests/unit/settings/zones.hpp"
#include "tests/unit/sheets/expectations.hpp"

namespace {

using namespace setwell;

const std::filesystem::path kFile = SETWELL_SOURCE_DIR "/config/setwelld.toml";

/// An option is a line that begins with `#` and no space.
std::string with_every_option_set(const std::string& text) {
  std::istringstream in(text);
  std::string all;
  for (std::string line; std::getline(in, line);) {
    const bool option = line.size() > 1 && line[0] == '#' && line[1] != ' ';
    all += (option ? line.substr(1) : line) + "\n";
  }
  return all;
}

settings::Settings read(const std::string& text) {
  auto reading = settings::read_settings(text, "setwelld.toml", expectations::two_zones);
  REQUIRE(expectations::described(reading.faults).empty());
  CHECK(expectations::described(reading.warnings).empty());
  return *std::move(reading.settings);
}

TEST_CASE("The settings file as it comes sets nothing", "[settings]") {
  const auto text = expectations::text_of(kFile);
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    CHECK((line.empty() || line[0] == '#'));
  CHECK(read(text).zones.empty());
}

TEST_CASE("The settings file with every option set is in order", "[settings]") {
  const auto all = read(with_every_option_set(expectations::text_of(kFile)));
  CHECK(all.zones.size() == 2);
  CHECK(all.channels.size() == 6);
  CHECK(all.forms.size() == 1);
  CHECK(all.routes.size() == 5);
}

TEST_CASE("What the settings file shows as a default is the default", "[settings]") {
  const auto all = read(with_every_option_set(expectations::text_of(kFile)));
  const settings::Workshop workshop;
  CHECK(all.workshop.name == workshop.name);
  CHECK(all.workshop.time_zone.name() == workshop.time_zone.name());
  CHECK(all.workshop.temperature == workshop.temperature);
  CHECK(all.workshop.clock == workshop.clock);
  CHECK(all.workshop.waking == workshop.waking);
  CHECK(all.workshop.quiet == workshop.quiet);
  CHECK(all.workshop.days_off == workshop.days_off);
  CHECK(all.workshop.cannot_wait == workshop.cannot_wait);
  CHECK(all.workshop.sanded_lasts == workshop.sanded_lasts);
  CHECK(all.workshop.per_piece.count() == Approx(workshop.per_piece.count()));
  CHECK(all.workshop.stirring.count() == Approx(workshop.stirring.count()));
  CHECK(all.workshop.k == workshop.k);
  CHECK(all.workshop.scatter == workshop.scatter);
  CHECK(all.workshop.scale == workshop.scale);
  CHECK(all.entry.mqtt == settings::Entry{}.mqtt);
}

TEST_CASE("What the settings file shows as the broker's defaults are the defaults", "[settings]") {
  const auto broker = read(with_every_option_set(expectations::text_of(kFile))).broker;
  const settings::Broker unset;
  CHECK(broker.host == unset.host);
  CHECK(broker.port == unset.port);
  CHECK(broker.client_id == unset.client_id);
  CHECK(broker.user == unset.user);
  CHECK(broker.password_file == unset.password_file);
  CHECK(broker.keepalive == unset.keepalive);
  CHECK(broker.tls == unset.tls);
  CHECK(broker.ca_file == unset.ca_file);
}

TEST_CASE("What the settings file shows as a channel's defaults are the defaults", "[settings]") {
  const auto channel = read(with_every_option_set(expectations::text_of(kFile))).channels.at(0);
  const decode::ChannelSpec unset;
  CHECK(channel.sentinels == unset.sentinels);
  CHECK(decode::unit_of(channel) == decode::unit_of(unset));
  CHECK(channel.scale == unset.scale);
  CHECK(channel.decimal == unset.decimal);
  CHECK(decode::range_of(channel)->low == decode::range_of(unset)->low);
  CHECK(decode::range_of(channel)->high == decode::range_of(unset)->high);
  CHECK(channel.settle == unset.settle);
  CHECK(channel.silent_after == unset.silent_after);
  CHECK(channel.stuck_after == unset.stuck_after);
  CHECK(decode::error_of(channel) == decode::error_of(unset));
  CHECK(channel.availability->on == decode::Availability{}.on);
}

TEST_CASE("Empty settings are the defaults", "[settings]") {
  const auto empty = read("");
  CHECK(empty.workshop.k == 3.1);
  CHECK(empty.workshop.scatter == 0.10);
  CHECK(empty.broker.client_id == "setwelld");
  CHECK(empty.broker.keepalive == std::chrono::seconds(20));
  CHECK(empty.workshop.time_zone.name() == "UTC");
}

}  // namespace
