#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include <catch2/catch.hpp>

#include "daemon/service/workshop.hpp"
#include "tests/support/temp_dir.hpp"

/// A workshop for tests: two zones, one sensor, the example sheets, and a clock that only the test moves.
namespace setwell::service_tests {

using quantity::Instant;
using std::chrono::hours;
using std::chrono::minutes;

/// `2031-03-03T08:00:00Z` and its like.
[[nodiscard]] Instant at(std::string_view rfc3339);

/// Monday morning, when every shop of these tests opens.
[[nodiscard]] Instant morning();

/// Settings of one channel that tells in JSON with its time, and of a zone's thermometer and hygrometer.
[[nodiscard]] std::string channel_of(std::string_view zone, std::string_view topic, std::string_view quantity,
                                     std::string_view path);
[[nodiscard]] std::string climate_of(const std::string& zone);

enum class Keeps { nothing, a_file };

class Shop {
 public:
  explicit Shop(Keeps keeps = Keeps::nothing, std::string_view more_settings = {});

  /// The daemon stops and starts again on the same ledger (a file's only) at `now`.
  void restart();
  void restart_with(std::string_view more_settings);
  /// Settings and sheets are read again, as at a hangup.
  void reload();
  /// For the next start.
  void replace_setting(std::string_view old, std::string_view fresh);
  [[nodiscard]] service::Workshop& shop() { return *workshop_; }
  [[nodiscard]] std::filesystem::path sheet_file(const std::string& id) const;

  /// One message of the bench's sensor: measured when its payload says, received at `received`.
  [[nodiscard]] decode::RawMessage message(Instant measured, double celsius, double percent,
                                           Instant received);
  [[nodiscard]] decode::RawMessage message(Instant measured, double celsius, double percent);
  void take(std::vector<decode::RawMessage> messages, std::uint64_t generation = 1);
  /// How many rows the inbox has handed out, and that it hands those after `rows` out again.
  [[nodiscard]] std::int64_t rows() const { return row_; }
  void rows_again_from(std::int64_t rows) { row_ = rows; }
  void take(decode::RawMessage message) { take(std::vector{std::move(message)}); }
  /// The air stays as it is up to `until`, told every ten minutes; the rules run each time.
  void air_upto(Instant until, double celsius = 22.0, double percent = 50.0);
  void air_for(quantity::Span span, double celsius = 22.0, double percent = 50.0) {
    air_upto(now + span, celsius, percent);
  }
  /// Time passes and nothing is heard.
  void silence_for(quantity::Span span);
  void tick();

  void make(const std::string& pieces);
  /// What the sensor of the bench says of such air, its last digit moving a little as they do.
  [[nodiscard]] decode::RawMessage usual_message(Instant measured, double celsius, double percent,
                                                 Instant received);
  void coat(const std::string& what, std::vector<std::string> pieces);
  [[nodiscard]] api::PieceNow piece(const std::string& id);
  [[nodiscard]] std::string verdict(const std::string& id) { return piece(id).verdict.value_or("none"); }
  /// The kinds told so far, in order; withdrawals end in `!`.
  [[nodiscard]] std::vector<std::string> told();
  /// `now --json` without what depends on the order in which things were numbered, and without the moments
  /// ahead: they stand for a while as they were worked out last.
  [[nodiscard]] std::string state();
  /// Every checkpoint of every coat at or before now, newest only, as bytes.
  [[nodiscard]] std::string checkpoints();
  /// As the reader sees them (a file's only).
  [[nodiscard]] ledger::ReadOnlyLedger records() const;
  /// Everything that was stored about readings.
  [[nodiscard]] std::string readings();

  Instant now;

 private:
  void open();

  test_support::TempDir folder_;
  Keeps keeps_;
  std::string settings_;
  std::int64_t row_ = 0;
  std::unique_ptr<service::Workshop> workshop_;
};

/// The answer, or the test ends with the refusal.
template <typename Answer>
Answer granted(service::Answered<Answer> answer) {
  if (!answer) FAIL(answer.error().detail);
  return std::move(*answer);
}

/// The refusal's sentence, or the test ends.
template <typename Answer>
quantity::Error refusal(const service::Answered<Answer>& answer) {
  if (answer) FAIL("it was not refused");
  return answer.error();
}

[[nodiscard]] bool holds(std::string_view text, std::string_view part);
[[nodiscard]] bool holds(const std::vector<std::string>& lines, std::string_view part);

}  // namespace setwell::service_tests
