#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <catch2/catch.hpp>

#include "cli/commands/program.hpp"
#include "daemon/api/messages/asking.hpp"
#include "daemon/api/messages/logging.hpp"
#include "tests/support/temp_dir.hpp"

namespace setwell::cli {
namespace {

namespace json = boost::json;

/// A daemon that keeps what it was asked and answers one thing.
struct FakeDaemon {
  std::vector<std::pair<std::string, json::object>> asked;
  std::vector<quantity::Result<Object>> answers{Object{}};
  std::optional<std::filesystem::path> socket;
  std::chrono::milliseconds patience{0};
  bool there = true;
};

struct Ran {
  int exit = -1;
  std::string out;
  std::string err;
};

struct Terminal {
  bool is_one = false;
  std::optional<std::string> no_color;
  std::optional<std::string> typed{};  ///< by a person who sits there
};

Ran run_with(FakeDaemon& daemon, std::vector<std::string> arguments, const Terminal& terminal = {}) {
  std::ostringstream out;
  std::ostringstream err;
  const Call call = [&](std::string_view method, const Object& params, std::chrono::milliseconds patience) {
    daemon.patience = patience;
    daemon.asked.emplace_back(method, params);
    const auto index = std::min(daemon.asked.size(), daemon.answers.size()) - 1;
    return daemon.answers[index];
  };
  const Connect connect = [&](const std::optional<std::filesystem::path>& socket) -> quantity::Result<Call> {
    daemon.socket = socket;
    if (!daemon.there) return quantity::Error{quantity::ErrorKind::unreachable, "nobody there"};
    return call;
  };
  std::istringstream in(terminal.typed.value_or(""));
  const World world{connect,
                    out,
                    err,
                    terminal.is_one,
                    terminal.no_color,
                    quantity::Instant{},
                    terminal.typed ? &in : nullptr};
  Ran ran;
  ran.exit = run(std::move(arguments), world);
  ran.out = out.str();
  ran.err = err.str();
  return ran;
}

/// What the daemon is asked, as `method {params that were given}`.
std::string asked_by(const std::vector<std::string>& arguments) {
  FakeDaemon daemon;
  const auto ran = run_with(daemon, arguments);
  if (daemon.asked.size() != 1) return "asked nothing: " + ran.err;
  json::object given;
  for (const auto& [key, value] : daemon.asked.front().second) {
    if (!value.is_null() && value != json::value(false)) given[key] = value;
  }
  return daemon.asked.front().first + " " + json::serialize(given);
}

std::vector<std::string> words(const std::string& line) {
  std::istringstream in(line);
  std::vector<std::string> list;
  for (std::string word; in >> word;)
    list.push_back(word);
  return list;
}

Object answer(const std::string& text) {
  return json::parse(text).as_object();
}

struct Row {
  const char* typed;
  const char* asked;
};

}  // namespace

TEST_CASE("each command asks the daemon for what was typed") {
  const auto row = GENERATE(
      Row{"", R"(now {})"}, Row{"now", R"(now {})"}, Row{"pieces", R"(pieces {})"},
      Row{"pieces --all", R"(pieces {"all":true})"},
      Row{"piece new fern-01..06 oak --form cup --schedule glitter --due 2031-04-02 --at 20m",
          R"(piece.new {"pieces":["fern-01..06","oak"],"form":"cup","schedule":"glitter","due":"2031-04-02","at":"20m"})"},
      Row{"piece show fern-07", R"(piece.show {"piece":"fern-07"})"},
      Row{"ship fern-01 fern-02 --anyway", R"(ship {"pieces":["fern-01","fern-02"],"anyway":true})"},
      Row{"scrap fern-01 --at 14:30", R"(scrap {"pieces":["fern-01"],"at":"14:30"})"},
      Row{"coat slow-epoxy fern-07=12.5 fern-08",
          R"(coat {"what":"slow-epoxy","pieces":["fern-07=12.5","fern-08"]})"},
      Row{"coat @ fern-07 --zone rack --at ~14:30 --film 80 --passes 2 --load flake --piece-from 8C "
          "--resin-temp 22C --lot 4711 --lamp 3.5",
          R"(coat {"what":"@","pieces":["fern-07"],"zone":"rack","at":"~14:30","film_um":8E1,"passes":2,"load":"flake","piece_from":"8C","resin_temperature":"22C","lot":"4711","lamp_min":3.5E0})"},
      Row{"step sanded fern-07 --unwashed", R"(step {"step":"sanded","pieces":["fern-07"],"unwashed":true})"},
      Row{"step decal fern-07 --kind vinyl --with water --sheet glue --text front --at 5m",
          R"(step {"step":"decal","pieces":["fern-07"],"with":"water","kind":"vinyl","sheet":"glue","text":"front","at":"5m"})"},
      Row{"touch tacky b-0312-1 --at 1m", R"(touch {"touch":"tacky","pieces":["b-0312-1"],"at":"1m"})"},
      Row{"mixed slow-epoxy 60 30.5 --zone bench --resin-temp 22C --pot tray --lot-a 1 --lot-b 2 --stirred 3 "
          "--at 2m",
          R"(mixed {"sheet":"slow-epoxy","part_a_g":6E1,"part_b_g":3.05E1,"zone":"bench","resin_temperature":"22C","pot":"tray","lot_a":"1","lot_b":"2","stirred_min":3E0,"at":"2m"})"},
      Row{"batches", R"(batches {})"},
      Row{"opened slow-epoxy --part b --lot 4711",
          R"(opened {"sheet":"slow-epoxy","part":"b","lot":"4711"})"},
      Row{"move fern-01 fern-02 cabinet --at 20m",
          R"(move {"pieces":["fern-01","fern-02"],"zone":"cabinet","at":"20m"})"},
      Row{"rotator rack stopped", R"(rotator {"zone":"rack","state":"stopped"})"},
      Row{"read bench --air 17 --rh 58 --error-k 0.5 --error-rh 3",
          R"(read {"what":"bench","air":"17","humidity_pct":5.8E1,"error_k":5E-1,"error_pct":3E0})"},
      Row{"read fern-07 --surface -3C", R"(read {"what":"fern-07","surface":"-3C"})"},
      Row{"entries fern-07", R"(entries {"piece":"fern-07"})"},
      Row{"amend 41 --at 14:30", R"(amend {"entry":41,"at":"14:30"})"},
      Row{"undo 41", R"(undo {"entry":41})"}, Row{"air", R"(air {})"},
      Row{"air bench", R"(air {"zone":"bench"})"}, Row{"sensors", R"(sensors {})"},
      Row{"notices", R"(notices {})"}, Row{"notices --all", R"(notices {"all":true})"},
      Row{"seen 7", R"(seen {"notice":7})"}, Row{"sheets", R"(sheets {})"},
      Row{"sheet show slow-epoxy", R"(sheet.show {"sheet":"slow-epoxy"})"},
      Row{"schedules", R"(schedules {})"},
      Row{"history bench --from 2h --to 1h", R"(history {"zone":"bench","from":"2h","to":"1h"})"},
      Row{"backup /var/backups/a.db", R"(backup {"file":"/var/backups/a.db"})"},
      Row{"status", R"(status {})"}, Row{"describe", R"(describe {})"});
  CHECK(asked_by(words(row.typed)) == row.asked);
}

namespace {

const quantity::Error kTwoBatches =
    quantity::refused("2 batches are inside their pot life; name one of: b-2, b-1");
const quantity::Error kUnwashed = quantity::refused("fern-07 was not washed; add --unwashed when it was not");

api::BatchNow batch(const char* id, const char* sheet, const char* zone, double grams, bool open) {
  api::BatchNow made;
  made.batch = id;
  made.sheet = sheet;
  made.zone = zone;
  made.part_a_g = grams;
  made.open = open;
  return made;
}

/// A daemon with two open batches and one that is over, asked for a coat from `@`.
FakeDaemon two_batches() {
  api::BatchesAnswer batches;
  batches.batches = {batch("b-2", "slow-epoxy", "bench", 90, true),
                     batch("b-0", "slow-epoxy", "bench", 10, false),
                     batch("b-1", "fast-epoxy", "rack", 30, true)};
  FakeDaemon daemon;
  daemon.answers = {kTwoBatches, api::to_object(batches), api::to_object(api::LoggedAnswer{})};
  return daemon;
}

json::value last_what(const FakeDaemon& daemon) {
  return daemon.asked.back().second.at("what");
}

}  // namespace

TEST_CASE("at a terminal the one of two batches is asked for, and the first is the default") {
  for (const auto& [typed, what] :
       {std::pair("2\n", "b-1"), std::pair("\n", "b-2"), std::pair("7\nb\n1\n", "b-2")}) {
    auto daemon = two_batches();
    const auto ran = run_with(daemon, words("coat @ fern-07"), {true, "1", typed});
    CHECK(ran.exit == 0);
    REQUIRE(daemon.asked.size() == 3);
    CHECK(last_what(daemon) == what);
    CHECK(ran.out.find("  2  b-1  fast-epoxy, 30 g, in rack") != std::string::npos);
    CHECK(ran.out.find("[1]") != std::string::npos);
  }
}

TEST_CASE("the end of input and three answers that are none log nothing") {
  for (const auto* typed : {"", "3\n0\nx\n1\n"}) {
    auto daemon = two_batches();
    const auto ran = run_with(daemon, words("coat @ fern-07"), {true, "1", typed});
    CHECK(ran.exit == 1);
    CHECK(daemon.asked.size() == 2);
    CHECK(ran.err == "setwell: nothing was logged\n");
  }
}

TEST_CASE("sanding an unwashed epoxy is asked about, and only a yes logs it") {
  for (const auto& [typed, logged] :
       {std::pair("y\n", true), std::pair("\n", false), std::pair("n\n", false), std::pair("", false)}) {
    FakeDaemon daemon;
    daemon.answers = {kUnwashed, api::to_object(api::LoggedAnswer{})};
    const auto ran = run_with(daemon, words("step sanded fern-07"), {true, "1", typed});
    CHECK(ran.exit == (logged ? 0 : 1));
    CHECK(daemon.asked.size() == (logged ? 2U : 1U));
    CHECK(daemon.asked.back().second.at("unwashed") == json::value(logged));
    CHECK(ran.out.find("[y/N]") != std::string::npos);
  }
}

TEST_CASE("a program is asked nothing and refused with the option that answers") {
  for (const auto* line : {"step sanded fern-07 --json", "step sanded fern-07"}) {
    FakeDaemon daemon;
    daemon.answers = {kUnwashed};
    Terminal terminal{true, "1", std::nullopt};
    if (std::string(line).find("--json") != std::string::npos) terminal.typed = "y\n";
    const auto ran = run_with(daemon, words(line), terminal);
    CHECK(ran.exit == 1);
    CHECK(daemon.asked.size() == 1);
    CHECK((ran.out + ran.err).find("--unwashed") != std::string::npos);
  }
}

TEST_CASE("any other refusal at a terminal is said as it is") {
  FakeDaemon daemon;
  daemon.answers = {quantity::refused("fern-07 is gone")};
  const auto ran = run_with(daemon, words("step sanded fern-07"), {true, "1", "y\n"});
  CHECK(ran.exit == 1);
  CHECK(ran.err == "setwell: fern-07 is gone\n");
}

TEST_CASE("a zone or a piece may be called as a command is") {
  CHECK(asked_by({"move", "now", "rotator"}) == R"(move {"pieces":["now"],"zone":"rotator"})");
  CHECK(asked_by({"piece", "show", "coat"}) == R"(piece.show {"piece":"coat"})");
  CHECK(asked_by({"rotator", "air", "running"}) == R"(rotator {"zone":"air","state":"running"})");
}

TEST_CASE("what every command takes may stand before it or after it") {
  for (const auto& line : {"--socket /tmp/s --json now", "now --json --socket /tmp/s"}) {
    FakeDaemon daemon;
    daemon.answers = {answer(R"({"version":1,"time":"x"})")};
    const auto ran = run_with(daemon, words(line));
    CHECK(ran.exit == 0);
    CHECK(daemon.socket == std::filesystem::path("/tmp/s"));
    CHECK(ran.out == "{\"version\":1,\"time\":\"x\"}\n");
  }
}

TEST_CASE("for a program the daemon's answer is passed on whole, keys this program does not know included") {
  FakeDaemon daemon;
  daemon.answers = {answer(R"({"version":1,"sheets":[],"newer":{"a":1}})")};
  CHECK(run_with(daemon, {"sheets", "--json"}).out == "{\"version\":1,\"sheets\":[],\"newer\":{\"a\":1}}\n");
}

TEST_CASE("a refusal ends as its kind says, with one sentence on the error stream") {
  using quantity::ErrorKind;
  const std::map<ErrorKind, int> codes{{ErrorKind::refused, 1},
                                       {ErrorKind::usage, 2},
                                       {ErrorKind::unreachable, 3},
                                       {ErrorKind::not_found, 4},
                                       {ErrorKind::invalid, 5}};
  for (const auto& [kind, code] : codes) {
    FakeDaemon daemon;
    daemon.answers = {quantity::Error{kind, "it is so"}};
    const auto ran = run_with(daemon, {"now"});
    CHECK(ran.exit == code);
    CHECK(ran.err == "setwell: it is so\n");
    CHECK(ran.out.empty());
  }
}

TEST_CASE("for a program a refusal is an object on the output") {
  FakeDaemon daemon;
  daemon.answers = {quantity::not_found("no piece fern-99")};
  const auto ran = run_with(daemon, {"--json", "piece", "show", "fern-99"});
  CHECK(ran.exit == 4);
  CHECK(ran.err.empty());
  CHECK(ran.out == "{\"version\":1,\"error\":{\"kind\":\"not-found\",\"message\":\"no piece fern-99\"}}\n");
}

TEST_CASE("without a daemon the exit code is 3, as with one that answers in another form") {
  FakeDaemon daemon;
  daemon.there = false;
  CHECK(run_with(daemon, {}).exit == 3);
  FakeDaemon other;
  other.answers = {answer(R"({"version":9})")};
  const auto ran = run_with(other, {"now"});
  CHECK(ran.exit == 3);
  CHECK(ran.err.starts_with("setwell: setwelld answered now in a form"));
}

TEST_CASE("a wrong command line ends with 2 and one sentence, and asks nobody") {
  const auto line =
      GENERATE("nonsense", "coat", "coat slow-epoxy", "touch firm", "move fern-01", "piece", "piece new a",
               "amend 41", "amend forty --at 1m", "mixed s 60", "mixed s sixty 3", "mixed s nan 3",
               "coat s p --film inf", "coat s p --film 1,5", "coat s p --passes 1.5", "opened s",
               "now --no-such", "sheet", "undo", "now extra", "now status");
  FakeDaemon daemon;
  const auto ran = run_with(daemon, words(line));
  CAPTURE(line, ran.err, ran.out);
  CHECK(ran.exit == 2);
  CHECK(ran.err.starts_with("setwell: "));
  CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
  CHECK(ran.out.empty());
  CHECK(daemon.asked.empty());
}

TEST_CASE("for a program a wrong command line is an object too, wherever --json stands") {
  FakeDaemon daemon;
  for (const auto& line : {"--json coat", "coat --json", "nonsense --json"}) {
    const auto ran = run_with(daemon, words(line));
    CAPTURE(line);
    CHECK(ran.exit == 2);
    CHECK(ran.out.find(R"("kind":"usage")") != std::string::npos);
    CHECK(ran.err.empty());
  }
}

TEST_CASE("every command has help with an example") {
  const auto line =
      GENERATE("", "now", "piece", "piece new", "piece show", "pieces", "ship", "scrap", "coat", "step",
               "touch", "mixed", "batches", "opened", "move", "rotator", "read", "entries", "amend", "undo",
               "air", "sensors", "notices", "seen", "sheets", "sheet", "sheet show", "sheet check",
               "schedules", "history", "backup", "status", "describe");
  FakeDaemon daemon;
  auto arguments = words(line);
  arguments.emplace_back("--help");
  const auto ran = run_with(daemon, arguments);
  CAPTURE(line);
  CHECK(ran.exit == 0);
  CHECK(ran.out.find("Example:\n  setwell") != std::string::npos);
  CHECK(daemon.asked.empty());
}

TEST_CASE("status ends with 1 when it finds a fault") {
  const auto status = [](const char* ok) {
    api::StatusAnswer given;
    given.ok = std::string(ok) == "true";
    return api::to_object(given);
  };
  FakeDaemon well;
  well.answers = {status("true")};
  CHECK(run_with(well, {"status"}).exit == 0);
  FakeDaemon ill;
  ill.answers = {status("false")};
  CHECK(run_with(ill, {"status"}).exit == 1);
  CHECK(run_with(ill, {"status", "--json"}).exit == 1);
}

TEST_CASE("colour is for a terminal whose user does not object") {
  const auto coloured = [](const Terminal& terminal, std::vector<std::string> arguments) {
    FakeDaemon daemon;
    daemon.answers = {api::to_object(api::NowAnswer{})};
    return run_with(daemon, std::move(arguments), terminal).out.find('\x1b') != std::string::npos;
  };
  CHECK(coloured({true, {}}, {"now"}));
  CHECK(coloured({true, ""}, {"now"}));
  CHECK_FALSE(coloured({false, {}}, {"now"}));
  CHECK_FALSE(coloured({true, "1"}, {"now"}));
  CHECK_FALSE(coloured({true, {}}, {"now", "--no-colour"}));
}

TEST_CASE("history goes on from page to page") {
  const auto page = [](const char* time, const char* more) {
    return answer(std::string(R"({"version":1,"zone":"bench","rows":[{"time":")") + time +
                  R"(","temperature_c":18.456}],"more_after":)" + more +
                  R"(,"display":{"temperature":"F","clock":"24h","zone":"UTC"}})");
  };
  FakeDaemon daemon;
  daemon.answers = {page("2031-03-12T09:00:00Z", R"("2031-03-12T09:00:00Z")"),
                    page("2031-03-12T09:05:00Z", "null")};
  SECTION("as lines for a spreadsheet, in °C whatever the display") {
    CHECK(run_with(daemon, {"history", "bench", "--csv"}).out ==
          "time,temperature_c,humidity_pct\n2031-03-12T09:00:00Z,18.46,\n2031-03-12T09:05:00Z,18.46,\n");
    REQUIRE(daemon.asked.size() == 2);
    CHECK(daemon.asked[1].second.at("after") == json::value("2031-03-12T09:00:00Z"));
  }
  SECTION("as one object") {
    const auto whole = answer(run_with(daemon, {"history", "bench", "--json"}).out);
    CHECK(whole.at("rows").as_array().size() == 2);
    CHECK(whole.at("more_after").is_null());
  }
  SECTION("and a page that leads to itself is not followed for ever") {
    daemon.answers.pop_back();
    CHECK(run_with(daemon, {"history", "bench"}).exit == 3);
    CHECK(daemon.asked.size() == 2);
  }
}

