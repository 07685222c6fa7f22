#include "daemon/ledger/inbox.hpp"

#include <algorithm>
#include <array>
#include <random>
#include <thread>

#include <fcntl.h>
#include <unistd.h>

#include "daemon/ledger/kinds.hpp"
#include "daemon/ledger/ledger.hpp"
#include "sensors/decode/device_time.hpp"

namespace setwell::ledger {

using decode::RawMessage;
using quantity::Instant;
using quantity::Result;
using std::chrono::milliseconds;

namespace {

constexpr std::int64_t kInboxId = 0x5365696e;  // "Sein"
constexpr int kPrunedAtOnce = 50;
constexpr std::chrono::minutes kBetweenPrunings{1};
constexpr milliseconds kFirstPause{10};
constexpr milliseconds kLongestPause{5000};
/// So many of the newest rows stay whatever their age: a redelivery is told by them.
constexpr int kNeverPruned = 20;
/// The reserve is set aside again when this many times its size is free.
constexpr std::uintmax_t kRoomForReserve = 4;

/// Rows of one connection come in one run, so its first row finds them.
constexpr std::array<std::string_view, 1> kInboxMigrations{R"sql(
CREATE TABLE property (
  name TEXT PRIMARY KEY,
  value INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE connection (
  number INTEGER PRIMARY KEY,
  first_row INTEGER NOT NULL
) STRICT;
CREATE TABLE message (
  row INTEGER PRIMARY KEY AUTOINCREMENT,
  received_ms INTEGER NOT NULL,
  connection INTEGER NOT NULL,
  since_connected_ms INTEGER NOT NULL,
  session_resumed INTEGER NOT NULL,
  qos INTEGER NOT NULL,
  retained INTEGER NOT NULL,
  duplicate INTEGER NOT NULL,
  payload_size INTEGER NOT NULL,
  topic TEXT NOT NULL,
  payload BLOB NOT NULL
) STRICT;
)sql"};

std::int64_t random_generation() {
  std::random_device source;
  const std::uint64_t high = source();
  return static_cast<std::int64_t>(high << 32 | source());
}

void make_inbox(Connection& connection) {
  connection.run("INSERT INTO property (name, value) VALUES ('generation', ?)", random_generation());
}

std::int64_t one_number(Connection& connection, std::string_view sql) {
  auto query = connection.query(sql);
  std::int64_t number = 0;
  if (query.next()) query.into(number);
  return number;
}

/// Room that is set aside for the day the disk is full.
class Reserve {
 public:
  Reserve(std::filesystem::path file, std::int64_t bytes) : file_(std::move(file)), bytes_(bytes) {}

  void set_aside() noexcept {
    std::error_code error;
    if (bytes_ <= 0 || std::filesystem::exists(file_, error)) return;
    const int descriptor = ::open(file_.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
    if (descriptor < 0) return;
    const bool there = ::posix_fallocate(descriptor, 0, bytes_) == 0;
    ::close(descriptor);
    if (!there) ::unlink(file_.c_str());
  }
  void set_aside_if_roomy() noexcept {
    std::error_code error;
    if (bytes_ <= 0 || std::filesystem::exists(file_, error)) return;
    const auto space = std::filesystem::space(file_.parent_path(), error);
    if (!error && space.available >= kRoomForReserve * static_cast<std::uintmax_t>(bytes_)) set_aside();
  }
  void let_go() noexcept { ::unlink(file_.c_str()); }

 private:
  std::filesystem::path file_;
  std::int64_t bytes_;
};

Reserve reserve_beside(const std::filesystem::path& file, std::int64_t bytes) {
  auto path = std::filesystem::absolute(file);
  path += ".reserve";
  return {path, bytes};
}

}  // namespace

const FileKind& inbox_kind() {
  static constexpr FileKind kKind{"inbox", kInboxId, kInboxMigrations};
  return kKind;
}

struct Inbox::Store {
  std::unique_ptr<Connection> connection;
  Reserve reserve;
  std::int64_t connection_written = -1;  ///< the connection number whose first row is stored

  void write(const RawMessage& message, const std::string& payload) {
    Transaction transaction(*connection);
    connection->run(
        "INSERT INTO message (received_ms, connection, since_connected_ms, session_resumed, qos, retained, "
        "duplicate, payload_size, topic, payload) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        message.received, message.connection, message.since_connected, message.session_resumed, message.qos,
        message.retained, message.duplicate, static_cast<std::int64_t>(message.payload_size), message.topic,
        Blob{payload});
    if (message.connection != connection_written) {
      connection->run("INSERT OR IGNORE INTO connection (number, first_row) VALUES (?, ?)",
                      message.connection, connection->last_row());
    }
    transaction.commit();
    connection_written = message.connection;
  }

  /// What stands in the way of storing it; none when it is stored.
  StorageFault try_write(const RawMessage& message) noexcept {
    try {
      if (message.payload.size() <= decode::kLargestPayload) {
        write(message, message.payload);
      } else {
        write(message, message.payload.substr(0, decode::kLargestPayload));
      }
      return StorageFault::none;
    } catch (const std::exception& thrown) {
      const auto fault = storage_fault(thrown);
      return fault == StorageFault::none ? StorageFault::other : fault;
    }
  }

  /// Rows from a time yet to come were stamped by a clock that was wrong; they must not stay for ever.
  void prune(Instant now, quantity::Span keep_for, std::int64_t taken_upto) noexcept {
    if (now < decode::kFirstBelievableTime) return;
    try {
      connection->run(
          "DELETE FROM message WHERE row IN (SELECT row FROM message WHERE row <= ?1 AND row <= (SELECT "
          "max(row) "
          "FROM message) - ?2 ORDER BY row LIMIT ?3) AND (received_ms < ?4 OR received_ms > ?5)",
          taken_upto, kNeverPruned, kPrunedAtOnce, now - keep_for, now + keep_for);
      reserve.set_aside_if_roomy();
    } catch (const std::exception&) {
      // It is tried again in a minute; what it would forget does no harm meanwhile.
      return;
    }
  }
};

Result<std::unique_ptr<Inbox>> Inbox::open(const std::filesystem::path& file, InboxOptions options) {
  auto opened = open_database(file, inbox_kind(), Access::read_write, make_inbox);
  if (!opened) return opened.error();
  if (!options.sleep) options.sleep = [](milliseconds pause) { std::this_thread::sleep_for(pause); };
  try {
    auto store =
        std::make_unique<Store>(Store{std::move(*opened), reserve_beside(file, options.reserve_bytes), -1});
    store->reserve.set_aside();
    return std::unique_ptr<Inbox>(new Inbox(std::move(store), std::move(options)));
  } catch (const SQLite::Exception& thrown) {
    return explained(file, inbox_kind().name, thrown);
  }
}

Inbox::Inbox(std::unique_ptr<Store> store, InboxOptions options)
    : store_(std::move(store)), options_(std::move(options)) {
  auto& connection = *store_->connection;
  generation_ = static_cast<std::uint64_t>(
      one_number(connection, "SELECT value FROM property WHERE name = 'generation'"));
  last_connection_ = one_number(connection, "SELECT coalesce(max(number), 0) FROM connection");
}

Inbox::~Inbox() = default;

void Inbox::keep(const RawMessage& message) noexcept {
  auto pause = kFirstPause;
  for (;;) {
    const auto fault = store_->try_write(message);
    if (fault == StorageFault::none) break;
    fault_.store(fault);
    if (fault == StorageFault::full) store_->reserve.let_go();
    options_.sleep(pause);
    pause = std::min(2 * pause, kLongestPause);
  }
  fault_.store(StorageFault::none);
  kept_.fetch_add(1);
  if (options_.wake != nullptr) options_.wake->ring();
  prune_after(message);
}

void Inbox::prune_after(const RawMessage& message) noexcept {
  // The receive clock may have been set back meanwhile: then, too, a minute is over.
  const auto since = message.received - pruned_;
  if (since >= quantity::Span(0) && since < kBetweenPrunings) return;
  pruned_ = message.received;
  store_->prune(message.received, options_.keep_for, taken_upto_.load());
}

}  // namespace setwell::ledger
