#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/core/air_history.hpp"
#include "daemon/core/coat_run.hpp"
#include "daemon/core/fold.hpp"
#include "daemon/core/material.hpp"
#include "daemon/core/show.hpp"

/// All that a review looks at: the records of a workshop, or of an account written down in a file.
namespace setwell::core {

struct CaseForm {
  std::optional<quantity::SquareCentimetres> area;
  std::optional<quantity::Minutes> lag;
};

/// A value; whoever builds it (the service from the ledger, daemon/cases from a file) leaves out what is not
/// known.
struct CaseFile {
  std::string title;
  Workbook workbook;
  /// By edition; a coat whose edition is not here is reviewed without a sheet.
  std::map<quantity::EditionId, std::shared_ptr<const Material>> materials;
  AirOf air;  ///< the zones' recorded air; must outlive the review
  std::map<quantity::FormId, CaseForm> forms;
  quantity::Grams scale{1.0};
  /// Batches whose grams nobody wrote down.
  std::set<quantity::BatchId> unweighed;
  Strictness strictness;
  Display display;
  quantity::Instant now;  ///< up to when the record is looked at

  [[nodiscard]] const Material* material(quantity::EditionId edition) const;
};

/// Which coat went wrong, and how it shows.
struct Subject {
  const Piece* piece = nullptr;
  std::size_t coat = 0;  ///< index into its coats
};

}  // namespace setwell::core
