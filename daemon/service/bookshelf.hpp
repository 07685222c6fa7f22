#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "daemon/core/coat_run.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/schedule.hpp"
#include "daemon/ledger/ledger.hpp"
#include "daemon/sheets/tops.hpp"
#include "sensors/quantity/error.hpp"

/// The sheets and schedules of the workshop, and every edition a coat was made under.
namespace setwell::service {

/// One sheet as it stands: the edition in force, and what is wrong with its file now, if anything.
struct ShelvedSheet {
  std::shared_ptr<const core::Material> material;  ///< the last good edition; null if there never was one
  quantity::EditionId edition;
  std::vector<std::string> faults;
  std::vector<std::string> warnings;
};

/// Thread: loop only.
class Bookshelf {
 public:
  /// Reads `sheets/*.toml` and `schedules/*.toml` under `folder`; stores new editions in the ledger. A bad
  /// file leaves the last good edition in force and is listed with its faults. Must be called inside a
  /// transaction.
  void load(const std::filesystem::path& folder, ledger::Ledger& ledger, quantity::Instant now);

  [[nodiscard]] const std::map<quantity::SheetId, ShelvedSheet>& sheets() const { return sheets_; }
  [[nodiscard]] const std::map<quantity::ScheduleId, core::Schedule>& schedules() const { return schedules_; }
  /// Faults of files that gave no sheet or schedule at all, each with its file and line.
  [[nodiscard]] const std::vector<std::string>& homeless_faults() const { return homeless_faults_; }

  /// The sheet a person names: its id or a unique prefix of it. `not_found` lists what there is.
  [[nodiscard]] quantity::Result<const ShelvedSheet*> find(const std::string& text) const;
  [[nodiscard]] const core::Schedule* schedule(const quantity::ScheduleId& id) const;
  /// The material as that edition states it; null when the stored text cannot be read any more.
  [[nodiscard]] std::shared_ptr<const core::Material> edition(quantity::EditionId id, ledger::Ledger& ledger);

  /// Gives coats of that sheet other priors than the built-in ones: for simulated shops, whose sheets the
  /// priors must not have seen. Call it before the sheet's first coat is logged.
  void use_priors(const quantity::SheetId& sheet, std::shared_ptr<const core::PriorBook> book);
  /// Null where the built-in ones hold.
  [[nodiscard]] std::shared_ptr<const core::PriorBook> priors_of(const quantity::SheetId& sheet) const;

 private:
  void load_sheet(const std::filesystem::path& file, const sheets::KnownSheets& known, ledger::Ledger& ledger,
                  quantity::Instant now);
  void load_schedule(const std::filesystem::path& file);

  std::map<quantity::SheetId, ShelvedSheet> sheets_;
  std::map<quantity::ScheduleId, core::Schedule> schedules_;
  std::map<quantity::EditionId, std::shared_ptr<const core::Material>> editions_;
  std::map<quantity::SheetId, std::shared_ptr<const core::PriorBook>> priors_;
  std::vector<std::string> homeless_faults_;
};

}  // namespace setwell::service
