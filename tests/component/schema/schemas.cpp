#include <iostream>

#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "daemon/api/codec.hpp"
#include "daemon/api/messages/asking.hpp"
#include "daemon/api/messages/dry_run.hpp"
#include "daemon/api/messages/logging.hpp"
#include "daemon/api/messages/now.hpp"
#include "daemon/api/messages/review.hpp"

/// Prints the JSON Schema of every request and answer of the wire, as one object by struct name.

namespace {

using namespace setwell::api;

boost::json::object answers() {
  return {
      {"AirAnswer", json_schema_of<AirAnswer>()},
      {"BackupAnswer", json_schema_of<BackupAnswer>()},
      {"BatchesAnswer", json_schema_of<BatchesAnswer>()},
      {"DryRunAnswer", json_schema_of<DryRunAnswer>()},
      {"EntriesAnswer", json_schema_of<EntriesAnswer>()},
      {"ExportAnswer", json_schema_of<ExportAnswer>()},
      {"HistoryAnswer", json_schema_of<HistoryAnswer>()},
      {"LoggedAnswer", json_schema_of<LoggedAnswer>()},
      {"NoticesAnswer", json_schema_of<NoticesAnswer>()},
      {"NoticeTestAnswer", json_schema_of<NoticeTestAnswer>()},
      {"NowAnswer", json_schema_of<NowAnswer>()},
      {"PieceShowAnswer", json_schema_of<PieceShowAnswer>()},
      {"PiecesAnswer", json_schema_of<PiecesAnswer>()},
      {"ReviewAnswer", json_schema_of<ReviewAnswer>()},
      {"SchedulesAnswer", json_schema_of<SchedulesAnswer>()},
      {"SensorsAnswer", json_schema_of<SensorsAnswer>()},
      {"SheetShowAnswer", json_schema_of<SheetShowAnswer>()},
      {"SheetsAnswer", json_schema_of<SheetsAnswer>()},
      {"StatusAnswer", json_schema_of<StatusAnswer>()},
      {"TraceAnswer", json_schema_of<TraceAnswer>()},
  };
}

boost::json::object requests() {
  boost::json::object requests;
  requests["AirParams"] = json_schema_of<AirParams>(SchemaSide::request);
  requests["AmendParams"] = json_schema_of<AmendParams>(SchemaSide::request);
  requests["BackupParams"] = json_schema_of<BackupParams>(SchemaSide::request);
  requests["CoatParams"] = json_schema_of<CoatParams>(SchemaSide::request);
  requests["DefectParams"] = json_schema_of<DefectParams>(SchemaSide::request);
  requests["EndParams"] = json_schema_of<EndParams>(SchemaSide::request);
  requests["ExportParams"] = json_schema_of<ExportParams>(SchemaSide::request);
  requests["HistoryParams"] = json_schema_of<HistoryParams>(SchemaSide::request);
  requests["MixedParams"] = json_schema_of<MixedParams>(SchemaSide::request);
  requests["MoveParams"] = json_schema_of<MoveParams>(SchemaSide::request);
  requests["NoParams"] = json_schema_of<NoParams>(SchemaSide::request);
  requests["NoticeTestParams"] = json_schema_of<NoticeTestParams>(SchemaSide::request);
  requests["NoticesParams"] = json_schema_of<NoticesParams>(SchemaSide::request);
  requests["OpenedParams"] = json_schema_of<OpenedParams>(SchemaSide::request);
  requests["PieceNewParams"] = json_schema_of<PieceNewParams>(SchemaSide::request);
  requests["PieceParams"] = json_schema_of<PieceParams>(SchemaSide::request);
  requests["PiecesParams"] = json_schema_of<PiecesParams>(SchemaSide::request);
  requests["ReadParams"] = json_schema_of<ReadParams>(SchemaSide::request);
  requests["ReviewParams"] = json_schema_of<ReviewParams>(SchemaSide::request);
  requests["RotatorParams"] = json_schema_of<RotatorParams>(SchemaSide::request);
  requests["SeenParams"] = json_schema_of<SeenParams>(SchemaSide::request);
  requests["SheetParams"] = json_schema_of<SheetParams>(SchemaSide::request);
  requests["StepParams"] = json_schema_of<StepParams>(SchemaSide::request);
  requests["TouchParams"] = json_schema_of<TouchParams>(SchemaSide::request);
  requests["TraceParams"] = json_schema_of<TraceParams>(SchemaSide::request);
  requests["UndoParams"] = json_schema_of<UndoParams>(SchemaSide::request);
  return requests;
}

}  // namespace

int main() {
  auto schemas = answers();
  for (auto& [name, schema] : requests())
    schemas[name] = schema;
  std::cout << boost::json::serialize(schemas) << '\n';
}
