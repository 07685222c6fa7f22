#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "sensors/quantity/celsius.hpp"
#include "sensors/quantity/ids.hpp"
#include "sensors/quantity/instant.hpp"
#include "sensors/quantity/measure.hpp"
#include "sensors/quantity/relative_humidity.hpp"

/// Everything a person says, as append-only entries. Current state is `fold` of them; nothing is ever edited.
namespace setwell::core {

struct PieceMade {
  quantity::FormId form;
  std::optional<quantity::ScheduleId> schedule;
  std::optional<std::string> due;  ///< a local date, YYYY-MM-DD
  friend bool operator==(const PieceMade&, const PieceMade&) = default;
};

enum class Load { none, flake, glitter, pigment };
[[nodiscard]] std::string_view word(Load load);
[[nodiscard]] std::optional<Load> load_from(std::string_view word);

struct CoatMade {
  quantity::SheetId sheet;
  quantity::EditionId edition;
  quantity::ZoneId zone;
  std::optional<quantity::BatchId> batch;
  std::optional<quantity::Grams> grams;
  std::optional<quantity::Micrometres> film;
  int passes = 1;
  /// First and last pass; both equal `happened` for one pass.
  quantity::Instant first_pass;
  quantity::Instant last_pass;
  Load load = Load::none;
  std::optional<quantity::Celsius> piece_from;  ///< brought in from a place this cold
  std::optional<quantity::Celsius> resin_temperature;
  std::optional<std::string> lot;
  std::optional<quantity::Minutes> lamp;  ///< minutes under the lamp, light-cured
  friend bool operator==(const CoatMade&, const CoatMade&) = default;
};

enum class Step { washed, wiped, sanded, polished, masked, unmasked, decal, flaked, torched, noted };
[[nodiscard]] std::string_view word(Step step);
[[nodiscard]] std::optional<Step> step_from(std::string_view word);

struct StepDone {
  Step step = Step::noted;
  std::optional<std::string> with;         ///< water, alcohol
  std::optional<std::string> kind;         ///< vinyl, water-slide
  std::optional<quantity::SheetId> sheet;  ///< a step with a clock of its own
  std::optional<quantity::EditionId> edition;
  std::optional<std::string> text;
  friend bool operator==(const StepDone&, const StepDone&) = default;
};

/// What the gloved finger said, and the sanding trial.
enum class Touch { wet, strings, tacky, firm, hard, gums, powders };
[[nodiscard]] std::string_view word(Touch touch);
[[nodiscard]] std::optional<Touch> touch_from(std::string_view word);

/// On the entry's piece, or on a batch's witness.
struct TouchTested {
  Touch touch = Touch::wet;
  std::optional<quantity::BatchId> witness_of;
  friend bool operator==(const TouchTested&, const TouchTested&) = default;
};

enum class Pot { cup, tray, insulated };
[[nodiscard]] std::string_view word(Pot pot);
[[nodiscard]] std::optional<Pot> pot_from(std::string_view word);

struct BatchMixed {
  quantity::BatchId batch;
  quantity::SheetId sheet;
  quantity::EditionId edition;
  quantity::ZoneId zone;
  quantity::Grams part_a{1.0};
  quantity::Grams part_b{1.0};
  std::optional<quantity::Celsius> resin_temperature;
  Pot pot = Pot::cup;
  std::optional<std::string> lot_a;
  std::optional<std::string> lot_b;
  std::optional<quantity::Minutes> stirred;
  friend bool operator==(const BatchMixed&, const BatchMixed&) = default;
};

struct LotOpened {
  quantity::SheetId sheet;
  std::string part;  ///< a, b, or empty for one-part materials
  std::string lot;
  friend bool operator==(const LotOpened&, const LotOpened&) = default;
};

struct PieceMoved {
  quantity::ZoneId zone;
  std::string place{};  ///< of the zone's; empty where nobody said
  friend bool operator==(const PieceMoved&, const PieceMoved&) = default;
};

struct RotatorChanged {
  quantity::ZoneId zone;
  bool running = true;
  friend bool operator==(const RotatorChanged&, const RotatorChanged&) = default;
};

/// A reading by hand, of a zone's air or (on the entry's piece) of its surface.
struct HandReading {
  std::optional<quantity::ZoneId> zone;
  std::optional<quantity::Celsius> air;
  std::optional<quantity::RelativeHumidity> humidity;
  std::optional<quantity::Celsius> surface;
  quantity::CelsiusDelta temperature_error{1.0};
  double humidity_error_percent = 8.0;
  friend bool operator==(const HandReading&, const HandReading&) = default;
};

struct DefectSeen {
  std::vector<std::string> signs;
  std::optional<int> coat;
  std::optional<std::string> where;
  std::optional<std::string> photo;
  friend bool operator==(const DefectSeen&, const DefectSeen&) = default;
};

enum class Ending { shipped, scrapped };
[[nodiscard]] std::string_view word(Ending ending);
[[nodiscard]] std::optional<Ending> ending_from(std::string_view word);
struct PieceEnded {
  Ending ending = Ending::shipped;
  bool anyway = false;  ///< though a coat was short of packing
  friend bool operator==(const PieceEnded&, const PieceEnded&) = default;
};

/// A notice the maker has acknowledged; it closes nothing but the reminder.
struct NoticeSeen {
  std::int64_t notice = 0;
  friend bool operator==(const NoticeSeen&, const NoticeSeen&) = default;
};

/// Takes an earlier entry out of account; it stays in the log.
struct Struck {
  quantity::EntryId entry;
  friend bool operator==(const Struck&, const Struck&) = default;
};

using EntryBody = std::variant<PieceMade, CoatMade, StepDone, TouchTested, BatchMixed, LotOpened, PieceMoved,
                               RotatorChanged, HandReading, DefectSeen, PieceEnded, NoticeSeen, Struck>;

/// The kind's word, as stored in the log: `piece-made`, `coat-made`, …
[[nodiscard]] std::string_view kind_word(const EntryBody& body);
/// A blank body of the kind a word names, for whoever reads a stored entry; nothing for an unknown word.
[[nodiscard]] std::optional<EntryBody> blank_body(std::string_view kind_word);

/// One thing a person said.
struct Entry {
  quantity::EntryId id;
  /// The piece it is about, empty for those about zones and batches.
  quantity::PieceId piece;
  quantity::Instant said;      ///< when it was entered
  quantity::Instant happened;  ///< when it was done, as far as the maker knows
  quantity::Span error{0};     ///< happened ± this
  EntryBody body;
  friend bool operator==(const Entry&, const Entry&) = default;
};

}  // namespace setwell::core
