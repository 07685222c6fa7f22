#include "daemon/core/entry.hpp"

#include <array>
#include <utility>

namespace setwell::core {
namespace {

/// A word for each enumerator, in the order of the enumeration: read both ways.
template <std::size_t N>
using Words = std::array<std::string_view, N>;

constexpr Words<4> kLoads{"none", "flake", "glitter", "pigment"};
constexpr Words<10> kSteps{"washed",   "wiped", "sanded", "polished", "masked",
                           "unmasked", "decal", "flaked", "torched",  "noted"};
constexpr Words<7> kTouches{"wet", "strings", "tacky", "firm", "hard", "gums", "powders"};
constexpr Words<3> kPots{"cup", "tray", "insulated"};
constexpr Words<2> kEndings{"shipped", "scrapped"};
/// In the order of the alternatives of EntryBody.
constexpr Words<13> kKinds{"piece-made",  "coat-made",   "step-done",       "touch-tested", "batch-mixed",
                           "lot-opened",  "piece-moved", "rotator-changed", "hand-reading", "defect-seen",
                           "piece-ended", "notice-seen", "struck"};
static_assert(kKinds.size() == std::variant_size_v<EntryBody>);

template <typename Enum, std::size_t N>
std::string_view word_of(const Words<N>& words, Enum value) {
  return words.at(static_cast<std::size_t>(value));
}

template <typename Enum, std::size_t N>
std::optional<Enum> value_of(const Words<N>& words, std::string_view wanted) {
  for (std::size_t i = 0; i < N; ++i) {
    if (words[i] == wanted) return static_cast<Enum>(i);
  }
  return std::nullopt;
}

template <std::size_t... I>
EntryBody blank_at(std::size_t index, std::index_sequence<I...>) {
  EntryBody body;
  ((I == index ? static_cast<void>(body.emplace<I>()) : void()), ...);
  return body;
}

}  // namespace

std::string_view word(Load load) {
  return word_of(kLoads, load);
}
std::optional<Load> load_from(std::string_view word) {
  return value_of<Load>(kLoads, word);
}

std::string_view word(Step step) {
  return word_of(kSteps, step);
}
std::optional<Step> step_from(std::string_view word) {
  return value_of<Step>(kSteps, word);
}

std::string_view word(Touch touch) {
  return word_of(kTouches, touch);
}
std::optional<Touch> touch_from(std::string_view word) {
  return value_of<Touch>(kTouches, word);
}

std::string_view word(Pot pot) {
  return word_of(kPots, pot);
}
std::optional<Pot> pot_from(std::string_view word) {
  return value_of<Pot>(kPots, word);
}

std::string_view word(Ending ending) {
  return word_of(kEndings, ending);
}
std::optional<Ending> ending_from(std::string_view word) {
  return value_of<Ending>(kEndings, word);
}

std::string_view kind_word(const EntryBody& body) {
  return kKinds.at(body.index());
}

std::optional<EntryBody> blank_body(std::string_view kind_word) {
  const auto index = value_of<std::size_t>(kKinds, kind_word);
  if (!index) return std::nullopt;
  return blank_at(*index, std::make_index_sequence<std::variant_size_v<EntryBody>>{});
}

}  // namespace setwell::core
