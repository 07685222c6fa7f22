#include "daemon/service/entry_book.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/api/entry_codec.hpp"

namespace setwell::service {
namespace {

ledger::EntryRow row_of(const core::Entry& entry) {
  return {entry.id,
          std::string(core::kind_word(entry.body)),
          entry.piece.text(),
          entry.said,
          entry.happened,
          entry.error,
          api::body_to_text(entry.body)};
}

}  // namespace

quantity::Result<void> EntryBook::load(const ledger::Ledger& ledger) {
  entries_.clear();
  for (const auto& row : ledger.entries()) {
    auto body = api::body_from_text(row.kind, row.body);
    if (!body) {
      return quantity::invalid(
          fmt::format("entry {} of the ledger: {}; a newer setwelld wrote it: install that", row.id.value(),
                      body.error().detail));
    }
    entries_.push_back(
        {row.id, quantity::PieceId(row.piece), row.said, row.happened, row.error, std::move(*body)});
  }
  refold();
  return {};
}

quantity::EntryId EntryBook::add(ledger::Ledger& ledger, core::Entry entry) {
  return add(ledger, std::vector<core::Entry>{std::move(entry)}).front();
}

std::vector<quantity::EntryId> EntryBook::add(ledger::Ledger& ledger, std::vector<core::Entry> entries) {
  std::vector<quantity::EntryId> ids;
  for (auto& entry : entries) {
    entry.id = ledger.append(row_of(entry));
    ids.push_back(entry.id);
    entries_.push_back(std::move(entry));
  }
  refold();
  return ids;
}

core::Workbook EntryBook::with(const std::vector<core::Entry>& more) const {
  auto all = entries_;
  std::int64_t next = all.empty() ? 1 : all.back().id.value() + 1;
  for (auto entry : more) {
    entry.id = quantity::EntryId(next++);
    all.push_back(std::move(entry));
  }
  return core::fold(all);
}

const core::Entry* EntryBook::entry(quantity::EntryId id) const {
  const auto found = std::find_if(entries_.begin(), entries_.end(),
                                  [&](const core::Entry& entry) { return entry.id == id; });
  return found == entries_.end() ? nullptr : &*found;
}

void EntryBook::refold() {
  workbook_ = core::fold(entries_);
  struck_ = core::struck_ids(entries_);
}

}  // namespace setwell::service
