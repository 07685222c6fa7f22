#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/api/messages/asking.hpp"
#include "daemon/api/messages/dry_run.hpp"
#include "daemon/api/messages/logging.hpp"
#include "daemon/api/messages/review.hpp"
#include "daemon/core/notice.hpp"
#include "daemon/core/silences.hpp"
#include "daemon/core/verdict.hpp"
#include "daemon/ledger/ledger.hpp"
#include "daemon/ledger/outbox.hpp"
#include "daemon/ledger/read_only_ledger.hpp"
#include "daemon/service/bookshelf.hpp"
#include "daemon/service/coat_book.hpp"
#include "daemon/service/entry_book.hpp"
#include "daemon/service/forecast_book.hpp"
#include "daemon/service/sensor_book.hpp"
#include "daemon/settings/settings.hpp"
#include "sensors/decode/raw_message.hpp"
#include "sensors/quantity/error.hpp"

/// The workshop as the daemon knows it, and everything that may be done with it. Daemon, rehearsal, simulated
/// shops and soak call exactly `take_in` and `tick` (and the requests); nothing else decides.
/// Thread: loop only.
namespace setwell::service {

/// What lies outside the workshop's own files but belongs into `status` and into notices.
struct Surroundings {
  bool broker_connected = true;
  bool subscribed = false;
  std::optional<quantity::Instant> broker_away_since;
  std::string broker_advice;              ///< e.g. that another client uses our id; empty when all is well
  std::int64_t waiting_rows = 0;          ///< inbox rows not yet taken
  bool waiting_for_storage = false;       ///< the keeper cannot commit
  std::optional<double> disk_free_share;  ///< of the state folder's file system, 0 … 1
  std::string inbox_remark;               ///< e.g. that another inbox was found; empty when all is well
  std::string ledger_damage;              ///< what an examination found; empty when all is well
  std::string clock_remark;               ///< e.g. that the clock was set back in this run; empty else
};

/// What the silences of a coat's air did to it, as last worked out.
struct SilenceEffect {
  quantity::Instant at{};
  std::vector<core::SilentStretch> stretches;
  api::SilencesNow shown;
};

struct Workshop {
  std::shared_ptr<const settings::Settings> settings;
  std::filesystem::path sheets_folder;  ///< holds sheets/ and schedules/
  ledger::Ledger ledger;
  bool rehearsal = false;

  Bookshelf shelf;
  EntryBook book;
  SensorBook sensors;
  Zones zones;
  LearnedBook learned;
  CoatBook coats;
  ForecastBook forecasts;
  Surroundings around;

