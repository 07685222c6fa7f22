#include <algorithm>
#include <random>

#include <catch2/catch.hpp>

#include "tests/support/accounts.hpp"

/// The review held against accounts of coats that went wrong, and against twins made of them.
namespace setwell {
namespace {

using core::Cause;
using core::CauseRatio;
using core::Review;

std::vector<test_support::AccountText> all_accounts() {
  auto accounts = test_support::accounts_in(SETWELL_ACCOUNTS);
  REQUIRE(accounts.size() >= 20);
  return accounts;
}

bool is_one_of(Cause cause, const std::vector<Cause>& causes) {
  return std::find(causes.begin(), causes.end(), cause) != causes.end();
}

/// The place of the first true cause, 1 at best; those of one level share a place, the best one.
int place_of(const Review& review, const std::vector<Cause>& causes) {
  for (std::size_t i = 0; i < review.causes.size(); ++i) {
    if (is_one_of(review.causes[i].cause, causes))
      return review.causes[i].level == 1 && !review.settled ? 1 : static_cast<int>(i) + 1;
  }
  return 99;
}

/// How often a settled account is settled, on a true cause.
struct Score {
  int settled_right = 0, top_1 = 0, top_2 = 0, of = 0, settled_wrong = 0;
  std::string mistakes;
  double places = 0;
};

Score score_of(const std::vector<test_support::AccountText>& accounts, std::span<const CauseRatio> ratios) {
  Score score;
  for (const auto& text : accounts) {
    const auto account = test_support::read(text);
    REQUIRE(account.expected);
    const auto review = test_support::reviewed(account, ratios);
    const int place = place_of(review, account.expected->causes);
    const bool first =
        !review.causes.empty() && is_one_of(review.causes.front().cause, account.expected->causes);
    score.of++;
    score.top_1 += first;
    score.top_2 += first || place <= 2;
    score.places += 1.0 / (first ? 1 : place + (place == 1 ? 1 : 0));
    score.settled_right += review.settled && first;
    score.settled_wrong += review.settled && !first;
    if (!first) score.mistakes += text.name + " ";
  }
  return score;
}

TEST_CASE("The true cause of every account comes first or on the first level, settled where it can be",
          "[accounts]") {
  for (const auto& text : all_accounts()) {
    INFO(text.name);
    const auto account = test_support::read(text);
    REQUIRE(account.expected);
    const auto review = test_support::reviewed(account);
    REQUIRE_FALSE(review.causes.empty());
    INFO(review.summary << " first: " << core::word(review.causes.front().cause));
    CHECK(place_of(review, account.expected->causes) == 1);
    if (account.expected->settled) CHECK(review.settled == *account.expected->settled);
    if (account.expected->weather) CHECK(core::word(review.weather) == *account.expected->weather);
  }
}

/// Written after the table was made, from the same kinds of failure. At first sight 22 of these 24 had their
/// true cause first and 23 first or on the first level; one was settled on another cause, and the reasoning
/// (not its factors) was put right for it. They are kept apart, so that a change of the table can be seen on
/// accounts it was not made from.
TEST_CASE("Accounts that the table was not made from are told as well", "[accounts]") {
  const auto accounts = test_support::accounts_in(std::filesystem::path(SETWELL_ACCOUNTS) / "unseen");
  REQUIRE(accounts.size() >= 24);
  const auto score = score_of(accounts, core::cause_ratios());
  WARN("accounts " << score.of << ", true cause first " << score.top_1 << ", first or second or level first "
                   << score.top_2 << ", settled on it " << score.settled_right << ", settled on another "
                   << score.settled_wrong << "; not first: " << score.mistakes);
  CHECK(score.top_1 >= 22);
  CHECK(score.settled_wrong <= 1);
  for (const auto& text : accounts) {
    INFO(text.name);
    const auto account = test_support::read(text);
    const auto review = test_support::reviewed(account);
    if (account.expected->settled == false) CHECK_FALSE(review.settled);
    if (account.expected->weather) CHECK(core::word(review.weather) == *account.expected->weather);
  }
}

TEST_CASE("Without the fact that decides it an account is not settled", "[accounts]") {
  int twins = 0;
  for (const auto& text : all_accounts()) {
    const auto twin = test_support::without_the_fact(text);
    if (twin.toml == text.toml) continue;
    INFO(text.name);
    const auto review = test_support::reviewed(test_support::read(twin));
    CHECK_FALSE(review.settled);
    CHECK(std::count_if(review.causes.begin(), review.causes.end(),
                        [](const auto& cause) { return cause.level == 1; }) >= 2);
    ++twins;
  }
  CHECK(twins >= 18);
}

TEST_CASE("With that fact turned round the cause is not first any more", "[accounts]") {
  int twins = 0;
  for (const auto& text : all_accounts()) {
    if (!test_support::can_be_turned_round(text)) continue;
    INFO(text.name);
    const auto account = test_support::read(text);
    const auto told = test_support::reviewed(account);
    const auto review = test_support::reviewed(test_support::read(test_support::turned_round(text)));
    REQUIRE_FALSE(review.causes.empty());
    CHECK(review.causes.front().cause != told.causes.front().cause);
    ++twins;
  }
  CHECK(twins >= 18);
}

TEST_CASE("Other names, dates and units give the same answer", "[accounts]") {
  for (const auto& text : all_accounts()) {
    INFO(text.name);
    const auto twin = test_support::retold(text);
    REQUIRE(twin.toml != text.toml);
    const auto told = test_support::reviewed(test_support::read(text));
    const auto retold = test_support::reviewed(test_support::read(twin));
    CHECK(retold.settled == told.settled);
    CHECK(retold.weather == told.weather);
    REQUIRE(retold.causes.size() == told.causes.size());
    for (std::size_t i = 0; i < told.causes.size(); ++i) {
      CHECK(retold.causes[i].cause == told.causes[i].cause);
      CHECK(retold.causes[i].level == told.causes[i].level);
    }
  }
}

TEST_CASE("The table of factors carries the answer: shuffled, it ranks worse", "[accounts]") {
  const auto accounts = all_accounts();
  const auto table = core::cause_ratios();
  const auto true_score = score_of(accounts, table);
  WARN("accounts " << true_score.of << ", true cause first " << true_score.top_1
                   << ", first or second or level first " << true_score.top_2 << ", settled on it "
                   << true_score.settled_right << ", settled on another " << true_score.settled_wrong
                   << "; not first: " << true_score.mistakes);
  CHECK(true_score.settled_wrong == 0);
  std::mt19937 random(3);
  for (int i = 0; i < 5; ++i) {
    std::vector<CauseRatio> shuffled(table.begin(), table.end());
    std::vector<std::pair<double, double>> factors;
    for (const auto& row : shuffled)
      factors.emplace_back(row.if_so, row.if_not);
    std::shuffle(factors.begin(), factors.end(), random);
    for (std::size_t row = 0; row < shuffled.size(); ++row)
      std::tie(shuffled[row].if_so, shuffled[row].if_not) = factors[row];
    const auto score = score_of(accounts, shuffled);
    CHECK(score.places < true_score.places - 3);
    CHECK(score.settled_right < true_score.settled_right - 3);
  }
}

TEST_CASE("Always saying that the records do not tell would fail", "[accounts]") {
  const auto accounts = all_accounts();
  // Without any factor nothing but the signs speaks, and nothing is ever settled.
  const auto mute = score_of(accounts, {});
  CHECK(mute.settled_right == 0);
  const int must = static_cast<int>(std::count_if(accounts.begin(), accounts.end(), [](const auto& text) {
    return test_support::read(text).expected->settled == true;
  }));
  CHECK(must >= 12);
  CHECK(score_of(accounts, core::cause_ratios()).settled_right >= must);
}

TEST_CASE("Humidity is never first without grounds in the record or on the piece", "[accounts]") {
  for (const auto& text : all_accounts()) {
    for (const auto& told : {text, test_support::without_the_fact(text), test_support::turned_round(text)}) {
      INFO(text.name);
      const auto review = test_support::reviewed(test_support::read(told));
      if (!review.settled) continue;
      const auto cause = review.causes.front().cause;
      if (cause != Cause::blush && cause != Cause::moisture) continue;
      CHECK(review.weather == core::Weather::suspect);
      CHECK_FALSE(review.causes.front().speaks_for.empty());
    }
  }
}

}  // namespace
}  // namespace setwell
