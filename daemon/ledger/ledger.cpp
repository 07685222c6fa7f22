#include "daemon/ledger/ledger.hpp"

#include <stdexcept>

#include <fmt/format.h>
#include <ledger_migrations.hpp>

#include "daemon/ledger/connection.hpp"
#include "daemon/ledger/kinds.hpp"

namespace setwell::ledger {

using quantity::refused;
using quantity::Result;

namespace {

constexpr std::int64_t kLedgerId = 0x53657477;  // "Setw"

std::string_view word(Mode mode) {
  return mode == Mode::live ? "live" : "rehearsal";
}

void mark_mode(Connection& connection, Mode mode) {
  connection.run("INSERT INTO property (name, value) VALUES ('mode', ?)", std::string(word(mode)));
}

quantity::Error of_the_other_mode(const std::filesystem::path& file, Mode mode) {
  if (mode == Mode::live) {
    return refused(
        fmt::format("{} is a rehearsal's ledger: its times are not real. Name another state folder, or "
                    "go on rehearsing with --time-from-readings",
                    file.string()));
  }
  return refused(
      fmt::format("{} is the live workshop's ledger: a rehearsal must not write into it. Name another "
                  "state folder for rehearsing",
                  file.string()));
}

}  // namespace

const FileKind& ledger_kind() {
  static constexpr FileKind kKind{"ledger", kLedgerId, kMigrations};
  return kKind;
}

Mode mode_of(Connection& connection) {
  auto query = connection.query("SELECT value FROM property WHERE name = 'mode'");
  std::string mode;
  if (query.next()) query.into(mode);
  return mode == word(Mode::rehearsal) ? Mode::rehearsal : Mode::live;
}

Transaction::Transaction(Connection& connection) : connection_(&connection) {
  if (connection.in_transaction()) throw std::logic_error("a transaction of this ledger is open already");
  connection.run("BEGIN IMMEDIATE");
}

Transaction::~Transaction() {
  if (!open_) return;
  const auto say = [this](std::string_view what) {
    if (connection_->rollback_log) connection_->rollback_log(what);
  };
  try {
    // After some faults SQLite has rolled back by itself.
    if (connection_->in_transaction()) connection_->run("ROLLBACK");
    say("a change to the ledger was rolled back");
  } catch (const std::exception& thrown) {
    say(fmt::format("a change to the ledger could not be rolled back: {}", thrown.what()));
  }
}

void Transaction::commit() {
  connection_->run("COMMIT");
  open_ = false;
}

Result<Ledger> Ledger::open(const std::filesystem::path& file, Mode mode, RollbackLog log) {
  auto opened = open_database(file, ledger_kind(), Access::read_write,
                              [mode](Connection& connection) { mark_mode(connection, mode); });
  if (!opened) return opened.error();
  auto connection = std::move(*opened);
  try {
    if (mode_of(*connection) != mode) return of_the_other_mode(file, mode);
  } catch (const SQLite::Exception& thrown) {
    return explained(file, ledger_kind().name, thrown);
  }
  connection->rollback_log = std::move(log);
  return Ledger(std::move(connection));
}

Ledger::Ledger(std::unique_ptr<Connection> connection)
    : connection_(std::move(connection)), outbox_(std::make_unique<Outbox>(*connection_)) {}
Ledger::Ledger(Ledger&&) noexcept = default;
Ledger& Ledger::operator=(Ledger&&) noexcept = default;
Ledger::~Ledger() = default;

Mode Ledger::mode() const {
  return mode_of(*connection_);
}
Transaction Ledger::begin() {
  return Transaction(*connection_);
}
Outbox& Ledger::outbox() {
  return *outbox_;
}
const Outbox& Ledger::outbox() const {
  return *outbox_;
}

}  // namespace setwell::ledger
