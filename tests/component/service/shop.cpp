#include "tests/component/service/shop.hpp"

#include <initializer_list>

#include <boost/json/serialize.hpp>
#include <fmt/format.h>

#include "daemon/api/codec.hpp"
#include "daemon/settings/settings_reader.hpp"

namespace setwell::service_tests {

namespace {

constexpr std::string_view kSettings = R"(
[workshop]
waking = "00:00-00:00"
quiet = "00:00-00:00"

[[zone]]
id = "bench"
places = 6

[[zone]]
id = "cabinet"
kind = "heated"
set_point = "35 C"

[[form]]
id = "tumbler"
area = "450 cm2"
lag = "15 min"

[[route]]
id = "journal"
kind = "log"
instant = true
)";

std::shared_ptr<const settings::Settings> settings_of(const std::string& text) {
  auto reading = settings::read_settings(text, "test.toml",
                                         [](std::string_view name) -> std::optional<quantity::TimeZone> {
                                           return quantity::TimeZone(std::string(name), minutes(0), {});
                                         });
  for (const auto& fault : reading.faults)
    FAIL(settings::describe(fault));
  return std::make_shared<const settings::Settings>(std::move(*reading.settings));
}

/// Both in one zone: their texts are in the order of the moments.
void leave_out_later(const std::string& now, std::initializer_list<std::optional<std::string>*> moments) {
  for (auto* moment : moments) {
    if (*moment && **moment > now) moment->reset();
  }
}

void leave_out_ahead(api::PieceNow& piece, const std::string& now) {
  for (auto& milestone : piece.milestones)
    leave_out_later(now, {&milestone.slow.at, &milestone.expected.at, &milestone.fast.at});
  for (auto& window : piece.recoat) {
    leave_out_later(now, {&window.test_from, &window.from, &window.until, &window.last_start,
                          &window.usable_from, &window.usable_until});
  }
  std::erase_if(piece.trouble, [](const api::TroubleNow& trouble) { return trouble.chance.has_value(); });
}

}  // namespace

Instant at(std::string_view rfc3339) {
  const auto instant = quantity::parse_rfc3339(rfc3339);
  if (!instant) FAIL("no time: " << rfc3339);
  return *instant;
}

Instant morning() {
  return at("2031-03-03T08:00:00Z");
}

std::string channel_of(std::string_view zone, std::string_view topic, std::string_view quantity,
                       std::string_view path) {
  return fmt::format(R"(
[[channel]]
zone = "{}"
topic = "{}"
quantity = "{}"
format = "json"
path = "{}"
time_path = "/at"
time_unit = "iso"
silent_after = "25 min"
)",
                     zone, topic, quantity, path);
}

std::string climate_of(const std::string& zone) {
  const auto topic = "shop/" + zone + "/climate";
  return channel_of(zone, topic, "air-temperature", "/temperature") +
         channel_of(zone, topic, "relative-humidity", "/humidity");
}

Shop::Shop(Keeps keeps, std::string_view more_settings)
    : now(morning()),
      keeps_(keeps),
      settings_(std::string(kSettings) + climate_of("bench") + std::string(more_settings)) {
  for (const auto* each : {"sheets", "schedules"}) {
    std::filesystem::copy(std::filesystem::path(SETWELL_CONFIG) / each, folder_ / each,
                          std::filesystem::copy_options::recursive);
  }
  open();
}

void Shop::open() {
  const auto file = keeps_ == Keeps::a_file ? folder_ / "setwell.db" : std::filesystem::path(":memory:");
  auto ledger = ledger::Ledger::open(file, ledger::Mode::live);
  if (!ledger) FAIL(ledger.error().detail);
  auto opened =
      service::open_workshop(settings_of(settings_), folder_.path(), std::move(*ledger), false, now);
  if (!opened) FAIL(opened.error().detail);
  workshop_ = std::move(*opened);
}

ledger::ReadOnlyLedger Shop::records() const {
  REQUIRE(keeps_ == Keeps::a_file);
  auto opened = ledger::ReadOnlyLedger::open(folder_ / "setwell.db");
  if (!opened) FAIL(opened.error().detail);
  return std::move(*opened);
}

void Shop::restart() {
  REQUIRE(keeps_ == Keeps::a_file);
  workshop_.reset();
  open();
}

void Shop::reload() {
  service::reload(*workshop_, settings_of(settings_), now);
}

void Shop::restart_with(std::string_view more_settings) {
  settings_ += more_settings;
  restart();
}

void Shop::replace_setting(std::string_view old, std::string_view fresh) {
  const auto place = settings_.find(old);
  REQUIRE(place != std::string::npos);
  settings_.replace(place, old.size(), fresh);
}

