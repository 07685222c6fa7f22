#include "daemon/service/coat_request.hpp"

#include <charconv>

#include <fmt/format.h>

#include "daemon/service/batch_view.hpp"
#include "daemon/service/piece_view.hpp"

namespace setwell::service {

using quantity::Instant;
using quantity::invalid;
using quantity::refused;
using quantity::Result;

namespace {

Result<Poured> poured_from_batch(const Workshop& workshop, const core::Batch& batch) {
  const auto sheet = workshop.shelf.find(batch.made.sheet.text());
  if (!sheet) return sheet.error();
  return Poured{*sheet, &batch};
}

Result<Poured> only_open_batch(Workshop& workshop, Instant now) {
  const auto open = open_batches(workshop, now);
  if (open.empty()) {
    return quantity::not_found(
        "no batch is inside its pot life; log the mix first (`setwell mixed`), or name a sheet");
  }
  if (open.size() > 1) {
    std::string list;
    for (const auto* batch : open)
      list += (list.empty() ? "" : ", ") + batch->made.batch.text();
    return refused(fmt::format("{} batches are inside their pot life; name one of: {}", open.size(), list));
  }
  return poured_from_batch(workshop, *open.front());
}

}  // namespace

Result<Poured> poured(Workshop& workshop, const std::string& what, Instant now) {
  if (what == "@") return only_open_batch(workshop, now);
  if (const auto* batch = workshop.book.workbook().batch(quantity::BatchId(what))) {
    return poured_from_batch(workshop, *batch);
  }
  const auto sheet = workshop.shelf.find(what);
  if (!sheet) {
    auto error = sheet.error();
    error.detail += "; batches are listed by `setwell batches`";
    return error;
  }
  return Poured{*sheet, nullptr};
}

Result<Named> split_grams(const std::vector<std::string>& texts) {
  Named named;
  for (const auto& text : texts) {
    const auto equals = text.find('=');
    named.names.push_back(text.substr(0, equals));
    named.grams.emplace_back();
    if (equals == std::string::npos) continue;
    double value = 0;
    const auto* end = text.data() + text.size();
    const auto [rest, error] = std::from_chars(text.data() + equals + 1, end, value);
    const auto grams = quantity::Grams::from(value);
    if (error != std::errc{} || rest != end || !grams) {
      return invalid(fmt::format("“{}”: after = stand the grams on that piece, as fern-07=12.5", text));
    }
    if (named.names.back().find("..") != std::string::npos) {
      return invalid(fmt::format("“{}”: grams belong to one piece, not to a range", text));
    }
    named.grams.back() = grams;
  }
  return named;
}

std::optional<quantity::Grams> grams_of(const Workshop& workshop, const Named& named,
                                        const core::Piece& piece) {
  for (std::size_t i = 0; i < named.names.size(); ++i) {
    if (!named.grams[i]) continue;
    const auto one = pieces_named(workshop, {named.names[i]});
    if (one && one->front() == &piece) return named.grams[i];
  }
  return std::nullopt;
}

core::TimePhrase time_of_piece(const core::TimePhrase& said, std::size_t index, std::size_t count,
                               int passes) {
  if (passes > 1 || said.from == said.to) return said;
  core::TimePhrase mine = said;
  const auto width = said.to - said.from;
  if (count == 1) {
    mine.from = mine.to = said.from + width / 2;
    mine.error = said.error + width / 2;
    return mine;
  }
  mine.from = mine.to =
      said.from + width * static_cast<std::int64_t>(index) / static_cast<std::int64_t>(count - 1);
  return mine;
}

Result<core::CoatMade> coat_made(const Workshop& workshop, const api::CoatParams& params,
                                 const Poured& poured) {
  core::CoatMade made;
  made.sheet = poured.sheet->material->id;
  made.edition = poured.sheet->edition;
  if (poured.batch != nullptr) {
    made.batch = poured.batch->made.batch;
    made.edition = poured.batch->made.edition;  // what was mixed, whatever the sheet says since
  }
  made.passes = params.passes.value_or(1);
  if (made.passes < 1 || made.passes > 50) return invalid("--passes takes a whole number from 1 to 50");
  if (params.film_um) {
    made.film = quantity::Micrometres::from(*params.film_um);
    if (!made.film || *params.film_um > 20000)
      return invalid("--film takes µm, more than 0 and at most 20000");
  }
  const auto load = core::load_from(params.load.value_or("none"));
  if (!load) return invalid(fmt::format("--load “{}” is not known; flake, glitter or pigment", *params.load));
  made.load = *load;
  const auto from = temperature_said(workshop, params.piece_from, "--piece-from");
  if (!from) return from.error();
  made.piece_from = *from;
  const auto resin = temperature_said(workshop, params.resin_temperature, "--resin-temp");
  if (!resin) return resin.error();
  made.resin_temperature = *resin;
  made.lot = params.lot;
  if (params.lamp_min) {
    if (poured.sheet->material->family != core::Family::light_cured) {
      return invalid(
          fmt::format("{} is not light-cured by its sheet; --lamp has no meaning for it", made.sheet.text()));
    }
    if (!(*params.lamp_min > 0 && *params.lamp_min < 1000))
      return invalid("--lamp takes minutes, more than 0");
    made.lamp = quantity::Minutes(*params.lamp_min);
  }
  return made;
}

Result<quantity::ZoneId> coat_zone(const Workshop& workshop, const api::CoatParams& params,
                                   const core::Piece& piece, const Poured& poured, Instant at) {
  auto otherwise = zone_of(piece, at);
  if (!otherwise && poured.batch != nullptr) otherwise = poured.batch->made.zone;
  return zone_named(workshop, params.zone, otherwise);
}

std::vector<std::string_view> coat_topics(const core::Material& material) {
  std::vector<std::string_view> topics{"breathing", "skin"};
  if (material.family != core::Family::epoxy) topics.push_back("flame");
  return topics;
}

}  // namespace setwell::service
