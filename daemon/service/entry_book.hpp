#pragma once

#include <set>
#include <vector>

#include "daemon/core/entry.hpp"
#include "daemon/core/fold.hpp"
#include "daemon/ledger/ledger.hpp"
#include "sensors/quantity/error.hpp"

namespace setwell::service {

/// Every entry, and what they say together. Thread: loop only.
class EntryBook {
 public:
  /// Reads all entries of the ledger. Fails with `invalid` on an entry this program cannot read: then the
  /// program is older than the ledger, and must not go on.
  [[nodiscard]] quantity::Result<void> load(const ledger::Ledger& ledger);

  /// Appends, inside the caller's transaction; the entry's id is set. `workbook` is folded anew.
  quantity::EntryId add(ledger::Ledger& ledger, core::Entry entry);
  /// Several at once, folded once.
  std::vector<quantity::EntryId> add(ledger::Ledger& ledger, std::vector<core::Entry> entries);

  /// What the entries would say with these added; nothing is stored.
  [[nodiscard]] core::Workbook with(const std::vector<core::Entry>& more) const;

  [[nodiscard]] const core::Workbook& workbook() const { return workbook_; }
  [[nodiscard]] const std::vector<core::Entry>& entries() const { return entries_; }
  [[nodiscard]] const core::Entry* entry(quantity::EntryId id) const;
  [[nodiscard]] bool struck(quantity::EntryId id) const { return struck_.contains(id); }

 private:
  void refold();
  std::vector<core::Entry> entries_;
  std::set<quantity::EntryId> struck_;
  core::Workbook workbook_;
};

}  // namespace setwell::service