TEST_CASE("a backup's file is named from the root, and waited for longer than a question") {
  FakeDaemon daemon;
  (void)run_with(daemon, {"backup", "copies/../a.db"});
  REQUIRE(daemon.asked.size() == 1);
  CHECK(daemon.asked[0].second.at("file").as_string() == (std::filesystem::current_path() / "a.db").string());
  CHECK(daemon.patience == kLongPatience);
}

TEST_CASE("a sheet's file is checked without a daemon") {
  const test_support::TempDir folder;
  FakeDaemon daemon;
  daemon.there = false;
  SECTION("one without faults") {
    const auto ran = run_with(daemon, {"sheet", "check", SETWELL_SHEETS "/slow-coating-epoxy.toml"});
    CAPTURE(ran.out, ran.err);
    CHECK(ran.exit == 0);
    CHECK(ran.out.find("can be used") != std::string::npos);
  }
  SECTION("one with faults names file, line, key and what would be right") {
    const auto file = folder.path() / "bad.toml";
    std::ofstream(file) << "id = 7\n";
    const auto ran = run_with(daemon, {"sheet", "check", file.string()});
    CHECK(ran.exit == 5);
    CHECK(ran.out.starts_with(file.string() + ":1: id: "));
    CHECK(ran.out.find("; right: ") != std::string::npos);
    const auto object = answer(run_with(daemon, {"sheet", "check", file.string(), "--json"}).out);
    CHECK(object.at("ok") == json::value(false));
    CHECK(object.at("faults").as_array().front().at("line") == json::value(1));
  }
  SECTION("one that is not there") {
    CHECK(run_with(daemon, {"sheet", "check", "/no/such.toml"}).exit == 4);
  }
  SECTION("a folder") {
    CHECK(run_with(daemon, {"sheet", "check", folder.path().string()}).exit == 1);
  }
}

TEST_CASE("describe lists the methods with what they take") {
  FakeDaemon daemon;
  daemon.answers = {answer(
      R"({"version":1,"methods":[{"name":"undo","description":"takes an entry back","params":[{"name":"entry","type":"whole number","required":true,"description":"its number"}],"result":"what was logged"}]})")};
  const auto ran = run_with(daemon, {"describe"});
  CHECK(ran.out.find("undo\n  takes an entry back\n    entry") == 0);
  CHECK(ran.out.find("whole number, required: its number") != std::string::npos);
}

}  // namespace setwell::cli
