#include "tests/shops/engine.hpp"

#include <fstream>
#include <stdexcept>

#include <boost/json/parse.hpp>

#include "daemon/settings/settings_reader.hpp"

namespace setwell::shops {
namespace {

using quantity::Instant;

constexpr const char* kRoute = "journal";
constexpr int kAtOnce = 500;

template <typename Answer>
Answer granted(service::Answered<Answer> answer) {
  if (!answer) throw std::runtime_error(answer.error().detail);
  return std::move(*answer);
}

std::shared_ptr<const settings::Settings> settings_of(const std::string& text) {
  auto reading = settings::read_settings(
      text, "shop.toml", [](std::string_view) { return std::optional(quantity::TimeZone()); });
  if (!reading.settings) {
    throw std::runtime_error(reading.faults.empty() ? "settings"
                                                    : settings::describe(reading.faults.front()));
  }
  return std::make_shared<const settings::Settings>(std::move(*reading.settings));
}

std::optional<Instant> moment(const boost::json::object& body, const char* key) {
  const auto* value = body.if_contains(key);
  if (value == nullptr || !value->is_string()) return std::nullopt;
  return quantity::parse_rfc3339(std::string_view(value->as_string()));
}

Told told_of(const std::string& text) {
  const auto body = boost::json::parse(text).as_object();
  Told told;
  told.kind = body.at("kind").as_string().c_str();
  told.withdrawal = body.at("withdrawal").as_bool();
  for (const auto& piece : body.at("pieces").as_array())
    told.pieces.emplace_back(piece.as_string());
  told.at = moment(body, "at").value_or(Instant{});
  told.from = moment(body, "from");
  told.until = moment(body, "until");
  return told;
}

}  // namespace

Engine::Engine(const std::string& settings, const std::vector<SheetFile>& sheets, Instant now) {
  std::filesystem::create_directories(folder_ / "sheets");
  for (const SheetFile& sheet : sheets)
    std::ofstream(folder_ / "sheets" / (sheet.id + ".toml")) << sheet.text;
  auto ledger = ledger::Ledger::open(":memory:", ledger::Mode::live);
  if (!ledger) throw std::runtime_error(ledger.error().detail);
  auto opened = service::open_workshop(settings_of(settings), folder_.path(), std::move(*ledger), false, now);
  if (!opened) throw std::runtime_error(opened.error().detail);
  workshop_ = std::move(*opened);
  for (const auto& fault : workshop_->shelf.homeless_faults())
    throw std::runtime_error(fault);
  for (const SheetFile& sheet : sheets)
    workshop_->shelf.use_priors(quantity::SheetId(sheet.id), sheet.priors);
}

void Engine::take_in(std::vector<decode::RawMessage> messages, Instant now) {
  service::take_in(*workshop_, {1, std::move(messages), {}}, now);
}

void Engine::tick(Instant now) {
  (void)service::tick(*workshop_, now);
}

std::vector<Told> Engine::told(Instant now) {
  std::vector<Told> all;
  if (!workshop_->outbox_grew) return all;
  workshop_->outbox_grew = false;
  auto& outbox = workshop_->ledger.outbox();
  for (const auto& delivery : outbox.due(quantity::RouteId(kRoute), now, kAtOnce)) {
    all.push_back(told_of(delivery.parcel.body));
    outbox.mark_sent(delivery.id, now);
  }
  return all;
}

void Engine::make(const std::string& piece, Instant now) {
  api::PieceNewParams params;
  params.pieces = {piece};
  params.form = "cup";
  (void)granted(service::piece_new(*workshop_, params, now));
}

api::PieceNow Engine::coat(const api::CoatParams& params, Instant now) {
  auto answer = granted(service::coat(*workshop_, params, now));
  return answer.pieces.empty() ? api::PieceNow{} : std::move(answer.pieces.front());
}

void Engine::touch(const std::string& piece, const std::string& word, Instant now) {
  api::TouchParams params;
  params.touch = word;
  params.pieces = {piece};
  (void)granted(service::touch(*workshop_, params, now));
}

void Engine::scrap(const std::string& piece, Instant now) {
  api::EndParams params;
  params.pieces = {piece};
  (void)granted(service::scrap(*workshop_, params, now));
}

api::PieceNow Engine::show(const std::string& piece, Instant now) {
  return granted(service::piece_show(*workshop_, {piece}, now)).now;
}

std::optional<Instant> expected_opening(const api::PieceNow& piece) {
  for (const auto& milestone : piece.milestones) {
    const bool opening = milestone.name == "recoat-opens" || milestone.name == "gap-ends";
    if (opening && milestone.expected.at) return quantity::parse_rfc3339(*milestone.expected.at);
  }
  return std::nullopt;
}

}  // namespace setwell::shops
