#include "daemon/rpc/handlers/methods.hpp"

#include <utility>

namespace setwell::rpc {
namespace {

using service::Workshop;

constexpr Meaning kAt{"at", "when it was done, as typed: 20m, 14:30, yesterday 21:00; now if left out"};
constexpr Meaning kPieces{"pieces", "ids, ranges as fern-01..06, unique prefixes"};
constexpr Meaning kZone{"zone", "a zone of the settings"};
const std::initializer_list<Meaning> kCoat = {
    {"what", "a sheet, a batch, or @ for the only open batch"},
    {"pieces", "ids, ranges, prefixes; grams after =, as fern-07=12.5"},
    kZone,
    kAt,
    {"film_um", "film of the whole coat, all its passes together, as the sheet measures it, µm"},
    {"passes", "light passes within the coat"},
    {"load", "flake, glitter or pigment"},
    {"piece_from", "temperature of the place it came from, as 8C"},
    {"resin_temperature", "of the mix, as 22C"},
    {"lot", "the manufacturer's number"},
    {"lamp_min", "minutes under the lamp, light-cured only"}};

/// Makes rows of the service's functions: those that only ask, those that read for long, and those that add
/// entries.
class Rows {
 public:
  Rows(Workshop& workshop, Around around) : workshop_(workshop), around_(std::move(around)) {}

  template <typename Params, typename Answer>
  void asks(std::string name, std::string description, std::string result,
            std::initializer_list<Meaning> meanings,
            service::Answered<Answer> (*function)(Workshop&, const Params&, quantity::Instant)) {
    rows_.push_back(
        row<Params, Answer>(std::move(name), std::move(description), std::move(result), meanings,
                            [&workshop = workshop_, around = around_, function](const Params& params) {
                              service::make_whole(workshop);
                              around.look();
                              return function(workshop, params, around.now());
                            }));
  }

  /// `plan` runs on the loop, what it answers on the reader.
  template <typename Params, typename Answer>
  void reads(std::string name, std::string description, std::string result,
             std::initializer_list<Meaning> meanings,
             service::Planned<Answer> (*plan)(Workshop&, const Params&, quantity::Instant)) {
    using Reading = std::function<quantity::Result<Answer>()>;
    rows_.push_back(reader_row<Params, Answer>(
        std::move(name), std::move(description), std::move(result), meanings,
        [&workshop = workshop_, around = around_, plan](const Params& params) -> quantity::Result<Reading> {
          service::make_whole(workshop);
          auto planned = plan(workshop, params, around.now());
          if (!planned) return planned.error();
          return Reading([open = around.records, read = std::move(*planned)]() -> quantity::Result<Answer> {
            const auto records = open();
            if (!records) return records.error();
            return read(*records);
          });
        }));
  }

  template <typename Params>
  void logs(std::string name, std::string description, std::initializer_list<Meaning> meanings,
            service::Answered<api::LoggedAnswer> (*function)(Workshop&, const Params&, quantity::Instant)) {
    rows_.push_back(row<Params, api::LoggedAnswer>(
        std::move(name), std::move(description), "what was logged, and the pieces as they stand", meanings,
        [&workshop = workshop_, around = around_, function](const Params& params) {
          auto answer = function(workshop, params, around.now());
          if (answer) around.changed();
          return answer;
        }));
  }

  /// Not an entry, but something for the loop to carry on with.
  template <typename Params, typename Answer>
  void sends(std::string name, std::string description, std::string result,
             std::initializer_list<Meaning> meanings,
             service::Answered<Answer> (*function)(Workshop&, const Params&, quantity::Instant)) {
    rows_.push_back(
        row<Params, Answer>(std::move(name), std::move(description), std::move(result), meanings,
                            [&workshop = workshop_, around = around_, function](const Params& params) {
                              auto answer = function(workshop, params, around.now());
                              if (answer && !workshop.try_now.empty()) around.changed();
                              return answer;
                            }));
  }

  [[nodiscard]] std::vector<Method> take() { return std::move(rows_); }

