#include "tests/component/service/shop.hpp"

/// Pieces: made, named, moved, let go.
namespace setwell::service_tests {

using quantity::ErrorKind;

namespace {

api::PieceNewParams piece(std::vector<std::string> names) {
  api::PieceNewParams params;
  params.pieces = std::move(names);
  params.form = "tumbler";
  return params;
}

std::size_t entries(Shop& shop) {
  return shop.shop().book.entries().size();
}

}  // namespace

TEST_CASE("A range makes its pieces, and the answer names each in full", "[service]") {
  Shop shop;
  const auto answer = granted(service::piece_new(shop.shop(), piece({"fern-01..03", "moss"}), shop.now));
  REQUIRE(answer.logged.size() == 4);
  CHECK(answer.logged[2].piece == "fern-03");
  CHECK(answer.logged[3].piece == "moss");
  CHECK(answer.pieces.size() == 4);
  CHECK_FALSE(answer.pieces.front().verdict);
}

TEST_CASE("A piece is refused twice, and nothing of that request is made", "[service]") {
  Shop shop;
  shop.make("fern-02");
  const auto before = entries(shop);
  CHECK(holds(refusal(service::piece_new(shop.shop(), piece({"fern-01..03"}), shop.now)).detail, "fern-02"));
  CHECK(holds(refusal(service::piece_new(shop.shop(), piece({"oak", "oak"}), shop.now)).detail, "twice"));
  CHECK(entries(shop) == before);
}

TEST_CASE("An unknown form or schedule is answered with those there are, a bad date with a right one",
          "[service]") {
  Shop shop;
  auto params = piece({"oak"});
  params.form = "bowl";
  auto error = refusal(service::piece_new(shop.shop(), params, shop.now));
  CHECK(error.kind == ErrorKind::not_found);
  CHECK(holds(error.detail, "tumbler"));
  params = piece({"oak"});
  params.schedule = "nine-coat";
  error = refusal(service::piece_new(shop.shop(), params, shop.now));
  CHECK(error.kind == ErrorKind::not_found);
  CHECK(holds(error.detail, "two-coat-tumbler"));
  for (const auto* due : {"soon", "2031-02-30", "28.3.2031", "2031-13-01", ""}) {
    params = piece({"oak"});
    params.due = due;
    INFO(due);
    error = refusal(service::piece_new(shop.shop(), params, shop.now));
    CHECK(error.kind == ErrorKind::invalid);
    CHECK(holds(error.detail, "2031-03-28"));
  }
  params.due = "2031-03-28";
  params.schedule = "two-coat-tumbler";
  CHECK(granted(service::piece_new(shop.shop(), params, shop.now)).pieces.front().due == "2031-03-28");
}

TEST_CASE("A prefix of one piece means it; of several it is refused with their names", "[service]") {
  Shop shop;
  shop.make("fern-01..02");
  shop.make("oak-1");
  granted(service::move(shop.shop(), {{"oak"}, "cabinet", {}}, shop.now));
  const auto error = refusal(service::move(shop.shop(), {{"fern"}, "cabinet", {}}, shop.now));
  CHECK(error.kind == ErrorKind::refused);
  CHECK(holds(error.detail, "fern-01"));
  CHECK(holds(error.detail, "fern-02"));
  CHECK(refusal(service::move(shop.shop(), {{"ash"}, "cabinet", {}}, shop.now)).kind == ErrorKind::not_found);
  CHECK(refusal(service::move(shop.shop(), {{"oak"}, "attic", {}}, shop.now)).kind == ErrorKind::not_found);
}

TEST_CASE("All of a request is logged or nothing", "[service]") {
  Shop shop;
  shop.make("fern-01");
  const auto before = entries(shop);
  (void)refusal(service::move(shop.shop(), {{"fern-01", "oak"}, "cabinet", {}}, shop.now));
  CHECK(entries(shop) == before);
}

TEST_CASE("Shipping names each coat short of packing and then wants to be asked anyway", "[service]") {
  Shop shop;
  shop.air_for(hours(1));
  shop.make("fern-01..02");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  const auto error = refusal(service::ship(shop.shop(), {{"fern-01..02"}, false, {}}, shop.now));
  CHECK(error.kind == ErrorKind::refused);
  CHECK(holds(error.detail, "fern-01 coat 1"));
  CHECK(holds(error.detail, "--anyway"));
  CHECK_FALSE(holds(error.detail, "fern-02"));
  const auto answer = granted(service::ship(shop.shop(), {{"fern-01..02"}, true, {}}, shop.now));
  CHECK(holds(answer.said, "fern-01 coat 1"));
  CHECK(granted(service::now_answer(shop.shop(), {}, shop.now)).pieces.empty());
}

TEST_CASE("A piece that is gone takes nothing more, and is still shown", "[service]") {
  Shop shop;
  shop.make("fern-01");
  granted(service::scrap(shop.shop(), {{"fern-01"}, false, {}}, shop.now));
  const auto error = refusal(service::move(shop.shop(), {{"fern-01"}, "bench", {}}, shop.now));
  CHECK(error.kind == ErrorKind::not_found);
  CHECK(holds(error.detail, "gone"));
  CHECK(granted(service::piece_show(shop.shop(), {"fern-01"}, shop.now)).ended == "scrapped");
  CHECK(granted(service::pieces(shop.shop(), {false}, shop.now)).pieces.empty());
  CHECK(granted(service::pieces(shop.shop(), {true}, shop.now)).pieces.size() == 1);
  CHECK(granted(service::entries(shop.shop(), {"fern-01"}, shop.now)).entries.size() == 2);
  shop.now += minutes(1);
  shop.make("fern-01");  // its name is free again
  CHECK(granted(service::entries(shop.shop(), {"fern-01"}, shop.now)).entries.size() == 1);
}

TEST_CASE("A move takes the piece to the other zone's air", "[service]") {
  Shop shop;
  shop.make("fern-01");
  shop.coat("fast-coating-epoxy", {"fern-01"});
  shop.now += minutes(30);
  granted(service::move(shop.shop(), {{"fern-01"}, "cabinet", {}}, shop.now));
  CHECK(shop.piece("fern-01").zone == "cabinet");
  granted(service::rotator(shop.shop(), {"bench", "stopped", {}}, shop.now));
  CHECK(refusal(service::rotator(shop.shop(), {"bench", "broken", {}}, shop.now)).kind == ErrorKind::invalid);
}

}  // namespace setwell::service_tests
