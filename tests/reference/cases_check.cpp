// Runs every payload case of a JSON file through decoding and screening as the daemon does, and compares what
// stands after the last message (and, where a case says so, after an earlier one) with what the case expects.
// The file: the first argument, else SETWELL_CASES, else ../shared/cases/payloads.json. Leaves with 77 where
// it is absent. The last line is {"cases":N,"passed":N,"failed":["name",…]}.

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <optional>
#include <stdexcept>
#include <string>
#include <variant>
#include <vector>

#include <boost/json.hpp>
#include <fmt/format.h>

#include "sensors/decode/decoder.hpp"
#include "sensors/screen/duplicates.hpp"
#include "sensors/screen/screen.hpp"
#include "tests/reference/case_channel.hpp"

namespace {

namespace json = boost::json;
using namespace setwell;
using decode::ChannelSpec;
using decode::DecodedValue;
using decode::RawMessage;
using quantity::Instant;
using quantity::Refusal;
using reference::channel_of;
using reference::instant_of;
using reference::text_of;

constexpr double kValueTolerance = 1e-6;  // as the file says

std::string from_base64(std::string_view text) {
  constexpr std::string_view kAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string bytes;
  unsigned bits = 0;
  int count = 0;
  for (const char c : text) {
    const auto digit = kAlphabet.find(c);
    if (digit == std::string_view::npos) break;
    bits = bits << 6U | static_cast<unsigned>(digit);
    count += 6;
    if (count < 8) continue;
    count -= 8;
    bytes.push_back(static_cast<char>(bits >> static_cast<unsigned>(count) & 0xffU));
  }
  return bytes;
}

bool flag(const json::object& keys, std::string_view name) {
  const auto* value = keys.if_contains(name);
  return value != nullptr && value->as_bool();
}

RawMessage message_of(const json::object& keys, const ChannelSpec& spec, const json::value& received) {
  RawMessage message;
  const auto* base64 = keys.if_contains("payload_base64");
  message.payload = base64 != nullptr ? from_base64(text_of(*base64)) : text_of(keys.at("payload"));
  message.payload_size = message.payload.size();
  message.payload.resize(std::min(message.payload.size(), decode::kLargestPayload));
  message.received = instant_of(keys.contains("received") ? keys.at("received") : received);
  message.topic = keys.contains("topic") ? text_of(keys.at("topic")) : spec.topic;
  message.retained = flag(keys, "retain");
  message.duplicate = flag(keys, "duplicate");
  return message;
}

/// What became of one value or message.
struct Outcome {
  std::size_t message = 0;  // by its number, from 0
  std::optional<Refusal> refused;
  double value = 0.0;
  quantity::Quality quality = quantity::Quality::good;
  Instant time;
};

/// The first redelivered message of a case comes over a new connection: that is what a redelivery is.
std::vector<bool> redeliveries(const std::vector<RawMessage>& messages) {
  std::vector<screen::Delivery> previous;
  std::vector<screen::Delivery> current;
  for (const auto& message : messages) {
    const bool still_first = current.empty() && !message.duplicate;
    auto& list = still_first ? previous : current;
    list.push_back({message.topic, message.payload, message.duplicate});
  }
  auto found = screen::find_redeliveries(previous, current);
  found.insert(found.begin(), previous.size(), false);
  return found;
}

/// A case's messages as far as they are in.
class Run {
 public:
  explicit Run(ChannelSpec spec) : spec_(std::move(spec)) {}

  void take(std::size_t number, const RawMessage& message, bool redelivery) {
    if (spec_.availability && message.topic == spec_.availability->topic) {
      const auto presence = decode::decode_presence(*spec_.availability, message);
      if (presence == decode::Presence::online && !message.retained) births_.push_back(message.received);
      return;
    }
    if (!feeds(message.topic)) {
      Outcome unmapped;
      unmapped.message = number;
      unmapped.refused = Refusal::unmapped;
      outcomes_.push_back(unmapped);
      return;
    }
    for (const auto& item : decode::decode(spec_, message)) {
      Outcome outcome;
      outcome.message = number;
      if (const auto* refusal = std::get_if<Refusal>(&item)) {
        outcome.refused = *refusal;
        outcomes_.push_back(outcome);
        continue;
      }
      const auto& value = std::get<DecodedValue>(item);
      const bool known_otherwise = value.by_device || value.seq;
      if (redelivery && !known_otherwise) {
        outcome.refused = Refusal::duplicate;
      } else {
        places_.push_back(outcomes_.size());
        values_.push_back(value);
      }
      outcomes_.push_back(outcome);
    }
  }

