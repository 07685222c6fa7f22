#include "daemon/api/entry_codec.hpp"

#include <boost/describe.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <fmt/format.h>

#include "daemon/api/codec.hpp"

namespace setwell::api {
namespace stored {

// The stored forms: plain members, units in the names. Optional members may be absent.
struct PieceMade {
  int v = 1;
  std::string form;
  std::optional<std::string> schedule;
  std::optional<std::string> due;
};
BOOST_DESCRIBE_STRUCT(PieceMade, (), (v, form, schedule, due))

struct CoatMade {
  int v = 1;
  std::string sheet;
  std::int64_t edition = 0;
  std::string zone;
  std::optional<std::string> batch;
  std::optional<double> grams;
  std::optional<double> film_um;
  int passes = 1;
  std::int64_t first_pass_ms = 0;
  std::int64_t last_pass_ms = 0;
  std::string load = "none";
  std::optional<double> piece_from_c;
  std::optional<double> resin_c;
  std::optional<std::string> lot;
  std::optional<double> lamp_min;
};
BOOST_DESCRIBE_STRUCT(CoatMade, (),
                      (v, sheet, edition, zone, batch, grams, film_um, passes, first_pass_ms, last_pass_ms,
                       load, piece_from_c, resin_c, lot, lamp_min))

struct StepDone {
  int v = 1;
  std::string step;
  std::optional<std::string> with;
  std::optional<std::string> kind;
  std::optional<std::string> sheet;
  std::optional<std::int64_t> edition;
  std::optional<std::string> text;
};
BOOST_DESCRIBE_STRUCT(StepDone, (), (v, step, with, kind, sheet, edition, text))

struct TouchTested {
  int v = 1;
  std::string touch;
  std::optional<std::string> witness_of;
};
BOOST_DESCRIBE_STRUCT(TouchTested, (), (v, touch, witness_of))

struct BatchMixed {
  int v = 1;
  std::string batch;
  std::string sheet;
  std::int64_t edition = 0;
  std::string zone;
  double part_a_g = 0;
  double part_b_g = 0;
  std::optional<double> resin_c;
  std::string pot = "cup";
  std::optional<std::string> lot_a;
  std::optional<std::string> lot_b;
  std::optional<double> stirred_min;
};
BOOST_DESCRIBE_STRUCT(BatchMixed, (),
                      (v, batch, sheet, edition, zone, part_a_g, part_b_g, resin_c, pot, lot_a, lot_b,
                       stirred_min))

struct LotOpened {
  int v = 1;
  std::string sheet;
  std::string part;
  std::string lot;
};
BOOST_DESCRIBE_STRUCT(LotOpened, (), (v, sheet, part, lot))

struct PieceMoved {
  int v = 1;
  std::string zone;
  std::optional<std::string> place;
};
BOOST_DESCRIBE_STRUCT(PieceMoved, (), (v, zone, place))

struct RotatorChanged {
  int v = 1;
  std::string zone;
  bool running = true;
};
BOOST_DESCRIBE_STRUCT(RotatorChanged, (), (v, zone, running))

struct HandReading {
  int v = 1;
  std::optional<std::string> zone;
  std::optional<double> air_c;
  std::optional<double> humidity_pct;
  std::optional<double> surface_c;
  double error_k = 1.0;
  double error_pct = 8.0;
};
BOOST_DESCRIBE_STRUCT(HandReading, (), (v, zone, air_c, humidity_pct, surface_c, error_k, error_pct))

struct DefectSeen {
  int v = 1;
  std::vector<std::string> signs;
  std::optional<int> coat;
  std::optional<std::string> where;
  std::optional<std::string> photo;
};
BOOST_DESCRIBE_STRUCT(DefectSeen, (), (v, signs, coat, where, photo))

struct PieceEnded {
  int v = 1;
  std::string ending;
  bool anyway = false;
};
BOOST_DESCRIBE_STRUCT(PieceEnded, (), (v, ending, anyway))

struct NoticeSeen {
  int v = 1;
  std::int64_t notice = 0;
};
BOOST_DESCRIBE_STRUCT(NoticeSeen, (), (v, notice))

struct Struck {
  int v = 1;
  std::int64_t entry = 0;
};
BOOST_DESCRIBE_STRUCT(Struck, (), (v, entry))

}  // namespace stored

namespace {

using quantity::Celsius;
using quantity::Error;
using quantity::invalid;
using quantity::Result;

template <typename Id>
std::optional<std::string> text_of(const std::optional<Id>& id) {
  if (!id) return std::nullopt;
  return id->text();
}
template <typename Id>
std::optional<Id> id_of(const std::optional<std::string>& text) {
  if (!text) return std::nullopt;
  return Id(*text);
}
std::optional<double> degrees(const std::optional<Celsius>& t) {
  if (!t) return std::nullopt;
  return t->degrees();
}
template <typename Amount>
std::optional<double> amount(const std::optional<Amount>& m) {
  if (!m) return std::nullopt;
  return m->value();
}
std::optional<double> minutes(const std::optional<quantity::Minutes>& m) {
  if (!m) return std::nullopt;
  return m->count();
}
std::optional<quantity::Minutes> to_minutes(std::optional<double> count) {
  if (!count) return std::nullopt;
  return quantity::Minutes(*count);
}

/// Reads optional figures through their doors and remembers whether one was impossible.
class Doors {
 public:
  std::optional<Celsius> celsius(std::optional<double> degrees_c) {
    return through<Celsius>(degrees_c, [](double v) { return Celsius::from(v); });
  }
  template <typename Amount>
  std::optional<Amount> measure(std::optional<double> value) {
    return through<Amount>(value, [](double v) { return Amount::from(v); });
  }
  std::optional<quantity::RelativeHumidity> humidity(std::optional<double> percent) {
    return through<quantity::RelativeHumidity>(
        percent, [](double v) { return quantity::RelativeHumidity::from_percent(v); });
  }
  [[nodiscard]] bool fine() const { return fine_; }