  /// The newest moment the rules were run at; in rehearsal, the time it is.
  quantity::Instant told_time{};
  /// The machine's own time at the last call: deliveries are made in it, also in rehearsal.
  quantity::Instant clock_time{};
  /// From when on the zones hold the recorded air.
  quantity::Instant air_since{};
  /// What became true and was told in this run, for the loop to pass on (the pump reads the outbox itself).
  bool outbox_grew = false;
  std::map<quantity::EntryId, SilenceEffect> silence_effects;
  /// A change failed and the ledger could not be read to take it back: memory is not what was stored.
  bool stale = false;
  /// Routes that somebody waits for: tried now, whatever their pause is.
  std::vector<quantity::RouteId> try_now{};
};

/// Opens the ledger and brings everything to where it was. Fails with a sentence for a newer database, the
/// other mode's ledger, entries of a newer program. `now` by the clock; a rehearsal goes on from its own
/// time.
[[nodiscard]] quantity::Result<std::unique_ptr<Workshop>> open_workshop(
    std::shared_ptr<const settings::Settings> settings, const std::filesystem::path& sheets_folder,
    ledger::Ledger ledger, bool rehearsal, quantity::Instant now);

/// The time it is: the clock's, and in rehearsal the newest device time taken.
[[nodiscard]] quantity::Instant time_of(const Workshop& workshop, quantity::Instant clock_now);

/// Messages of one generation of the inbox, in row order.
struct TakeIn {
  std::uint64_t generation = 0;
  std::vector<decode::RawMessage> messages;
  /// The last rows of the previous connection, to tell a true redelivery from a lookalike.
  std::vector<decode::RawMessage> previous_connection;
};

/// Decodes, screens and stores messages, moves the clocks, decides notices, and advances the inbox's mark:
/// all in one transaction. Rows already taken are passed over. In rehearsal, before a message with device
/// time t is taken, every rule runs at each due instant up to t. Answers when to call `tick`.
quantity::Instant take_in(Workshop& workshop, const TakeIn& batch, quantity::Instant now);

/// Carries on unfinished recomputing (a slice of it) and runs every rule at `now`. Answers when to call
/// again.
[[nodiscard]] quantity::Instant tick(Workshop& workshop, quantity::Instant now);

/// Brings memory back to what was stored, if a change that failed left it otherwise. Throws as fault.hpp says
/// while the ledger still cannot be read. Every request that only asks is to be preceded by it.
void make_whole(Workshop& workshop);

/// Reads sheets and schedules again (and takes new settings, if given): all or nothing of the settings.
void reload(Workshop& workshop, std::shared_ptr<const settings::Settings> settings, quantity::Instant now);

template <typename Answer>
using Answered = quantity::Result<Answer>;

/// What reads for long is only planned here: the answer is carried out on the reader's thread, on records
/// opened there, and touches nothing of the workshop's. It may throw as fault.hpp says.
template <typename Answer>
using Planned = Answered<std::function<Answered<Answer>(const ledger::ReadOnlyLedger&)>>;
using OpenRecords = std::function<quantity::Result<ledger::ReadOnlyLedger>()>;

// Requests. Each takes what a person typed, answers or refuses in a sentence, and leaves nothing half done.
[[nodiscard]] Answered<api::LoggedAnswer> piece_new(Workshop&, const api::PieceNewParams&,
                                                    quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> coat(Workshop&, const api::CoatParams&, quantity::Instant now);
/// Logs nothing: what `coat` would do now or at a time ahead, and the best start of the next 48 h.
[[nodiscard]] Answered<api::DryRunAnswer> coat_dry_run(Workshop&, const api::CoatParams&,
                                                       quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> step(Workshop&, const api::StepParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> touch(Workshop&, const api::TouchParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> mixed(Workshop&, const api::MixedParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> opened(Workshop&, const api::OpenedParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> move(Workshop&, const api::MoveParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> rotator(Workshop&, const api::RotatorParams&,
                                                  quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> read(Workshop&, const api::ReadParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> ship(Workshop&, const api::EndParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> scrap(Workshop&, const api::EndParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> amend(Workshop&, const api::AmendParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> undo(Workshop&, const api::UndoParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> defect(Workshop&, const api::DefectParams&, quantity::Instant now);
[[nodiscard]] Answered<api::LoggedAnswer> seen(Workshop&, const api::SeenParams&, quantity::Instant now);

[[nodiscard]] Answered<api::NowAnswer> now_answer(Workshop&, const api::NoParams&, quantity::Instant now);
[[nodiscard]] Answered<api::PieceShowAnswer> piece_show(Workshop&, const api::PieceParams&,
                                                        quantity::Instant now);
[[nodiscard]] Answered<api::PiecesAnswer> pieces(Workshop&, const api::PiecesParams&, quantity::Instant now);
[[nodiscard]] Answered<api::EntriesAnswer> entries(Workshop&, const api::PieceParams&, quantity::Instant now);
[[nodiscard]] Answered<api::BatchesAnswer> batches(Workshop&, const api::NoParams&, quantity::Instant now);
[[nodiscard]] Answered<api::AirAnswer> air(Workshop&, const api::AirParams&, quantity::Instant now);
[[nodiscard]] Answered<api::SensorsAnswer> sensors(Workshop&, const api::NoParams&, quantity::Instant now);
[[nodiscard]] Answered<api::NoticesAnswer> notices(Workshop&, const api::NoticesParams&,
                                                   quantity::Instant now);
/// Puts a test message into the outbox, or tells what became of one.
[[nodiscard]] Answered<api::NoticeTestAnswer> notice_test(Workshop&, const api::NoticeTestParams&,
                                                          quantity::Instant now);
[[nodiscard]] Answered<api::SheetsAnswer> sheets(Workshop&, const api::NoParams&, quantity::Instant now);
[[nodiscard]] Answered<api::SheetShowAnswer> sheet_show(Workshop&, const api::SheetParams&,
                                                        quantity::Instant now);
[[nodiscard]] Answered<api::SchedulesAnswer> schedules(Workshop&, const api::NoParams&,
                                                       quantity::Instant now);
[[nodiscard]] Planned<api::HistoryAnswer> history(Workshop&, const api::HistoryParams&,
                                                  quantity::Instant now);
[[nodiscard]] Answered<api::ReviewAnswer> review(Workshop&, const api::ReviewParams&, quantity::Instant now);
[[nodiscard]] Answered<api::TraceAnswer> trace(Workshop&, const api::TraceParams&, quantity::Instant now);
[[nodiscard]] Answered<api::ExportAnswer> export_page(Workshop&, const api::ExportParams&,
                                                      quantity::Instant now);
[[nodiscard]] Planned<api::BackupAnswer> backup(Workshop&, const api::BackupParams&, quantity::Instant now);
[[nodiscard]] Answered<api::StatusAnswer> status(Workshop&, const api::NoParams&, quantity::Instant now);

}  // namespace setwell::service