 private:
  Workshop& workshop_;
  Around around_;
  std::vector<Method> rows_;
};

void asking_rows(Rows& rows) {
  using namespace api;
  rows.asks<NoParams, NowAnswer>("now", "air, pieces in progress, batches and open notices",
                                 "what needs hands first comes first", {}, service::now_answer);
  rows.asks<PieceParams, PieceShowAnswer>("piece.show", "one piece with every coat and entry", "the piece",
                                          {{"piece", "an id or a unique prefix"}}, service::piece_show);
  rows.asks<PiecesParams, PiecesAnswer>("pieces", "the pieces", "one line each",
                                        {{"all", "those shipped and scrapped too"}}, service::pieces);
  rows.asks<PieceParams, EntriesAnswer>("entries", "everything said about a piece", "entries, oldest first",
                                        {{"piece", "an id or a unique prefix"}}, service::entries);
  rows.asks<NoParams, BatchesAnswer>("batches", "the batches", "newest first", {}, service::batches);
  rows.asks<AirParams, AirAnswer>("air", "now, the last day, and what the time to come rests on", "the zones",
                                  {kZone}, service::air);
  rows.asks<NoParams, SensorsAnswer>("sensors", "every channel, what it told and what was refused",
                                     "the channels", {}, service::sensors);
  rows.asks<NoticesParams, NoticesAnswer>("notices", "messages and their delivery", "newest first",
                                          {{"all", "those seen and over too"}}, service::notices);
  rows.sends<NoticeTestParams, NoticeTestAnswer>(
      "notices.test", "sends a test message by one route", "what became of it so far",
      {{"route", "its id in the settings"}, {"id", "of an earlier test: asks what became of it"}},
      service::notice_test);
  rows.asks<NoParams, SheetsAnswer>("sheets", "the materials", "one line each, with faults", {},
                                    service::sheets);
  rows.asks<SheetParams, SheetShowAnswer>("sheet.show", "what a sheet states, and where", "its figures",
                                          {{"sheet", "a sheet's id or a unique prefix"}},
                                          service::sheet_show);
  rows.asks<NoParams, SchedulesAnswer>("schedules", "the finishing schedules", "their items", {},
                                       service::schedules);
  rows.reads<HistoryParams, HistoryAnswer>("history", "the recorded air of a zone",
                                           "rows in time order, a page at a time",
                                           {kZone,
                                            {"from", "a time; a day ago if left out"},
                                            {"to", "a time; now if left out"},
                                            {"after", "the time of the last row of the page before"}},
                                           service::history);
  rows.asks<ReviewParams, ReviewAnswer>(
      "review", "looks back over a coat that went wrong",
      "facts, then causes with evidence for, against and missing",
      {{"piece", "an id or a unique prefix; gone ones by their whole id"},
       {"coat", "its number; else that of the newest defect, else the newest"},
       {"signs", "in place of those logged"}},
      service::review);
  rows.asks<TraceParams, TraceAnswer>(
      "trace", "every coat that shares a batch, a lot or a sheet",
      "the coats, those of the same zone and night, and how each came out",
      {{"batch", "a batch"}, {"lot", "a manufacturer's number"}, {"sheet", "a material"}}, service::trace);
  rows.asks<ExportParams, ExportAnswer>("export", "one table of the records, a page at a time",
                                        "columns and rows",
                                        {{"table", "its name; any other is answered with the names"},
                                         {"after", "the row where the page begins"}},
                                        service::export_page);
  rows.reads<BackupParams, BackupAnswer>("backup", "writes a checked copy of the records",
                                         "how much was copied",
                                         {{"file", "its whole path; must not exist yet"}}, service::backup);
  rows.asks<NoParams, StatusAnswer>("status", "daemon, broker, sensors, database, disk, sheets, routes",
                                    "one line each and the next thing to do", {}, service::status);
}

void logging_rows(Rows& rows) {
  using namespace api;
  rows.logs<PieceNewParams>("piece.new", "begins pieces",
                            {kPieces,
                             {"form", "what kind of body"},
                             {"schedule", "the finishing schedule"},
                             {"due", "a date, YYYY-MM-DD"},
                             kAt},
                            service::piece_new);
  rows.logs<CoatParams>("coat", "logs a coat on pieces", kCoat, service::coat);
  rows.asks<CoatParams, DryRunAnswer>("coat.dry_run", "what such a coat would do; logs nothing",
                                      "go or wait, and the starts of the next 48 h", kCoat,
                                      service::coat_dry_run);
  rows.logs<StepParams>("step", "logs bench work that is no coat",
                        {{"step", "washed wiped sanded polished masked unmasked decal flaked torched noted"},
                         kPieces,
                         {"with", "water or alcohol"},
                         {"kind", "vinyl or water-slide"},
                         {"sheet", "of a step with a clock of its own"},
                         {"text", "a note"},
                         {"unwashed", "sanded though it was not washed"},
                         kAt},
                        service::step);
  rows.logs<TouchParams>("touch", "logs a touch test",
                         {{"touch", "wet strings tacky firm hard, gums powders"},
                          {"pieces", "pieces, or one batch for its witness"},
                          kAt},
                         service::touch);
  rows.logs<MixedParams>("mixed", "logs a mix and starts its pot life",
                         {{"sheet", "a two-part material"},
                          {"part_a_g", "grams of A"},
                          {"part_b_g", "grams of B"},
                          kZone,
                          {"resin_temperature", "as 22C"},
                          {"pot", "cup, tray or insulated"},
                          {"lot_a", "lot of A"},
                          {"lot_b", "lot of B"},
                          {"stirred_min", "minutes stirred"},
                          kAt},
                         service::mixed);
  rows.logs<OpenedParams>("opened", "logs that a can or bottle was opened",
                          {{"sheet", "the material"}, {"part", "a or b"}, {"lot", "its number"}, kAt},
                          service::opened);
  rows.logs<MoveParams>("move", "moves pieces to another zone",
                        {kPieces, {"zone", "a zone of the settings, or zone/place"}, kAt}, service::move);
  rows.logs<RotatorParams>("rotator", "a zone's rotator stopped or runs again",
                           {kZone, {"state", "stopped or running"}, kAt}, service::rotator);
  rows.logs<ReadParams>("read", "a reading by hand",
                        {{"what", "a zone, or a piece for its surface"},
                         {"air", "as 17C"},
                         {"humidity_pct", "%"},
                         {"surface", "of the piece, as 14C"},
                         {"error_k", "± K; 1 unless stated"},
                         {"error_pct", "± %; 8 unless stated"},
                         kAt},
                        service::read);
  rows.logs<EndParams>("ship", "pieces leave",
                       {kPieces, {"anyway", "though a coat is short of packing"}, kAt}, service::ship);
  rows.logs<EndParams>("scrap", "pieces are given up", {kPieces, kAt}, service::scrap);
  rows.logs<DefectParams>(
      "defect", "logs what went wrong with a coat",
      {{"piece", "an id or a unique prefix; gone ones by their whole id"},
       {"signs",
        "soft sticky-spots never-dried greasy cloudy craters bubbles dimples dust imprint wavy "
        "peeling off-the-body wrinkled yellow sags decal-lift lumps rings colour-bled "
        "soft-when-hot"},
       {"coat", "its number; the newest if left out"},
       {"where", "on the piece"},
       {"photo", "a file"},
       {"saw", "observations of setwell-case(5)"},
       kAt},
      service::defect);
  rows.logs<AmendParams>(
      "amend", "puts the time of an entry or the lamp's minutes of a coat right",
      {{"entry", "its number"}, {"at", "the right time"}, {"lamp_min", "minutes under the lamp in all"}},
      service::amend);
  rows.logs<UndoParams>("undo", "takes an entry back", {{"entry", "its number"}}, service::undo);
  rows.logs<SeenParams>("seen", "a notice was read", {{"notice", "its number"}}, service::seen);
}

/// Whether time goes by readings stands in every answer, also in those whose form has no place for it.
void mark_rehearsal(Method& method, const Workshop& workshop) {
  const auto mark = [rehearsal = workshop.rehearsal](quantity::Result<boost::json::object> answer) {
    if (answer) (*answer)["rehearsal"] = rehearsal;
    return answer;
  };
  if (method.planner) {
    method.planner = [mark, inner = std::move(method.planner)](const auto& params) -> quantity::Result<Work> {
      auto work = inner(params);
      if (!work) return work.error();
      return Work([mark, rest = std::move(*work)] { return mark(rest()); });
    };
    return;
  }
  method.handler = [mark, inner = std::move(method.handler)](const auto& params) {
    return mark(inner(params));
  };
}

}  // namespace

std::vector<Method> workshop_methods(Workshop& workshop, Around around) {
  Rows rows(workshop, std::move(around));
  asking_rows(rows);
  logging_rows(rows);
  auto methods = rows.take();
  for (auto& method : methods)
    mark_rehearsal(method, workshop);
  return methods;
}

}  // namespace setwell::rpc