 private:
  template <typename T, typename Door>
  std::optional<T> through(std::optional<double> value, Door door) {
    if (!value) return std::nullopt;
    auto opened = door(*value);
    if (!opened) fine_ = false;
    return opened;
  }
  bool fine_ = true;
};

struct ToStored {
  stored::PieceMade operator()(const core::PieceMade& b) const {
    return {1, b.form.text(), text_of(b.schedule), b.due};
  }
  stored::CoatMade operator()(const core::CoatMade& b) const {
    return {1,
            b.sheet.text(),
            b.edition.value(),
            b.zone.text(),
            text_of(b.batch),
            amount(b.grams),
            amount(b.film),
            b.passes,
            quantity::to_ms(b.first_pass),
            quantity::to_ms(b.last_pass),
            std::string(core::word(b.load)),
            degrees(b.piece_from),
            degrees(b.resin_temperature),
            b.lot,
            minutes(b.lamp)};
  }
  stored::StepDone operator()(const core::StepDone& b) const {
    std::optional<std::int64_t> edition;
    if (b.edition) edition = b.edition->value();
    return {1, std::string(core::word(b.step)), b.with, b.kind, text_of(b.sheet), edition, b.text};
  }
  stored::TouchTested operator()(const core::TouchTested& b) const {
    return {1, std::string(core::word(b.touch)), text_of(b.witness_of)};
  }
  stored::BatchMixed operator()(const core::BatchMixed& b) const {
    return {1,
            b.batch.text(),
            b.sheet.text(),
            b.edition.value(),
            b.zone.text(),
            b.part_a.value(),
            b.part_b.value(),
            degrees(b.resin_temperature),
            std::string(core::word(b.pot)),
            b.lot_a,
            b.lot_b,
            minutes(b.stirred)};
  }
  stored::LotOpened operator()(const core::LotOpened& b) const { return {1, b.sheet.text(), b.part, b.lot}; }
  stored::PieceMoved operator()(const core::PieceMoved& b) const {
    return {1, b.zone.text(), b.place.empty() ? std::nullopt : std::optional(b.place)};
  }
  stored::RotatorChanged operator()(const core::RotatorChanged& b) const {
    return {1, b.zone.text(), b.running};
  }
  stored::HandReading operator()(const core::HandReading& b) const {
    std::optional<double> percent;
    if (b.humidity) percent = b.humidity->in_percent();
    return {1,
            text_of(b.zone),
            degrees(b.air),
            percent,
            degrees(b.surface),
            b.temperature_error.kelvin(),
            b.humidity_error_percent};
  }
  stored::DefectSeen operator()(const core::DefectSeen& b) const {
    return {1, b.signs, b.coat, b.where, b.photo};
  }
  stored::PieceEnded operator()(const core::PieceEnded& b) const {
    return {1, b.ending == core::Ending::shipped ? "shipped" : "scrapped", b.anyway};
  }
  stored::NoticeSeen operator()(const core::NoticeSeen& b) const { return {1, b.notice}; }
  stored::Struck operator()(const core::Struck& b) const { return {1, b.entry.value()}; }
};

Error impossible(std::string_view kind) {
  return invalid(fmt::format("a stored entry of kind {} holds something that cannot be", kind));
}

Result<core::EntryBody> read(const stored::PieceMade& s) {
  return core::PieceMade{quantity::FormId(s.form), id_of<quantity::ScheduleId>(s.schedule), s.due};
}

Result<core::EntryBody> read(const stored::CoatMade& s) {
  Doors doors;
  core::CoatMade b;
  b.sheet = quantity::SheetId(s.sheet);
  b.edition = quantity::EditionId(s.edition);
  b.zone = quantity::ZoneId(s.zone);
  b.batch = id_of<quantity::BatchId>(s.batch);
  b.grams = doors.measure<quantity::Grams>(s.grams);
  b.film = doors.measure<quantity::Micrometres>(s.film_um);
  b.passes = s.passes;
  b.first_pass = quantity::instant_from_ms(s.first_pass_ms);
  b.last_pass = quantity::instant_from_ms(s.last_pass_ms);
  b.piece_from = doors.celsius(s.piece_from_c);
  b.resin_temperature = doors.celsius(s.resin_c);
  b.lot = s.lot;
  b.lamp = to_minutes(s.lamp_min);
  const auto load = core::load_from(s.load);
  if (!load || !doors.fine() || s.passes < 1) return impossible("coat-made");
  b.load = *load;
  return b;
}

Result<core::EntryBody> read(const stored::StepDone& s) {
  const auto step = core::step_from(s.step);
  if (!step) return impossible("step-done");
  core::StepDone b{*step, s.with, s.kind, id_of<quantity::SheetId>(s.sheet), std::nullopt, s.text};
  if (s.edition) b.edition = quantity::EditionId(*s.edition);
  return b;
}

Result<core::EntryBody> read(const stored::TouchTested& s) {
  const auto touch = core::touch_from(s.touch);
  if (!touch) return impossible("touch-tested");
  return core::TouchTested{*touch, id_of<quantity::BatchId>(s.witness_of)};
}

Result<core::EntryBody> read(const stored::BatchMixed& s) {
  Doors doors;
  const auto a = doors.measure<quantity::Grams>(s.part_a_g);
  const auto b = doors.measure<quantity::Grams>(s.part_b_g);
  const auto resin = doors.celsius(s.resin_c);
  const auto pot = core::pot_from(s.pot);
  if (!doors.fine() || !pot) return impossible("batch-mixed");
  return core::BatchMixed{quantity::BatchId(s.batch),
                          quantity::SheetId(s.sheet),
                          quantity::EditionId(s.edition),
                          quantity::ZoneId(s.zone),
                          *a,
                          *b,
                          resin,
                          *pot,
                          s.lot_a,
                          s.lot_b,
                          to_minutes(s.stirred_min)};
}

Result<core::EntryBody> read(const stored::LotOpened& s) {
  return core::LotOpened{quantity::SheetId(s.sheet), s.part, s.lot};
}
Result<core::EntryBody> read(const stored::PieceMoved& s) {
  return core::PieceMoved{quantity::ZoneId(s.zone), s.place.value_or("")};
}
Result<core::EntryBody> read(const stored::RotatorChanged& s) {
  return core::RotatorChanged{quantity::ZoneId(s.zone), s.running};
}

Result<core::EntryBody> read(const stored::HandReading& s) {
  Doors doors;
  core::HandReading b;
  b.zone = id_of<quantity::ZoneId>(s.zone);
  b.air = doors.celsius(s.air_c);
  b.humidity = doors.humidity(s.humidity_pct);
  b.surface = doors.celsius(s.surface_c);
  if (!doors.fine() || !(s.error_k >= 0 && s.error_k < 100) || !(s.error_pct >= 0 && s.error_pct <= 100)) {
    return impossible("hand-reading");
  }
  b.temperature_error = quantity::CelsiusDelta(s.error_k);
  b.humidity_error_percent = s.error_pct;
  return b;
}

Result<core::EntryBody> read(const stored::DefectSeen& s) {
  return core::DefectSeen{s.signs, s.coat, s.where, s.photo};
}

Result<core::EntryBody> read(const stored::PieceEnded& s) {
  if (s.ending != "shipped" && s.ending != "scrapped") return impossible("piece-ended");
  return core::PieceEnded{s.ending == "shipped" ? core::Ending::shipped : core::Ending::scrapped, s.anyway};
}
Result<core::EntryBody> read(const stored::NoticeSeen& s) {
  return core::NoticeSeen{s.notice};
}
Result<core::EntryBody> read(const stored::Struck& s) {
  return core::Struck{quantity::EntryId(s.entry)};
}

template <typename Stored>
Result<core::EntryBody> decode_as(const boost::json::value& value) {
  auto parsed = from_json<Stored>(value);
  if (!parsed) return parsed.error();
  if (parsed->v != 1) {
    return invalid(fmt::format("a stored entry has version {}; this program reads version 1", parsed->v));
  }
  return read(*parsed);
}

struct KindReader {
  std::string_view kind;
  Result<core::EntryBody> (*read)(const boost::json::value&);
};
constexpr KindReader kReaders[] = {
    {"piece-made", decode_as<stored::PieceMade>},
    {"coat-made", decode_as<stored::CoatMade>},
    {"step-done", decode_as<stored::StepDone>},
    {"touch-tested", decode_as<stored::TouchTested>},
    {"batch-mixed", decode_as<stored::BatchMixed>},
    {"lot-opened", decode_as<stored::LotOpened>},
    {"piece-moved", decode_as<stored::PieceMoved>},
    {"rotator-changed", decode_as<stored::RotatorChanged>},
    {"hand-reading", decode_as<stored::HandReading>},
    {"defect-seen", decode_as<stored::DefectSeen>},
    {"piece-ended", decode_as<stored::PieceEnded>},
    {"notice-seen", decode_as<stored::NoticeSeen>},
    {"struck", decode_as<stored::Struck>},
};

}  // namespace

std::string body_to_text(const core::EntryBody& body) {
  return std::visit([](const auto& b) { return boost::json::serialize(to_json(ToStored{}(b))); }, body);
}

Result<core::EntryBody> body_from_text(std::string_view kind, std::string_view text) {
  boost::json::error_code error;
  const auto value = boost::json::parse({text.data(), text.size()}, error);
  if (error) return invalid(fmt::format("a stored entry of kind {} is not JSON: {}", kind, error.message()));
  for (const auto& reader : kReaders) {
    if (reader.kind == kind) return reader.read(value);
  }
  return invalid(fmt::format("a stored entry has the kind {}, which this program does not know", kind));
}

}  // namespace setwell::api
