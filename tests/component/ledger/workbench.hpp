#pragma once

#include <filesystem>
#include <stdexcept>
#include <string>

#include <sqlite3.h>

#include "daemon/ledger/inbox.hpp"
#include "daemon/ledger/ledger.hpp"
#include "tests/support/temp_dir.hpp"

/// What the ledger's tests build with.
namespace setwell::ledger_test {

using quantity::Instant;
using test_support::TempDir;

inline Instant at(std::int64_t seconds) {
  return quantity::instant_from_ms(1'930'000'000'000) + std::chrono::seconds(seconds);
}

inline ledger::Ledger open_ledger(const std::filesystem::path& file = ":memory:") {
  auto opened = ledger::Ledger::open(file, ledger::Mode::live);
  if (!opened) throw std::runtime_error(opened.error().detail);
  return std::move(*opened);
}

inline std::unique_ptr<ledger::Inbox> open_inbox(const std::filesystem::path& file,
                                                 ledger::InboxOptions options = {}) {
  auto opened = ledger::Inbox::open(file, std::move(options));
  if (!opened) throw std::runtime_error(opened.error().detail);
  return std::move(*opened);
}

inline ledger::InboxReader open_reader(const std::filesystem::path& file) {
  auto opened = ledger::InboxReader::open(file);
  if (!opened) throw std::runtime_error(opened.error().detail);
  return std::move(*opened);
}

inline decode::RawMessage message(const std::string& payload, Instant received = at(0)) {
  decode::RawMessage made;
  made.topic = "bench/air";
  made.payload = payload;
  made.payload_size = payload.size();
  made.received = received;
  made.connection = 1;
  return made;
}

/// A stranger to the ledger's own code, for doing to a file what others might.
class Outsider {
 public:
  explicit Outsider(const std::filesystem::path& file) {
    if (sqlite3_open(file.c_str(), &database_) != SQLITE_OK) throw std::runtime_error("cannot open the file");
  }
  ~Outsider() { sqlite3_close(database_); }
  Outsider(const Outsider&) = delete;
  Outsider& operator=(const Outsider&) = delete;

  void run(const std::string& sql) {
    char* message = nullptr;
    if (sqlite3_exec(database_, sql.c_str(), nullptr, nullptr, &message) == SQLITE_OK) return;
    const std::string why = message != nullptr ? message : "refused";
    sqlite3_free(message);
    throw std::runtime_error(why);
  }
  std::string answer(const std::string& sql) {
    std::string text;
    const auto take = [](void* to, int columns, char** values, char**) {
      if (columns > 0 && values[0] != nullptr) *static_cast<std::string*>(to) = values[0];
      return 0;
    };
    if (sqlite3_exec(database_, sql.c_str(), take, &text, nullptr) != SQLITE_OK)
      throw std::runtime_error(sqlite3_errmsg(database_));
    return text;
  }

 private:
  sqlite3* database_ = nullptr;
};

}  // namespace setwell::ledger_test
