#include "daemon/service/coat_book.hpp"

#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "daemon/core/coat_clocks.hpp"
#include "sensors/decode/channel.hpp"

namespace setwell::service {
namespace {

using core::CoatCase;
using core::Piece;
using quantity::EntryId;
using quantity::Instant;

/// A run that goes back to before a change starts this much earlier: an envelope looks 2 h around a silence.
constexpr auto kLookBack = std::chrono::hours(2);
/// A form nobody described any more: a steel cup on a peg.
constexpr quantity::Minutes kUnknownLag{6.6};

/// Times ahead rest on assumed air: working them out with every reading would tell nothing new. The farther
/// off the next of them is, the longer they last.
constexpr auto kProjectionLasts = std::chrono::minutes(15);
constexpr int kPartOfTheWay = 32;

constexpr Instant kEver = Instant::min();

std::optional<Instant> next_change(const core::Outlook& outlook, Instant now);

/// How long the times ahead of an outlook are good.
quantity::Span lasting(const core::Outlook& outlook) {
  const auto next = next_change(outlook, outlook.now);
  if (!next) return std::chrono::hours(1);
  return std::max<quantity::Span>(kProjectionLasts, (*next - outlook.now) / kPartOfTheWay);
}

std::optional<Instant> covered_at(const Piece& piece, std::size_t coat) {
  if (coat + 1 >= piece.coats.size()) return std::nullopt;
  return piece.coats[coat + 1].made.first_pass;
}

template <typename Item, typename MomentOf>
Instant first_difference(const std::vector<Item>& a, const std::vector<Item>& b, MomentOf moment) {
  const auto [left, right] = std::mismatch(a.begin(), a.end(), b.begin(), b.end());
  Instant at = Instant::max();
  if (left != a.end()) at = std::min(at, moment(*left));
  if (right != b.end()) at = std::min(at, moment(*right));
  return at;
}

/// From when on two cases of one coat lead to different clocks; Instant::max() when they never do.
Instant difference(const CoatCase& a, const CoatCase& b) {
  if (a.material != b.material && !(a.material && b.material && *a.material == *b.material)) return kEver;
  if (a.coat != b.coat || a.lag != b.lag || a.area != b.area || a.strictness.k != b.strictness.k ||
      a.strictness.scatter != b.strictness.scatter || a.learned != b.learned) {
    return kEver;
  }
  Instant at = first_difference(a.stays, b.stays, [](const core::Stay& stay) { return stay.since; });
  at = std::min(at, first_difference(a.surface_readings, b.surface_readings,
                                     [](const auto& reading) { return reading.happened; }));
  if (a.covered != b.covered) {
    if (a.covered) at = std::min(at, *a.covered);
    if (b.covered) at = std::min(at, *b.covered);
  }
  return at;
}

Instant next_midnight(Instant at) {
  return std::chrono::floor<std::chrono::days>(at) + std::chrono::days(1);
}

/// Moments at which what the outlook says changes by itself: the next of them, after `now`.
std::optional<Instant> next_change(const core::Outlook& outlook, Instant now) {
  std::optional<Instant> next;
  const auto consider = [&](std::optional<Instant> at) {
    if (at && *at > now && (!next || *at < *next)) next = at;
  };
  for (const auto& clock : outlook.clocks) {
    for (const auto& at :
         {clock.at.slow, clock.at.expected, clock.at.fast, clock.likely_at, clock.expected_at_upper})
      consider(at);
  }
  return next;
}

}  // namespace

CoatCase case_of(const Piece& piece, std::size_t index, std::shared_ptr<const core::Material> material,
                 const settings::Settings& settings) {
  CoatCase made;
  made.material = std::move(material);
  made.coat = piece.coats[index];
  // A number shifts when an earlier coat is logged late; it must not count as a change of the clocks.
  made.coat.number = 0;
  const auto* form = settings.form(piece.made.form);
  made.lag = form != nullptr ? form->lag : kUnknownLag;
  if (form != nullptr) made.area = form->area;
  made.stays = piece.stays;
  made.surface_readings = piece.surface_readings;
  made.covered = covered_at(piece, index);
  made.strictness = {settings.workshop.k, settings.workshop.scatter};
  return made;
}

namespace {

/// How far the record may be consumed: humidity that comes by a message of its own, a moment after the
/// temperature, must not make every reading a late one. A humidity channel that has fallen silent is not
/// waited for.
Instant settled_upto(const core::AirHistory& history) {
  const auto recorded = history.recorded_upto();
  if (!recorded) return Instant::min();
  if (history.humidity().empty()) return *recorded;
  const auto humid = history.humidity().back().at;
  return *recorded - humid > history.limits().humidity_silent_after ? *recorded : std::min(*recorded, humid);
}

Instant settled_for(const CoatCase& coat, const Zones& zones) {
  if (coat.stays.empty()) return Instant::max();
  const auto& stay = coat.stays.back();
  const auto zone = zones.find(stay.zone);
  if (zone == zones.end()) return Instant::max();
  const auto& history = zone->second.history();
  const auto air = settled_upto(history);
  const auto* surface = history.surface(stay.place);
  return surface == nullptr || air == Instant::min() ? air : surface->settled_upto(air);
}

}  // namespace

const core::Forecast* forecast_for(const CoatCase& coat, const Zones& zones, ForecastBook& forecasts,
                                   Instant now) {
  const auto* zone = &coat.coat.made.zone;
  for (const auto& stay : coat.stays)
    if (stay.since <= now) zone = &stay.zone;
  const auto& answer = forecasts.of(*zone, zones);
  return answer.forecast ? &*answer.forecast : nullptr;
}

std::string clock_settings(const settings::Settings& settings) {
  auto text = fmt::format("{} {}\n", settings.workshop.k, settings.workshop.scatter);
  for (const auto& form : settings.forms)
    text += fmt::format("{} {}\n", form.id.text(), form.lag.count());
  for (const auto& spec : settings.channels) {
    text += fmt::format("{} {} {} {} {}", decode::id_of(spec).text(), spec.zone.text(),
                        quantity::word(spec.quantity), decode::error_of(spec), spec.silent_after.count());
    for (const auto& step : spec.offset)
      text += fmt::format(" {}@{}", step.add, quantity::to_ms(step.valid_from));
    // Since humidity follows its thermometer's offset, clocks of such a shop say something else.
    if (!spec.offset.empty()) text += " vapour kept";
    text += "\n";
  }
  return text;
}

core::AirOf air_of(const Zones& zones) {
  return [&zones](const quantity::ZoneId& id) -> const core::AirHistory* {
    const auto zone = zones.find(id);
    return zone == zones.end() ? nullptr : &zone->second.history();
  };
}

bool concerns(const AirChange& change, const core::CoatCase& coat) {
  if (change.place.empty() && coat.coat.made.zone == change.zone) return true;
  return std::any_of(coat.stays.begin(), coat.stays.end(), [&](const core::Stay& stay) {
    return stay.zone == change.zone && (change.place.empty() || stay.place == change.place);
  });
}

std::shared_ptr<const core::SheetClocks> CoatBook::clocks_for(const CoatCase& coat) {
  for (const auto& shared : shared_) {
    if (shared.material == coat.material && shared.load == coat.coat.made.load &&
        shared.strictness.k == coat.strictness.k && shared.strictness.scatter == coat.strictness.scatter &&
        shared.priors == coat.priors && shared.learned == coat.learned) {
      return shared.clocks;
    }
  }
  // Lessons pass, and the tables made from them.
  std::erase_if(shared_, [](const SharedClocks& shared) { return shared.clocks.use_count() == 1; });
  const core::PriorBook& book = coat.priors ? *coat.priors : core::built_in_priors();
  shared_.push_back(
      {coat.material, coat.coat.made.load, coat.strictness, coat.priors, coat.learned,
       core::clocks_of(*coat.material, coat.coat.made.load, coat.strictness, book, coat.learned)});
  return shared_.back().clocks;
}

void CoatBook::go_back(TrackedCoat& tracked, EntryId id, Instant to, ledger::Ledger& ledger) {
  tracked.outlook.reset();
  tracked.projected.reset();
  tracked.recomputing = true;
  std::optional<core::CoatRun> from;
  if (to != kEver) {
    const auto checkpoint = ledger.checkpoint_at_or_before(id, to, core::kEngineVersion);
    if (checkpoint) from = core::CoatRun::load(tracked.coat, checkpoint->blob);
    ledger.drop_checkpoints_after(id, to);
  } else {
    ledger.drop_checkpoints(id);
  }
  tracked.run = from ? std::move(*from) : core::CoatRun(tracked.coat);
}

std::shared_ptr<const CoatCase> CoatBook::case_for(const core::Workbook& workbook, const Piece& piece,
                                                   std::size_t index, const settings::Settings& settings,
                                                   Bookshelf& shelf, LearnedBook& learned,
                                                   ledger::Ledger& ledger) {
  auto material = shelf.edition(piece.coats[index].made.edition, ledger);
  if (!material) return nullptr;
  auto made = case_of(piece, index, std::move(material), settings);
  made.priors = shelf.priors_of(made.material->id);
  made.learned = learned.shifts_for(made, lot_of(workbook, piece.coats[index]));
  made.clocks = clocks_for(made);
  return std::make_shared<const CoatCase>(std::move(made));
}

void CoatBook::follow(const core::Workbook& workbook, const settings::Settings& settings, Bookshelf& shelf,
                      LearnedBook& learned, ledger::Ledger& ledger) {
  std::set<EntryId> wanted;
  for (const auto& piece : workbook.pieces) {
    if (!piece.in_progress()) continue;
    for (std::size_t i = 0; i < piece.coats.size(); ++i) {
      const auto id = piece.coats[i].id;
      const auto made = case_for(workbook, piece, i, settings, shelf, learned, ledger);
      if (!made) continue;
      wanted.insert(id);
      const auto known = coats_.find(id);
      if (known == coats_.end()) {
        TrackedCoat fresh{made, piece.id, core::CoatRun(made), true, std::nullopt, std::nullopt, false};
        // A daemon that starts goes on from where it was stored; a coat just logged has nothing stored.
        go_back(fresh, id, Instant::max() - kLookBack, ledger);
        coats_.emplace(id, std::move(fresh));
        continue;
      }
      auto& tracked = known->second;
      const auto at = difference(*tracked.coat, *made);
      tracked.coat = made;
      tracked.piece = piece.id;
      if (at == Instant::max()) continue;
      go_back(tracked, id, at == kEver ? kEver : at - kLookBack, ledger);
    }
  }
  std::erase_if(coats_, [&](const auto& item) {
    if (wanted.contains(item.first)) return false;
    ledger.drop_checkpoints(item.first);
    return true;
  });
}

void CoatBook::air_changed(const AirChange& change, ledger::Ledger& ledger) {
  for (auto& [id, tracked] : coats_) {
    if (!concerns(change, *tracked.coat)) continue;
    tracked.outlook.reset();
    tracked.recomputing = true;
    if (change.at < tracked.run.upto()) go_back(tracked, id, change.at - kLookBack, ledger);
  }
}

bool CoatBook::advance(const Zones& zones, ledger::Ledger& ledger, int pieces) {
  const auto air = air_of(zones);
  bool more = false;
  for (auto& [id, tracked] : coats_) {
    if (!tracked.recomputing) continue;
    while (pieces > 0) {
      const auto midnight = next_midnight(tracked.run.upto());
      const int slice = std::min(pieces, 200);
      const auto before = tracked.run.upto();
      const auto until = std::min(midnight, settled_for(*tracked.coat, zones));
      const bool stopped_early = tracked.run.advance(air, until, slice);
      pieces -= stopped_early ? slice : 1;
      if (tracked.run.upto() == midnight) {
        ledger.save_checkpoint(id, midnight, core::kEngineVersion, tracked.run.save());
      } else if (!stopped_early || tracked.run.upto() == before) {
        tracked.recomputing = false;
        break;
      }
    }
    more = more || tracked.recomputing;
  }
  return more;
}

const core::Outlook& CoatBook::outlook(EntryId coat, const Zones& zones, ForecastBook& forecasts,
                                       Instant now) {
  auto& tracked = coats_.at(coat);
  const auto& kept = tracked.outlook;
  const auto stale_at = kept ? next_change(*kept, kept->now) : std::nullopt;
  // Surface, dew margin and progress move on by themselves: a minute old is old enough.
  const bool stale = !kept || now < kept->now || now - kept->now >= std::chrono::minutes(1) ||
                     (stale_at && now >= *stale_at);
  if (!stale) return *kept;
  const auto& ahead = tracked.projected;
  const auto* forecast = forecast_for(*tracked.coat, zones, forecasts, now);
  const bool holds = ahead && now >= ahead->now && now - ahead->now < lasting(*ahead) &&
                     tracked.foretold == (forecast != nullptr);
  tracked.outlook = tracked.run.outlook(air_of(zones), now, holds ? &*ahead : nullptr, forecast);
  if (!holds) tracked.projected = tracked.outlook;
  tracked.foretold = forecast != nullptr;
  return *tracked.outlook;
}

const TrackedCoat* CoatBook::find(EntryId coat) const {
  const auto found = coats_.find(coat);
  return found == coats_.end() ? nullptr : &found->second;
}

std::optional<Instant> CoatBook::earliest() const {
  std::optional<Instant> earliest;
  for (const auto& [id, tracked] : coats_) {
    const auto start = tracked.coat->coat.made.first_pass - tracked.coat->coat.error;
    if (!earliest || start < *earliest) earliest = start;
  }
  return earliest;
}

}  // namespace setwell::service
