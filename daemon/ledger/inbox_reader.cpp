#include <algorithm>

#include "daemon/ledger/inbox.hpp"
#include "daemon/ledger/kinds.hpp"

namespace setwell::ledger {

using decode::RawMessage;
using quantity::Result;

struct InboxReader::View {
  std::unique_ptr<Connection> connection;
};

namespace {

#define SETWELL_MESSAGE_COLUMNS                                                                          \
  "SELECT row, received_ms, connection, since_connected_ms, session_resumed, qos, retained, duplicate, " \
  "payload_size, topic, payload FROM message "

std::vector<RawMessage> messages_in(Query& query) {
  std::vector<RawMessage> rows;
  while (query.next()) {
    auto& row = rows.emplace_back();
    std::int64_t size = 0;
    query.into(row.row, row.received, row.connection, row.since_connected, row.session_resumed, row.qos,
               row.retained, row.duplicate, size, row.topic, row.payload);
    row.payload_size = static_cast<std::size_t>(size);
  }
  return rows;
}

std::int64_t number_in(Query& query) {
  std::int64_t number = 0;
  if (query.next()) query.into(number);
  return number;
}

}  // namespace

Result<InboxReader> InboxReader::open(const std::filesystem::path& file) {
  auto opened = open_database(file, inbox_kind(), Access::read_only);
  if (!opened) return opened.error();
  return InboxReader(std::make_unique<View>(View{std::move(*opened)}));
}

InboxReader::InboxReader(std::unique_ptr<View> view) : view_(std::move(view)) {}
InboxReader::InboxReader(InboxReader&&) noexcept = default;
InboxReader& InboxReader::operator=(InboxReader&&) noexcept = default;
InboxReader::~InboxReader() = default;

std::uint64_t InboxReader::generation() const {
  auto query = view_->connection->query("SELECT value FROM property WHERE name = 'generation'");
  return static_cast<std::uint64_t>(number_in(query));
}

std::vector<RawMessage> InboxReader::read(std::int64_t after_row, int limit) const {
  auto query = view_->connection->query(SETWELL_MESSAGE_COLUMNS "WHERE row > ? ORDER BY row LIMIT ?",
                                        after_row, limit);
  return messages_in(query);
}

std::vector<RawMessage> InboxReader::previous_connection_tail(std::int64_t connection, int limit) const {
  // Its rows lie between its own first row and the first row of the connection behind it, if there is one.
  auto query = view_->connection->query(
      SETWELL_MESSAGE_COLUMNS
      "WHERE row >= (SELECT first_row FROM connection WHERE number < ?1 ORDER BY number DESC LIMIT 1) "
      "AND row < coalesce((SELECT min(first_row) FROM connection WHERE number >= ?1), 9223372036854775807) "
      "ORDER BY row DESC LIMIT ?2",
      connection, limit);
  auto rows = messages_in(query);
  std::reverse(rows.begin(), rows.end());
  return rows;
}

std::int64_t InboxReader::newest_row() const {
  auto query = view_->connection->query("SELECT coalesce(max(row), 0) FROM message");
  return number_in(query);
}

}  // namespace setwell::ledger
