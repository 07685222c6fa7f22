#include "tests/unit/cli/answers.hpp"

#include <cmath>

#include <fmt/format.h>

#include "cli/render/sheet_check.hpp"

namespace setwell::cli {
namespace {

constexpr auto kAhead =
    "No forecast yet: times to come take yesterday's same hour, else the last good value.";

api::RecoatNow sure_window() {
  api::RecoatNow window;
  window.top = "slow-epoxy";
  window.test_from = "2031-03-12T09:50:00+01:00";
  window.from = "2031-03-12T10:15:20+01:00";
  window.until = "2031-03-12T23:30:00+01:00";
  window.last_start = "2031-03-12T23:10:00+01:00";
  window.usable_from = window.from;
  window.usable_until = "2031-03-12T22:00:00+01:00";
  return window;
}

std::vector<api::MilestoneNow> milestones() {
  return {
      {"tack-free",
       std::nullopt,
       {1.1, "2031-03-12T06:10:00+01:00"},
       {1.3, "2031-03-12T04:00:00+01:00"},
       {1.6, "2031-03-12T02:30:00+01:00"},
       {"table"},
       {}},
      {"recoat-opens",
       "slow-epoxy",
       {0.61, "2031-03-12T10:15:20+01:00"},
       {0.74, "2031-03-12T09:40:00+01:00"},
       {0.88, "2031-03-12T08:05:00+01:00"},
       {"one-temperature", "assumed"},
       {}},
      {"full-cure", std::nullopt, {0.1, std::nullopt}, {0.12, std::nullopt}, {0.2, std::nullopt}, {}, {}}};
}

api::PieceNow waiting_piece() {
  api::PieceNow piece;
  piece.piece = "fern-07";
  piece.coat = 2;
  piece.sheet = "slow-epoxy";
  piece.zone = "bench";
  piece.verdict = "wait";
  piece.next = "recoat with slow-epoxy, safe to recoat from today 10:16";
  piece.due = "2031-04-02";
  piece.recomputing = true;
  piece.milestones = milestones();
  piece.recoat = {sure_window()};
  piece.outside_limits = {{"air below the cure limit", 9.4, 12, "degC", "2031-03-12T04:10:00+01:00",
                           "2031-03-12T06:40:00+01:00", false}};
  piece.outside_advised = {{"dew margin", 1.1, 3, "K", "2031-03-11T22:00:00+01:00", {}, false},
                           {"humidity above the advised range", 72, 65, "%", "2031-03-11T22:00:00+01:00",
                            "2031-03-11T22:00:00+01:00", false}};
  piece.trouble = {{"under-floor", 0.2, "2031-03-13T04:00:00+01:00"},
                   {"dew-margin", std::nullopt, "2031-03-12T05:00:00+01:00"}};
  piece.surface_c = 17.9;
  piece.dew_margin_k = 6.1;
  piece.dew_margin_error_k = 1.4;
  piece.silences =
      api::SilencesNow{{{"2031-03-12T02:10:00+01:00", "2031-03-12T04:30:00+01:00"}}, 1500.0, 900.0, 600.0};
  return piece;
}

api::PieceNow tested_piece() {
  api::PieceNow piece;
  piece.piece = "wide-tray-of-the-oak-table-03";
  piece.coat = 1;
  piece.sheet = "fast-epoxy";
  piece.verdict = "touch-test";
  piece.next = "touch a hidden spot with a glove";
  piece.remark = "recoat while tacky: `strings` means too soon, `firm` means the window has closed";
  auto window = sure_window();
  window.top = "any";
  window.sure = false;
  window.from.reset();
  piece.recoat = {window};
  window.by_touch = true;
  window.sure = true;
  window.else_ = "wait";
  piece.recoat.push_back(window);
  window.by_touch = false;
  window.from = "2031-03-12T23:40:00+01:00";
  window.until = "2031-03-13T05:00:00+01:00";
  window.usable_from.reset();
  window.usable_until.reset();
  piece.recoat.push_back(window);
  return piece;
}

api::PieceNow bare_piece() {
  api::PieceNow piece;
  piece.piece = "fern-08";
  piece.next = "coat with slow-epoxy";
  return piece;
}

std::vector<api::BatchNow> batches() {
  return {{"b-0312-1",
           "slow-epoxy",
           "bench",
           "2031-03-12T09:10:00+01:00",
           60,
           30,
           "ok",
           "",
           true,
           {3300, 2400, 1500}},
          {"b-0311-2",
           "casting-epoxy",
           "bench",
           "2031-03-11T15:00:00+01:00",
           900,
           300.5,
           "off",
           "A to B is 2.995 by weight, the sheet asks for 2.8: the mix may stay soft",
           false,
           {0, 0, 0}},
          {"b-0310-1", "odd", "rack", "2031-03-10T15:00:00+01:00", 10, 10, "unstated", "", true, {}}};
}

std::vector<api::NoticeNow> notices() {
  return {{12,
           "safe-to-recoat",
           "fern-07",
           "2031-03-12T09:20:00+01:00",
           "fern-07: safe to recoat with Slow epoxy, today 10:15 to 23:30",
           "Coat 2: Slow epoxy, in bench.\nStart mixing by today 23:10.",
           false,
           {{"bench-log", "sent", 1}, {"mail", "waiting", 3}}},
          {11,
           "sensor-silent",
           std::nullopt,
           "2031-03-11T21:00:00+01:00",
           "bench: no reading since 20:25",
           "",
           true,
           {}}};
}

std::vector<api::EntryNow> entries() {
  return {{41, "coat", "fern-07", "2031-03-11T21:05:00+01:00", "2031-03-11T21:00:00+01:00", 1800, false,
           "coat of slow-epoxy in bench, batch b-0311-1, 12.5 g"},
          {42, "step", "fern-07", "2031-03-12T08:00:00+01:00", "2031-03-12T08:00:00+01:00", 0, true,
           "washed, with water"}};
}

api::LoggedAnswer logged_answer(const api::DisplayWish& display) {
  api::LoggedAnswer answer;
  answer.rehearsal = true;
  answer.logged = {{41, "coat", "fern-07", 2, "2031-03-12T09:10:00+01:00", 300},
                   {42, "read", std::nullopt, std::nullopt, "2031-03-12T09:10:00+01:00", 0}};
  answer.said = {
      "Tonight falls to 11 °C by yesterday's measure, below the sheet's limit of 12 °C before it is "
      "tack-free."};
  answer.cautions = {
      "solvent is about: no flame, no heat gun, no sparks; ventilate; follow the datasheet and local rules."};
  answer.pieces = {waiting_piece()};
  answer.display = display;
  return answer;
}

api::PieceShowAnswer show_answer(const api::DisplayWish& display) {
  api::PieceShowAnswer answer;
  answer.form = "tumbler-20";
  answer.schedule = "glitter";
  answer.now = waiting_piece();
  answer.coats = {waiting_piece(), waiting_piece()};
  answer.coats[0].coat = 1;
  answer.coats[0].remark = "covered by coat 2";
  answer.entries = entries();
  answer.ahead = kAhead;
  answer.display = display;
  return answer;
}

api::PiecesAnswer pieces_answer(const api::DisplayWish& display) {
  return {1,
          {{"fern-07", "tumbler-20", "glitter", "2031-04-02", "2031-03-01T09:00:00+01:00", 2, "bench",
            "do-not-coat", std::nullopt},
           {"fern-01", "cup", std::nullopt, std::nullopt, "2031-02-01T09:00:00+01:00", 0, std::nullopt,
            std::nullopt, "shipped"}},
          display};
}

/// Two days on from half past nine, coldest at five, wider hour by hour.
api::ForecastNow forecast() {
  api::ForecastNow made;
  made.issued = "2031-03-12T09:30:00+01:00";
  const auto issued = *quantity::parse_rfc3339(made.issued);
  for (int i = 0; i <= 48; ++i) {
    const double middle = 19 + 4 * std::cos((i - 5.5) * 2 * 3.14159265 / 24);
    const double wide = 0.4 + 0.05 * i;
    const api::BandNow air{middle - 2 * wide, middle - wide, middle, middle + wide, middle + 2 * wide};
    const double damp = 60 - 2 * (middle - 19);
    made.steps.push_back({quantity::rfc3339(issued + std::chrono::hours(i), std::chrono::minutes(60)), air,
                          api::BandNow{damp - 10, damp - 4, damp, damp + 4, damp + 10}, std::nullopt,
                          api::BandNow{5, 6, 7, 8, 9}});
  }
  return made;
}

api::DryRunAnswer dry_run_answer(const api::DisplayWish& display) {
  api::DryRunAnswer answer;
  answer.time = "2031-03-12T09:30:00+01:00";
  api::TriedPiece tried;
  tried.piece = "fern-07";
  tried.coat = 3;
  tried.sheet = "slow-coating-epoxy";
  tried.zone = "bench";
  tried.advice = "wait";
  tried.why =
      "Chance 35 % that the air overtakes it before it is tack-free. The best start is tomorrow 08:00.";
  api::StartNow now;
  now.at = answer.time;
  now.against = "chance 35 % that the air overtakes it before it is tack-free";
  now.air_c = 18.4;
  now.chance = 0.35;
  api::StartNow best;
  best.at = "2031-03-13T08:00:00+01:00";
  best.fits = true;
  best.air_c = 16.2;
  best.chance = 0.06;
  best.window = api::RecoatNow{"slow-coating-epoxy",
                               "2031-03-13T15:00:00+01:00",
                               "2031-03-13T18:10:30+01:00",
                               "2031-03-14T09:00:00+01:00",
                               {},
                               "2031-03-13T18:10:30+01:00",
                               "2031-03-13T22:00:00+01:00"};
  best.usable_s = 13770;
  tried.starts = {now, best};
  tried.best = best;
  answer.pieces = {tried};
  answer.said = {"Water does not condense on it."};
  answer.cautions = {"Gloves and fresh air, as the datasheet asks."};
  answer.display = display;
  return answer;
}

api::SensorsAnswer sensors_answer(const api::DisplayWish& display) {
  const std::string at = "2031-03-12T09:29:00+01:00";
  return {1,
          {{"bench/air",
            "bench",
            "air-temperature",
            "shed/bench",
            at,
            at,
            at,
            18.4,
            1,
            false,
            false,
            1440,
            {{"sentinel", 3}, {"spike", 1}},
            ""},
           {"bench/rh",
            "bench",
            "relative-humidity",
            "shed/bench",
            at,
            at,
            at,
            61.2,
            0,
            false,
            true,
            12,
            {},
            "publishes at QoS 0: readings are lost while the daemon or broker is down"},
           {"rack/running",
            "rack",
            "running",
            "shed/rack",
            {},
            {},
            {},
            {},
            {},
            true,
            false,
            0,
            {},
            "no message yet on this topic: check the topic's spelling and that the sensor publishes"}},
          {{"shed/porch", 7}},
          display};
}

api::SheetLine sheet_line() {
  return {"slow-epoxy",
          "Slow coating epoxy",
          "epoxy",
          "invented, 2031",
          "3",
          true,
          {"sheets/slow-epoxy.toml:12: mix.by_weight: no unit here; right: 100:50"}};
}

api::SheetShowAnswer sheet_answer() {
  return {1,
          sheet_line(),
          "2031-01-10",
          {{"pot life at 23.0 °C", "40 to 60 min", "page 2, table 1"},
           {"recoat with any: early window ends at 23.0 °C", "at most 24 h", ""}},
          {"skin: gloves; uncured epoxy may make allergic"},
          {"recoat[0].closes: closes before it opens at 10 °C"},
          {{"recoat-opens", "any", 6, 8, 7, 0, 0.9,
            "in 7 of 8 tests firmer than the sheet says; about 0.9 × its time; from 6 pieces",
            "may delay an opening and bring a closing forward"}}};
}

api::StatusAnswer status_answer() {
  return {1,
          "2031-03-12T09:30:00+01:00",
          true,
          "setwelld 0.1.0",
          false,
          {{"daemon", true, "rehearsing: time goes by the readings", ""},
           {"broker", false, "not connected since today 09:12",
            "is it running on 127.0.0.1:1883? Look at the broker's log; [broker] in the settings says where "
            "it is"}},
          1440,
          3,
          false};
}

SheetCheck check_answer() {
  const SheetFinding fault{"a.toml",  12,       "mix.by_weight",
                           "no unit", "100:50", "a.toml:12: mix.by_weight: no unit; right: 100:50"};
  return {1, "a.toml", "", false, {fault}, {fault}};
}

}  // namespace

std::vector<api::AirHour> day() {
  std::vector<api::AirHour> hours;
  for (int i = 0; i < 24; ++i) {
    const int clock = (10 + i) % 24;
    api::AirHour hour;
    hour.from = fmt::format("2031-03-{}T{:02}:00:00+01:00", i < 14 ? 11 : 12, clock);
    hour.silent = clock >= 18 && clock < 20;
    if (!hour.silent) {
      hour.least_c = 10 + i;
      hour.most_c = 11 + i;
      hour.mean_c = 10.5 + i;
      hour.mean_pct = 4 * i;
      hour.dew_margin_k = 0.5 * i;
    }
    hours.push_back(hour);
  }
  return hours;
}

api::AirAnswer air_answer(const api::DisplayWish& display) {
  api::AirAnswer answer;
  answer.time = "2031-03-12T09:30:00+01:00";
  answer.zones = {{{"bench", 18.4, 61.0, 10.8, 12.0, true},
                   1.3,
                   day(),
                   kAhead,
                   forecast(),
                   {{"cure stops below", 13, "degC", {"fern-01", "fern-02"}},
                    {"humidity above the limit", 80, "%", {"fern-01", "fern-02"}},
                    {"dew margin below the limit", 3, "K", {"fern-02"}}},
                   {{"2031-03-11T22:00:00+01:00", "2031-03-12T07:00:00+01:00"},
                    {"2031-03-12T22:00:00+01:00", "2031-03-13T07:00:00+01:00"}}},
                  {{"spray corner", {}, {}, {}, {}, false}, {}, {}, kAhead, std::nullopt, {}, {}}};
  answer.display = display;
  return answer;
}

api::NowAnswer now_answer(const api::DisplayWish& display) {
  api::NowAnswer answer;
  answer.time = "2031-03-12T09:30:00+01:00";
  answer.zones = {{"bench", 18.4, 61.0, 10.8, 12.0, true},
                  {"rack", -0.5, {}, {}, 7200.0, false},
                  {"spray corner", {}, {}, {}, {}, false}};
  answer.pieces = {tested_piece(), waiting_piece(), bare_piece()};
  answer.batches = batches();
  answer.notices = notices();
  answer.ahead = kAhead;
  answer.display = display;
  return answer;
}

std::vector<std::pair<std::string, std::string>> all_texts(const api::DisplayWish& display, Colour colour) {
  const Look look{kNow, colour};
  api::NowAnswer nothing;
  nothing.time = "2031-03-12T09:30:00+01:00";
  nothing.display = display;
  const api::HistoryAnswer history{
      1,
      "bench",
      {{"2031-03-12T09:20:00+01:00", 18.4, 61.0}, {"2031-03-12T09:25:00+01:00", {}, 62.0}},
      {},
      display};
  const api::SchedulesAnswer schedules{
      1, {{"glitter", "Glitter tumbler", {"coat slow-epoxy, 2 passes", "sanded"}}}};
  return {{"now", to_text(now_answer(display), look)},
          {"now-nothing", to_text(nothing, look)},
          {"piece-show", to_text(show_answer(display), look)},
          {"pieces", to_text(pieces_answer(display), look)},
          {"entries", to_text(api::EntriesAnswer{1, entries(), display}, look)},
          {"batches", to_text(api::BatchesAnswer{1, batches(), display}, look)},
          {"air", to_text(air_answer(display), look)},
          {"sensors", to_text(sensors_answer(display), look)},
          {"notices", to_text(api::NoticesAnswer{1, notices(), display}, look)},
          {"sheets", to_text(api::SheetsAnswer{1, {sheet_line()}}, look)},
          {"sheet-show", to_text(sheet_answer(), look)},
          {"schedules", to_text(schedules, look)},
          {"history", to_text(history, look)},
          {"history-csv", history_csv(history)},
          {"backup", to_text(api::BackupAnswer{1, "/var/backups/setwell.db", 12345678, 41, 100000}, look)},
          {"status", to_text(status_answer(), look)},
          {"sheet-check", to_text(check_answer())},
          {"logged", to_text(logged_answer(display), look)},
          {"coat-dry-run", to_text(dry_run_answer(display), look)}};
}

}  // namespace setwell::cli
