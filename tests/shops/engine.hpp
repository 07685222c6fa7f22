#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/service/workshop.hpp"
#include "tests/support/temp_dir.hpp"

/// The real engine of a simulated shop: a workshop with a ledger in memory, spoken to as the daemon does.
namespace setwell::shops {

/// A notice as it went to the log route.
struct Told {
  std::string kind;
  bool withdrawal = false;
  std::vector<std::string> pieces;
  quantity::Instant at;
  std::optional<quantity::Instant> from, until;
};

struct SheetFile {
  std::string id, text;
  std::shared_ptr<const core::PriorBook> priors;
};

/// Throws std::runtime_error when settings or sheets are refused: that is a fault of the simulation.
class Engine {
 public:
  Engine(const std::string& settings, const std::vector<SheetFile>& sheets, quantity::Instant now);

  void take_in(std::vector<decode::RawMessage> messages, quantity::Instant now);
  void tick(quantity::Instant now);
  /// Everything told since the last call.
  [[nodiscard]] std::vector<Told> told(quantity::Instant now);

  void make(const std::string& piece, quantity::Instant now);
  /// The piece as the answer shows it.
  api::PieceNow coat(const api::CoatParams& params, quantity::Instant now);
  void touch(const std::string& piece, const std::string& word, quantity::Instant now);
  void scrap(const std::string& piece, quantity::Instant now);
  [[nodiscard]] api::PieceNow show(const std::string& piece, quantity::Instant now);

 private:
  test_support::TempDir folder_;
  std::unique_ptr<service::Workshop> workshop_;
};

/// When the answer expects the piece's recoat to open, if it says.
[[nodiscard]] std::optional<quantity::Instant> expected_opening(const api::PieceNow& piece);

}  // namespace setwell::shops
