#include "daemon/toml_text/words.hpp"

#include <algorithm>
#include <numeric>

namespace setwell::toml_text {
namespace {

/// Levenshtein's distance.
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i + 1;
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t swapped = diagonal + (a[i] == b[j] ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({row[j] + 1, row[j + 1] + 1, swapped});
    }
  }
  return row[b.size()];
}

}  // namespace

std::optional<std::string_view> nearest(std::string_view typed, const std::vector<std::string_view>& words) {
  if (typed.size() > 64) return std::nullopt;
  for (const std::string_view word : words) {
    if (typed.size() > 2 && word.size() > 2 && (word.starts_with(typed) || typed.starts_with(word)))
      return word;
  }
  std::optional<std::string_view> best;
  std::size_t least = std::max<std::size_t>(2, typed.size() / 3) + 1;
  for (const std::string_view word : words) {
    const std::size_t far = distance(typed, word);
    if (far < least && far < word.size()) {
      least = far;
      best = word;
    }
  }
  return best;
}

std::string listed(const std::vector<std::string_view>& words) {
  std::string list;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) list += i + 1 == words.size() ? " or " : ", ";
    list += words[i];
  }
  return list;
}

}  // namespace setwell::toml_text
