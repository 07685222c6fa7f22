#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/ledger/fault.hpp"
#include "daemon/ledger/outbox.hpp"
#include "daemon/ledger/rows.hpp"
#include "sensors/quantity/error.hpp"

namespace setwell::ledger {

/// Told of every transaction that was rolled back, and why where that is known.
using RollbackLog = std::function<void(std::string_view)>;

/// One writing transaction (BEGIN IMMEDIATE). Everything done to its ledger until `commit` is one change.
/// Must not outlive the ledger; one at a time.
class Transaction {
 public:
  explicit Transaction(Connection& connection);
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  /// Rolls back and tells the log, unless committed.
  ~Transaction();

  /// On disk when this returns. Throws as `fault.hpp` says; then nothing of it was stored.
  void commit();

 private:
  Connection* connection_;
  bool open_ = true;
};

/// What the workshop knows: entries, editions, readings and what follows from them. Writes outside a
/// Transaction are each one of their own. Thread: loop only. Any function may throw as `fault.hpp` says.
class Ledger {
 public:
  /// Opens or makes the file; its folder must exist. `:memory:` is a ledger that nobody keeps. Fails with a
  /// sentence that says what to do: `invalid` for a file that is no ledger, is damaged, or was written by a
  /// newer program; `refused` for one of the other mode; `not_found` where it cannot be opened or made.
  /// Brings an older ledger to this program's version.
  [[nodiscard]] static quantity::Result<Ledger> open(const std::filesystem::path& file, Mode mode,
                                                     RollbackLog log = {});
  Ledger(Ledger&&) noexcept;
  Ledger& operator=(Ledger&&) noexcept;
  ~Ledger();

  [[nodiscard]] Mode mode() const;
  /// Throws std::logic_error when one is open already.
  [[nodiscard]] Transaction begin();

  // Entries: appended, never changed.
  quantity::EntryId append(const EntryRow& row);
  [[nodiscard]] std::vector<EntryRow> entries() const;
  [[nodiscard]] std::vector<EntryRow> entries_after(quantity::EntryId id) const;

  // Editions. `edition_of` answers the stored one where the sheet has one of that fingerprint.
  quantity::EditionId edition_of(const quantity::SheetId& sheet, const std::string& sha256,
                                 const std::string& text, quantity::Instant loaded_at);
  [[nodiscard]] std::optional<EditionRow> edition(quantity::EditionId id) const;
  /// The one that was loaded last; of two loaded at once the later stored.
  [[nodiscard]] std::optional<EditionRow> newest_edition(const quantity::SheetId& sheet) const;
  [[nodiscard]] std::vector<EditionRow> editions() const;

  // Channels and their readings.
  /// The channel's number, given now if it had none.
  ChannelNumber channel_number(const quantity::ChannelId& id);
  [[nodiscard]] std::vector<ChannelRow> channels() const;

  enum class Put { stored, already_there };
  struct PutReading {
    Put outcome = Put::stored;
    ReadingKey key;  ///< of the stored one, or of the one already there
  };
  /// Stores a reading with its verdict. `already_there` where the same value came in at the same moment by
  /// the same topic; that one is left as it is.
  PutReading put(const StoredReading& reading);
  /// Answers whether there is such a reading.
  bool set_verdict(ChannelNumber channel, const ReadingKey& key, const ReadingVerdict& verdict);
  /// Measured in [from, to), by measured, then received time.
  [[nodiscard]] std::vector<StoredReading> readings(ChannelNumber channel, quantity::Instant from,
                                                    quantity::Instant to) const;
  /// The same for long spans: a day at a time is read before it is visited, so the visitor may use the ledger
  /// and no read transaction lasts. Stops when the visitor answers false.
  using ReadingVisitor = std::function<bool(const StoredReading&)>;
  void visit_readings(ChannelNumber channel, quantity::Instant from, quantity::Instant to,
                      const ReadingVisitor& visitor) const;
  /// In order: the last `before` measured ahead of `at`, all measured at `at`, the first `after` behind it.
  [[nodiscard]] std::vector<StoredReading> neighbours(ChannelNumber channel, quantity::Instant at, int before,
                                                      int after) const;
  /// By measured time.
  [[nodiscard]] std::optional<StoredReading> newest(ChannelNumber channel) const;
  /// Judged, not refused, good or clamped; measured in [from, to).
  [[nodiscard]] std::vector<TrustedReading> trusted(ChannelNumber channel, quantity::Instant from,
                                                    quantity::Instant to) const;
  /// Walks the channel's rows.
  [[nodiscard]] std::int64_t reading_count(ChannelNumber channel) const;
  static constexpr int kRowsAtOnce = 500;
  /// Deletes readings measured before `before`, at most `most` of them. Answers how many.
  int delete_readings_before(quantity::Instant before, int most = kRowsAtOnce);
  /// Deletes readings measured after `at`, which a clock that was ahead has stamped: nobody knows when they
  /// were. Their messages stay in the inbox as long as any. Answers how many.
  int delete_readings_after(quantity::Instant at);

