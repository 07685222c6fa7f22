#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "sensors/decode/decoder.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/quality.hpp"
#include "sensors/quantity/refusal.hpp"

/// What the ledger's rows look like from outside. Texts that are JSON are made and read by the callers.
namespace setwell::ledger {

/// A ledger is for one way of telling the time, and refuses the other for ever.
enum class Mode { live, rehearsal };

struct EntryRow {
  quantity::EntryId id;  ///< not read by `append`
  std::string kind;
  std::string piece;  ///< empty = of no piece
  quantity::Instant said;
  quantity::Instant happened;
  quantity::Span error{0};
  std::string body;  ///< JSON
  friend bool operator==(const EntryRow&, const EntryRow&) = default;
};

/// One version of a sheet's text, immutable.
struct EditionRow {
  quantity::EditionId id;
  quantity::SheetId sheet;
  std::string sha256;
  std::string text;
  quantity::Instant loaded_at;
  friend bool operator==(const EditionRow&, const EditionRow&) = default;
};

/// A channel inside this ledger; the same text has the same number for ever.
using ChannelNumber = quantity::Number<struct ChannelNumberTag>;

struct ChannelRow {
  ChannelNumber number;
  quantity::ChannelId id;
  friend bool operator==(const ChannelRow&, const ChannelRow&) = default;
};

/// What the screening says of a reading; derived, may change when a neighbour arrives.
struct ReadingVerdict {
  std::optional<quantity::Refusal> refusal;
  quantity::Quality quality = quantity::Quality::good;
  bool judged = false;
  friend bool operator==(const ReadingVerdict&, const ReadingVerdict&) = default;
};

/// Names one stored reading of a channel. Readings of one channel are ordered by measured, then received
/// time.
struct ReadingKey {
  quantity::Instant measured;
  quantity::Instant received;
  int nth = 0;  ///< tells apart those that share both times, in order of arrival
  friend auto operator<=>(const ReadingKey&, const ReadingKey&) = default;
};

struct StoredReading {
  ChannelNumber channel;
  int nth = 0;  ///< not read by `put`
  /// Exactly as decoded, so that verdicts can be derived again.
  decode::DecodedValue decoded;
  ReadingVerdict verdict;
  std::int64_t inbox_row = 0;  ///< which message it came from, in the inbox of its time; 0 = none

  [[nodiscard]] ReadingKey key() const { return {decoded.measured, decoded.received, nth}; }
};

/// What clocks need of a reading.
struct TrustedReading {
  quantity::Instant measured;
  double value = 0.0;  ///< °C, % RH, 1 or 0; without calibration
  quantity::Quality quality = quantity::Quality::good;
  friend bool operator==(const TrustedReading&, const TrustedReading&) = default;
};

/// A message, or a value in it, that moved no clock.
struct RefusedRow {
  std::string source;  ///< the channel's id, or the topic where no channel takes it
  std::string topic;
  quantity::Instant received;
  quantity::Refusal reason = quantity::Refusal::unmapped;
  std::string payload;  ///< any bytes, at most decode::kLargestPayload of them
  std::int64_t payload_size = 0;
  friend bool operator==(const RefusedRow&, const RefusedRow&) = default;
};

struct RefusedCount {
  std::string source;
  quantity::Refusal reason = quantity::Refusal::unmapped;
  std::int64_t count = 0;  ///< since the ledger began
  quantity::Instant last;
  friend bool operator==(const RefusedCount&, const RefusedCount&) = default;
};

struct ChannelState {
  std::optional<quantity::Instant> last_message;
  std::optional<quantity::Instant> last_good;
  std::optional<quantity::Instant> last_change;
  std::optional<double> last_value;  ///< of the last good reading, to tell a change by
  std::optional<int> qos;            ///< the lowest seen since the last subscription
  std::optional<double> battery;     ///< as sent
  std::optional<bool> online;        ///< what its availability topic last said
  friend bool operator==(const ChannelState&, const ChannelState&) = default;
};

/// How far the inbox has been taken. A fresh ledger says {0, 0}.
struct InboxMark {
  std::uint64_t generation = 0;
  std::int64_t taken_upto = 0;
  friend bool operator==(const InboxMark&, const InboxMark&) = default;
};

struct Checkpoint {
  quantity::EntryId coat;
  quantity::Instant at;
  int engine_version = 0;
  std::string blob;
  friend bool operator==(const Checkpoint&, const Checkpoint&) = default;
};

struct NoticeStateRow {
  std::string subject;
  std::string kind;
  std::string state;
  quantity::Instant since;
  std::optional<quantity::Instant> last_told;
  std::int64_t generation = 0;
  std::string extra;  ///< JSON, or empty
  friend bool operator==(const NoticeStateRow&, const NoticeStateRow&) = default;
};

struct NoticeRow {
  std::int64_t id = 0;  ///< not read by `append_notice`
  std::string subject;
  std::string kind;
  std::string piece;  ///< empty = of no piece
  std::string title;
  std::string body;
  std::string extra;  ///< JSON, or empty
  std::int64_t generation = 0;
  quantity::Instant created;
  std::optional<quantity::Instant> seen;    ///< the maker said so
  std::optional<quantity::Instant> closed;  ///< what it tells is over, or was withdrawn
  friend bool operator==(const NoticeRow&, const NoticeRow&) = default;
};

/// Bytes on disk.
struct Sizes {
  std::int64_t database = 0;
  std::int64_t unused = 0;  ///< of `database`: pages that hold nothing
  std::int64_t log = 0;     ///< the write-ahead log beside it
  friend bool operator==(const Sizes&, const Sizes&) = default;
};

/// How a checkpoint of the write-ahead log ended.
enum class LogCheckpoint {
  emptied,  ///< the log is empty now
  busy,     ///< somebody reads or writes: try later
};

}  // namespace setwell::ledger
