#include "daemon/core/id_range.hpp"

#include <catch2/catch.hpp>

using namespace setwell::core;
using namespace setwell::quantity;

namespace {

using Names = std::vector<std::string>;

std::vector<PieceId> pieces(const Names& names) {
  std::vector<PieceId> ids;
  for (const std::string& name : names)
    ids.emplace_back(name);
  return ids;
}

const std::vector<PieceId> kBench =
    pieces({"fern-01", "fern-02", "fern-03", "fern", "moss-1", "moss-10", "oak"});

Names resolved(const Names& texts) {
  const auto found = resolve_pieces(texts, kBench);
  INFO((found ? std::string() : found.error().detail));
  REQUIRE(found.has_value());
  Names names;
  for (const PieceId& id : *found)
    names.push_back(id.text());
  return names;
}

ErrorKind fault(const Names& texts) {
  const auto found = resolve_pieces(texts, kBench);
  REQUIRE_FALSE(found.has_value());
  return found.error().kind;
}

}  // namespace

TEST_CASE("a range spells out every piece, keeping leading zeros", "[id]") {
  CHECK(*expand_range("fern-01..06") ==
        Names{"fern-01", "fern-02", "fern-03", "fern-04", "fern-05", "fern-06"});
  CHECK(*expand_range("fern-8..11") == Names{"fern-8", "fern-9", "fern-10", "fern-11"});
  CHECK(*expand_range("fern-098..101") == Names{"fern-098", "fern-099", "fern-100", "fern-101"});
  CHECK(*expand_range("fern-01..fern-02") == Names{"fern-01", "fern-02"});
  CHECK(*expand_range("7..8") == Names{"7", "8"});
  CHECK(*expand_range("fern") == Names{"fern"});
}

TEST_CASE("what is no range says so", "[id]") {
  for (const char* text : {"fern-06..01", "fern..06", "fern-01..", "..06", "fern-01..moss-06",
                           "a-1..99999999999", "a-1..1000", "a-1..2..3"}) {
    INFO(text);
    CHECK_FALSE(expand_range(text).has_value());
  }
}

TEST_CASE("a piece's name fits on a label and cannot be taken for anything else", "[id]") {
  for (const char* text : {"fern-07", "a", "7", "Fern_7.b"})
    CHECK(piece_id(text)->text() == text);
  for (const char* text : {"", "@b1", "-x", "a b", "a=3", "a..b", "a/b", "#", "näh"}) {
    INFO(text);
    CHECK_FALSE(piece_id(text).has_value());
  }
  CHECK(piece_id(std::string(40, 'x')).has_value());
  CHECK_FALSE(piece_id(std::string(41, 'x')).has_value());
}

TEST_CASE("an exact id beats a prefix, and a unique prefix is enough", "[id]") {
  CHECK(resolved({"fern"}) == Names{"fern"});
  CHECK(resolved({"moss-1"}) == Names{"moss-1"});
  CHECK(resolved({"o"}) == Names{"oak"});
}

TEST_CASE("an ambiguous prefix is refused with the candidates", "[id]") {
  const auto found = resolve_piece("mo", kBench);
  REQUIRE_FALSE(found.has_value());
  CHECK(found.error().kind == ErrorKind::refused);
  CHECK(found.error().detail == "'mo' could be moss-1, moss-10: say which");
}

TEST_CASE("a piece that has gone is not found, neither by name nor by prefix", "[id]") {
  CHECK(fault({"birch-01"}) == ErrorKind::not_found);
  CHECK(fault({""}) == ErrorKind::not_found);
}

TEST_CASE("names out of a range are exact: a gone moss-1 does not become moss-10", "[id]") {
  const auto left = pieces({"moss-10", "moss-2"});
  CHECK(resolve_pieces(Names{"moss-1..2"}, left).error().kind == ErrorKind::not_found);
}

TEST_CASE("a list is taken whole or not at all", "[id]") {
  CHECK(resolved({"oak", "fern-01..03"}) == Names{"oak", "fern-01", "fern-02", "fern-03"});
  CHECK(fault({"oak", "fern-01..04"}) == ErrorKind::not_found);
  CHECK(fault({"fern-02", "fern-01..03"}) == ErrorKind::refused);
}
