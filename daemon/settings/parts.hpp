#pragma once

#include "daemon/settings/settings_reader.hpp"
#include "daemon/toml_text/reader.hpp"

/// The parts the settings are read in; each takes its table of the file and leaves what is wrong in the
/// report.
namespace setwell::settings {

[[nodiscard]] Workshop read_workshop(toml_text::Table& table, const ZoneLookup& zones);
[[nodiscard]] Broker read_broker(toml_text::Table& table);
[[nodiscard]] Zone read_zone(toml_text::Table& table);
[[nodiscard]] Form read_form(toml_text::Table& table);
[[nodiscard]] Route read_route(toml_text::Table& table);
[[nodiscard]] decode::ChannelSpec read_channel(toml_text::Table& table, const ZoneLookup& zones);

/// A list of notice kinds, each one known; `unset` when the key is not there.
[[nodiscard]] std::vector<core::NoticeKind> read_kinds(toml_text::Table& table, std::string_view key,
                                                       std::vector<core::NoticeKind> unset);
/// A zone's rules under the key; nothing when it is not there, and a fault when there is no such zone.
[[nodiscard]] std::optional<quantity::TimeZone> read_time_zone(toml_text::Table& table, std::string_view key,
                                                               const ZoneLookup& zones);
/// What is wrong with an MQTT topic that something is read from or written to; nothing when it is in order.
[[nodiscard]] std::optional<std::string> wrong_topic(std::string_view topic);

/// Faults and warnings that need more than one table to see.
void check_relations(const Settings& settings, toml_text::Report& report);

}  // namespace setwell::settings
