#pragma once

#include <atomic>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include <SQLiteCpp/SQLiteCpp.h>

#include "daemon/ledger/fault.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"

/// Inside the ledger only: one SQLite connection, with its statements prepared once.
namespace setwell::ledger {

[[nodiscard]] StorageFault fault_of_code(int code);

/// Text that is to be bound as bytes.
struct Blob {
  const std::string& bytes;
};

inline void bind(SQLite::Statement& to, int at, std::int64_t value) {
  to.bind(at, value);
}
inline void bind(SQLite::Statement& to, int at, int value) {
  to.bind(at, value);
}
inline void bind(SQLite::Statement& to, int at, double value) {
  to.bind(at, value);
}
inline void bind(SQLite::Statement& to, int at, bool value) {
  to.bind(at, value ? 1 : 0);
}
inline void bind(SQLite::Statement& to, int at, const std::string& value) {
  to.bind(at, value);
}
inline void bind(SQLite::Statement& to, int at, const char* value) {
  to.bind(at, value);
}
inline void bind(SQLite::Statement& to, int at, const Blob& value) {
  to.bind(at, value.bytes.data(), static_cast<int>(value.bytes.size()));
}
inline void bind(SQLite::Statement& to, int at, quantity::Instant value) {
  to.bind(at, quantity::to_ms(value));
}
inline void bind(SQLite::Statement& to, int at, quantity::Span value) {
  to.bind(at, static_cast<std::int64_t>(value.count()));
}
template <typename Kind>
void bind(SQLite::Statement& to, int at, quantity::Number<Kind> value) {
  to.bind(at, value.value());
}
template <typename Kind>
void bind(SQLite::Statement& to, int at, const quantity::Name<Kind>& value) {
  to.bind(at, value.text());
}
template <typename T>
void bind(SQLite::Statement& to, int at, const std::optional<T>& value) {
  if (value) {
    bind(to, at, *value);
  } else {
    to.bind(at);
  }
}

inline void fetch(const SQLite::Column& from, std::int64_t& value) {
  value = from.getInt64();
}
inline void fetch(const SQLite::Column& from, int& value) {
  value = from.getInt();
}
inline void fetch(const SQLite::Column& from, double& value) {
  value = from.getDouble();
}
inline void fetch(const SQLite::Column& from, bool& value) {
  value = from.getInt() != 0;
}
inline void fetch(const SQLite::Column& from, std::string& value) {
  value = from.getString();
}
inline void fetch(const SQLite::Column& from, quantity::Instant& value) {
  value = quantity::instant_from_ms(from.getInt64());
}
inline void fetch(const SQLite::Column& from, quantity::Span& value) {
  value = quantity::Span(from.getInt64());
}
template <typename Kind>
void fetch(const SQLite::Column& from, quantity::Number<Kind>& value) {
  value = quantity::Number<Kind>(from.getInt64());
}
template <typename Kind>
void fetch(const SQLite::Column& from, quantity::Name<Kind>& value) {
  value = quantity::Name<Kind>(from.getString());
}
template <typename T>
void fetch(const SQLite::Column& from, std::optional<T>& value) {
  value.reset();
  if (!from.isNull()) fetch(from, value.emplace());
}

/// A prepared statement in use; given back, reset, at the end of the scope: an open one would hold a read
/// transaction and keep the log from being emptied.
class Query {
 public:
  explicit Query(SQLite::Statement& statement) : statement_(&statement) {}
  Query(const Query&) = delete;
  Query& operator=(const Query&) = delete;
  ~Query() {
    statement_->tryReset();
    statement_->clearBindings();
  }

  /// The next row, if there is one.
  [[nodiscard]] bool next() { return statement_->executeStep(); }
  /// Reads the row's columns, in order.
  template <typename... T>
  void into(T&... values) const {
    int column = 0;
    (fetch(statement_->getColumn(column++), values), ...);
  }

 private:
  SQLite::Statement* statement_;
};

class Connection {
 public:
  /// `flags` are SQLite's. Throws SQLite::Exception where the file cannot be opened.
  Connection(const std::filesystem::path& file, int flags);

  /// A statement with its parameters bound. `sql` must be a literal: it names the prepared statement. The
  /// same text must not be in use already.
  template <typename... T>
  [[nodiscard]] Query query(std::string_view sql, const T&... values) {
    auto& statement = prepared(sql);
    int at = 1;
    (bind(statement, at++, values), ...);
    return Query(statement);
  }
  /// Runs a statement that answers no rows; how many it changed.
  template <typename... T>
  int run(std::string_view sql, const T&... values) {
    auto& statement = prepared(sql);
    int at = 1;
    (bind(statement, at++, values), ...);
    const Query given_back(statement);
    return statement.exec();
  }
  /// Several statements without parameters, not kept.
  void script(const std::string& sql) { database_.exec(sql); }
  /// One number, as most pragmas answer. Not kept.
  [[nodiscard]] std::int64_t number(const std::string& sql);
  [[nodiscard]] std::int64_t last_row() const { return database_.getLastInsertRowid(); }
  [[nodiscard]] bool in_transaction() const;

  [[nodiscard]] const std::filesystem::path& file() const { return file_; }
  /// Of the file, beside which its log lies; nothing of an unkept one.
  [[nodiscard]] SQLite::Database& database() { return database_; }

  std::function<void(std::string_view)> rollback_log;

 private:
  SQLite::Statement& prepared(std::string_view sql);

  std::filesystem::path file_;
  SQLite::Database database_;
  std::map<std::string_view, SQLite::Statement> statements_;
};

/// What runs on the connection ends with an exception soon after `flag` is set. It must outlive the
/// connection.
void give_up_when(SQLite::Database& database, const std::atomic<bool>& flag);

/// Does `work` in a transaction: the one that is open, or its own.
void in_one_change(Connection& connection, const std::function<void()>& work);

}  // namespace setwell::ledger