  // Refused messages: counted for ever, the last kRefusedKept of each source kept raw.
  static constexpr int kRefusedKept = 1000;
  void put_refused(const RefusedRow& row);
  /// By source and reason.
  [[nodiscard]] std::vector<RefusedCount> refused_counts() const;
  /// The newest first.
  [[nodiscard]] std::vector<RefusedRow> refused(const std::string& source, int limit) const;

  [[nodiscard]] ChannelState channel_state(ChannelNumber channel) const;
  void set_channel_state(ChannelNumber channel, const ChannelState& state);

  [[nodiscard]] InboxMark inbox_mark() const;
  void set_inbox_mark(const InboxMark& mark);

  // Checkpoints of a coat's clocks: a cache. The coat must be a stored entry.
  void save_checkpoint(quantity::EntryId coat, quantity::Instant at, int engine_version,
                       const std::string& blob);
  [[nodiscard]] std::optional<Checkpoint> checkpoint_at_or_before(quantity::EntryId coat,
                                                                  quantity::Instant at,
                                                                  int engine_version) const;
  /// Those later than `at`, of every engine.
  void drop_checkpoints_after(quantity::EntryId coat, quantity::Instant at);
  void drop_checkpoints(quantity::EntryId coat);

  // What a zone's forecast has learned: a cache.
  void set_forecast_state(const quantity::ZoneId& zone, quantity::Instant at, const std::string& state);
  [[nodiscard]] std::optional<std::string> forecast_state(const quantity::ZoneId& zone) const;

  // Notices.
  [[nodiscard]] std::optional<NoticeStateRow> notice_state(const std::string& subject,
                                                           const std::string& kind) const;
  void put_notice_state(const NoticeStateRow& row);
  [[nodiscard]] std::vector<NoticeStateRow> notice_states() const;
  std::int64_t append_notice(const NoticeRow& row);
  [[nodiscard]] std::optional<NoticeRow> notice(std::int64_t id) const;
  /// The newest first.
  [[nodiscard]] std::vector<NoticeRow> notices(int limit) const;
  /// Neither seen nor closed, the oldest first.
  [[nodiscard]] std::vector<NoticeRow> open_notices() const;
  /// Answers whether it was there and unseen.
  bool mark_seen(std::int64_t id, quantity::Instant at);
  /// Closes every open notice of a subject and kind.
  void close_notices(const std::string& subject, const std::string& kind, quantity::Instant at);

  [[nodiscard]] Outbox& outbox();
  [[nodiscard]] const Outbox& outbox() const;

  // Small things under a name.
  [[nodiscard]] std::optional<std::string> memo(const std::string& key) const;
  void set_memo(const std::string& key, const std::string& value);

  // Upkeep. None of these may be called inside a transaction.
  /// `invalid` with what was found.
  [[nodiscard]] quantity::Result<void> quick_check() const;
  /// Empties the write-ahead log if nobody is in the way; never waits for anybody.
  LogCheckpoint checkpoint_wal();
  /// Gives at most `pages` unused pages back to the file system.
  void give_back(int pages);
  [[nodiscard]] Sizes sizes() const;

 private:
  explicit Ledger(std::unique_ptr<Connection> connection);
  std::unique_ptr<Connection> connection_;
  std::unique_ptr<Outbox> outbox_;
};

}  // namespace setwell::ledger
