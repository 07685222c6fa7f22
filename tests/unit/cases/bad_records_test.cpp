#include <algorithm>

#include <catch2/catch.hpp>

#include "daemon/core/review_mates.hpp"
#include "tests/support/accounts.hpp"

/// Records with holes: the review says what is missing and still shows what there is.
namespace setwell {
namespace {

const std::string kHead = R"(start = 2031-03-03T08:00:00Z
seen = "3 d"
about = "a"
[[sheet]]
file = "sheets/boat-epoxy.toml"
)";
const std::string kAir = R"([[zone]]
id = "z"
[[zone.air]]
from = "-2 h"
to = "4 d"
temperature = "21 C"
humidity = "50 %"
)";
const std::string kPiece = R"([[piece]]
id = "a"
[[piece.coat]]
sheet = "boat-epoxy"
zone = "z"
at = "0 h"
[[piece.defect]]
signs = ["soft"]
)";

core::Review review_of(const std::string& toml) {
  return test_support::reviewed(test_support::read({"account", toml, SETWELL_ACCOUNTS}));
}

bool says(const std::vector<std::string>& lines, std::string_view part) {
  return std::any_of(lines.begin(), lines.end(),
                     [&](const auto& line) { return line.find(part) != std::string::npos; });
}

TEST_CASE("A coat without readings keeps its facts, and the weather is neither cleared nor blamed",
          "[review]") {
  const auto account = test_support::read({"account", kHead + kPiece, SETWELL_ACCOUNTS});
  const auto review = test_support::reviewed(account);
  CHECK(says(review.facts.missing, "no reading of its air"));
  CHECK(review.weather == core::Weather::unknown);
  CHECK_FALSE(review.settled);
  CHECK(review.facts.coat.coat->number == 1);
}

TEST_CASE("A coat whose edition cannot be read is reviewed by its air and its steps", "[review]") {
  auto piece = kPiece;
  piece.replace(piece.find("boat-epoxy"), 10, "lost-sheet");
  const auto review = review_of(kHead + kAir + piece);
  CHECK(says(review.facts.missing, "edition cannot be read"));
  REQUIRE_FALSE(review.facts.coat.phases.empty());
  CHECK(review.facts.coat.phases.back().air_c.least == Approx(21));
  CHECK_FALSE(review.settled);
}

TEST_CASE("A silence over part of the cure is told in hours", "[review]") {
  const auto review = review_of(kHead + R"([[zone]]
id = "z"
[[zone.air]]
from = "-2 h"
to = "10 h"
temperature = "21 C"
humidity = "50 %"
)" + kPiece);
  CHECK(says(review.facts.missing, "hours of its air are not recorded"));
}

TEST_CASE("Signs that contradict each other settle nothing", "[review]") {
  auto piece = kPiece;
  piece.replace(piece.find("[\"soft\"]"), 8, "[\"soft\", \"soft-when-hot\"]");
  const auto review = review_of(kHead + kAir + piece + "[[piece.noted]]\nsaw = \"served-hot\"\n");
  CHECK(says(review.facts.missing, "contradict"));
  CHECK_FALSE(review.settled);
  CHECK_FALSE(review.causes.empty());
}

TEST_CASE("A coat felt hard and called soft is told so", "[review]") {
  const auto review = review_of(kHead + kAir + kPiece + "[[piece.touch]]\nat = \"2 d\"\nword = \"hard\"\n");
  CHECK(says(review.facts.missing, "felt hard"));
}

TEST_CASE("Struck entries count for nothing", "[review]") {
  const auto account = test_support::read({"account", kHead + kAir + kPiece + R"([[piece.step]]
step = "washed"
at = "40 h"
struck = true
[[piece.coat]]
sheet = "boat-epoxy"
zone = "z"
at = "50 h"
struck = true
)",
                                           SETWELL_ACCOUNTS});
  const auto review = test_support::reviewed(account);
  CHECK(review.facts.coat.piece->coats.size() == 1);
  CHECK(review.facts.coat.piece->steps.empty());
}

TEST_CASE("Without a sign no cause is named", "[review]") {
  const auto account = test_support::read({"account", kHead + kAir + kPiece, SETWELL_ACCOUNTS});
  const auto subject = core::subject_of(*account.subject(), std::nullopt);
  REQUIRE(subject.has_value());
  const auto review = core::review(account.file, *subject, {});
  CHECK(review.causes.empty());
  CHECK(review.weather == core::Weather::unknown);
  CHECK(review.summary.find("No sign") != std::string::npos);
}

TEST_CASE("A coat that does not exist is not found, and a piece without coats is refused", "[review]") {
  const auto account = test_support::read({"account", kHead + kAir + kPiece, SETWELL_ACCOUNTS});
  CHECK(core::subject_of(*account.subject(), 4).error().kind == quantity::ErrorKind::not_found);
  CHECK(core::subject_of(core::Piece{}, std::nullopt).error().kind == quantity::ErrorKind::refused);
}

TEST_CASE("A piece of the same batch that hardened speaks against the ratio", "[review]") {
  const std::string batch = R"([[batch]]
id = "b"
sheet = "boat-epoxy"
zone = "z"
at = "-5 min"
)";
  auto piece = kPiece;
  piece.insert(piece.find("at = \"0 h\""), "batch = \"b\"\n");
  const std::string mate = R"([[piece]]
id = "m"
[[piece.coat]]
sheet = "boat-epoxy"
zone = "z"
batch = "b"
at = "5 min"
[[piece.touch]]
at = "2 d"
word = "hard"
)";
  const auto odds = [](const core::Review& review) {
    for (const auto& cause : review.causes) {
      if (cause.cause == core::Cause::ratio_off) return cause.odds;
    }
    return 0.0;
  };
  CHECK(odds(review_of(kHead + kAir + batch + piece + mate)) <
        0.3 * odds(review_of(kHead + kAir + batch + piece)));
}

}  // namespace
}  // namespace setwell