std::filesystem::path Shop::sheet_file(const std::string& id) const {
  return folder_.path() / "sheets" / (id + ".toml");
}

decode::RawMessage Shop::message(Instant measured, double celsius, double percent, Instant received) {
  decode::RawMessage made;
  made.row = ++row_;
  made.topic = "shop/bench/climate";
  made.payload = fmt::format(R"({{"at":"{}","temperature":{:.2f},"humidity":{:.2f}}})",
                             quantity::rfc3339_utc(measured), celsius, percent);
  made.payload_size = made.payload.size();
  made.received = received;
  made.connection = 1;
  made.since_connected = received - morning() + hours(1);
  return made;
}

decode::RawMessage Shop::message(Instant measured, double celsius, double percent) {
  return message(measured, celsius, percent, measured);
}

decode::RawMessage Shop::usual_message(Instant measured, double celsius, double percent, Instant received) {
  const double wobble = quantity::to_ms(measured) / 600000 % 2 == 0 ? 0.0 : 0.05;
  return message(measured, celsius + wobble, percent + wobble, received);
}

void Shop::take(std::vector<decode::RawMessage> messages, std::uint64_t generation) {
  service::take_in(*workshop_, {generation, std::move(messages), {}}, now);
}

void Shop::air_upto(Instant until, double celsius, double percent) {
  while (now < until) {
    now = std::min(until, now + minutes(10));
    take(usual_message(now, celsius, percent, now));
  }
}

void Shop::silence_for(quantity::Span span) {
  const auto until = now + span;
  while (now < until) {
    now = std::min(until, now + quantity::Span(minutes(10)));
    tick();
  }
}

void Shop::tick() {
  (void)service::tick(*workshop_, now);
}

void Shop::make(const std::string& pieces) {
  api::PieceNewParams params;
  params.pieces = {pieces};
  params.form = "tumbler";
  granted(service::piece_new(*workshop_, params, now));
}

void Shop::coat(const std::string& what, std::vector<std::string> pieces) {
  api::CoatParams params;
  params.what = what;
  params.pieces = std::move(pieces);
  params.zone = "bench";
  granted(service::coat(*workshop_, params, now));
}

api::PieceNow Shop::piece(const std::string& id) {
  const auto answer = granted(service::now_answer(*workshop_, {}, now));
  for (const auto& each : answer.pieces) {
    if (each.piece == id) return each;
  }
  FAIL("no such piece: " << id);
  return {};
}

std::vector<std::string> Shop::told() {
  std::vector<std::string> kinds;
  const auto rows = workshop_->ledger.notices(1000);
  for (auto row = rows.rbegin(); row != rows.rend(); ++row)
    kinds.push_back(row->kind + (row->extra.ends_with("/withdrawn") ? "!" : ""));
  return kinds;
}

std::string Shop::state() {
  auto answer = granted(service::now_answer(*workshop_, {}, now));
  answer.notices.clear();
  for (auto& piece : answer.pieces)
    leave_out_ahead(piece, answer.time);
  return boost::json::serialize(api::to_json(answer));
}

std::string Shop::checkpoints() {
  std::string all;
  for (const auto& [id, tracked] : workshop_->coats.coats()) {
    const auto newest = workshop_->ledger.checkpoint_at_or_before(id, now, core::kEngineVersion);
    all += fmt::format("{}@{}:", id.value(), newest ? quantity::to_ms(newest->at) : 0);
    all += newest ? newest->blob : "none";
    all += fmt::format("|{}:", quantity::to_ms(tracked.run.upto())) + tracked.run.save();
  }
  return all;
}

std::string Shop::readings() {
  std::string all;
  for (const auto& series : workshop_->sensors.series()) {
    for (const auto& row : workshop_->ledger.readings(series.number, Instant{}, now + hours(1))) {
      all += fmt::format("{} {} {} {}\n", quantity::to_ms(row.decoded.measured), row.decoded.number,
                         row.verdict.judged, row.verdict.refusal.has_value());
    }
    const auto& state = series.state;
    all += fmt::format("{} good {} change {} value {}\n", series.id.text(),
                       state.last_good ? quantity::to_ms(*state.last_good) : 0,
                       state.last_change ? quantity::to_ms(*state.last_change) : 0,
                       state.last_value.value_or(-1));
  }
  return all;
}

bool holds(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

bool holds(const std::vector<std::string>& lines, std::string_view part) {
  for (const auto& line : lines) {
    if (holds(line, part)) return true;
  }
  return false;
}

}  // namespace setwell::service_tests