  [[nodiscard]] std::vector<Outcome> stands() const {
    std::vector<Outcome> all = outcomes_;
    const screen::Rules rules{spec_.quantity, spec_.settle, !spec_.probe.empty()};
    const auto verdicts = screen::screen(rules, values_, births_);
    for (std::size_t i = 0; i < values_.size(); ++i) {
      Outcome& outcome = all[places_[i]];
      outcome.refused = verdicts[i].refused;
      outcome.quality = verdicts[i].quality;
      outcome.value = values_[i].value;
      outcome.time = values_[i].measured;
    }
    return all;
  }

 private:
  /// A probe is heard by several gateways, each with its topic; any other channel has one.
  [[nodiscard]] bool feeds(const std::string& topic) const {
    return topic == spec_.topic || !spec_.probe.empty();
  }

  ChannelSpec spec_;
  std::vector<Outcome> outcomes_;
  std::vector<DecodedValue> values_;
  std::vector<std::size_t> places_;
  std::vector<Instant> births_;
};

bool meets(const Outcome& outcome, const json::object& wanted) {
  if (const auto* refused = wanted.if_contains("refused")) {
    return outcome.refused && word(*outcome.refused) == text_of(*refused);
  }
  if (outcome.refused) return false;
  const auto* value = wanted.if_contains("value");
  if (value != nullptr && std::abs(value->to_number<double>() - outcome.value) > kValueTolerance)
    return false;
  const auto* quality = wanted.if_contains("quality");
  if (quality != nullptr && word(outcome.quality) != text_of(*quality)) return false;
  const auto* time = wanted.if_contains("time");
  return time == nullptr || instant_of(*time) == outcome.time;
}

std::string shown(const Outcome& outcome) {
  if (outcome.refused) return fmt::format("refused {}", word(*outcome.refused));
  return fmt::format("{} {} {}", outcome.value, word(outcome.quality), quantity::rfc3339_utc(outcome.time));
}

/// Runs one case; answers what went wrong, empty when nothing did.
std::string run_case(const json::object& item, const json::value& received) {
  Run run(channel_of(item.at("channel").as_object()));
  const ChannelSpec spec = channel_of(item.at("channel").as_object());
  std::vector<RawMessage> messages;
  for (const auto& keys : item.at("messages").as_array()) {
    messages.push_back(message_of(keys.as_object(), spec, received));
  }
  const auto& expect = item.at("expect").as_array();
  const auto redelivered = redeliveries(messages);
  std::string wrong;
  for (std::size_t n = 0; n < messages.size(); ++n) {
    run.take(n, messages[n], redelivered[n]);
    const auto stands = run.stands();
    const bool last = n + 1 == messages.size();
    if (last && stands.size() != expect.size()) {
      return fmt::format("{} outcomes, expected {}", stands.size(), expect.size());
    }
    for (std::size_t i = 0; i < expect.size() && i < stands.size(); ++i) {
      const auto* after = expect[i].as_object().if_contains("after");
      const bool due = last || (after != nullptr && after->to_number<std::size_t>() <= n + 1);
      if (due && !meets(stands[i], expect[i].as_object())) {
        wrong += fmt::format("after {}: [{}] is {}; ", n + 1, i, shown(stands[i]));
      }
    }
  }
  return wrong;
}

std::string path_of_cases(int argc, char** argv) {
  if (argc > 1) return argv[1];
  const char* set = std::getenv("SETWELL_CASES");
  return set != nullptr && *set != '\0' ? set : "../shared/cases/payloads.json";
}

/// A case that cannot even be set up has failed, and says why.
std::string outcome_of(const json::object& item, const json::value& received) {
  try {
    return run_case(item, received);
  } catch (const std::exception& trouble) {
    return trouble.what();
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::string path = path_of_cases(argc, argv);
  std::ifstream file(path, std::ios::binary);
  if (!file) {
    fmt::print(stderr, "{} is not there: skipped\n", path);
    return 77;
  }
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const json::value document = json::parse(text);
  const json::value* fallback = document.as_object().if_contains("received_default");
  const json::value received = fallback != nullptr ? *fallback : json::value("2031-03-04T10:00:00Z");
  json::array failed;
  const auto& cases = document.at("cases").as_array();
  for (const auto& entry : cases) {
    const auto& item = entry.as_object();
    const std::string wrong = outcome_of(item, received);
    if (wrong.empty()) continue;
    fmt::print("{}: {}\n", text_of(item.at("name")), wrong);
    failed.push_back(item.at("name"));
  }
  fmt::print("{{\"cases\":{},\"passed\":{},\"failed\":{}}}\n", cases.size(), cases.size() - failed.size(),
             json::serialize(failed));
  return failed.empty() && !cases.empty() ? 0 : 1;
}
