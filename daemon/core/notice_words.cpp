#include "daemon/core/notice_words.hpp"

#include <algorithm>
#include <charconv>
#include <optional>
#include <string_view>
#include <vector>

#include <fmt/format.h>

namespace setwell::core {
namespace {

/// An id that ends in a number: `fern-` and 6, written with two digits.
struct Numbered {
  std::string_view stem;
  int number = 0;
  std::size_t width = 0;
};

std::optional<Numbered> numbered(std::string_view id) {
  std::size_t digits = 0;
  while (digits < id.size() && digits < 6 && id[id.size() - 1 - digits] >= '0' &&
         id[id.size() - 1 - digits] <= '9')
    ++digits;
  if (digits == 0) return std::nullopt;
  Numbered found{id.substr(0, id.size() - digits), 0, digits};
  std::from_chars(id.data() + found.stem.size(), id.data() + id.size(), found.number);
  return found;
}

bool follows(std::string_view a, std::string_view b) {
  const auto first = numbered(a);
  const auto second = numbered(b);
  return first && second && first->stem == second->stem && first->width == second->width &&
         second->number == first->number + 1;
}

/// A run of pieces as one name, and how many it stands for.
struct Run {
  std::string text;
  std::size_t count = 1;
};

std::vector<Run> runs_of(std::vector<std::string> ids) {
  std::sort(ids.begin(), ids.end());
  std::vector<Run> runs;
  for (std::size_t i = 0; i < ids.size();) {
    std::size_t end = i + 1;
    while (end < ids.size() && follows(ids[end - 1], ids[end]))
      ++end;
    if (end - i >= 3) {
      const auto last = numbered(ids[end - 1]);
      runs.push_back({ids[i] + ".." + ids[end - 1].substr(last->stem.size()), end - i});
      i = end;
    } else {
      runs.push_back({ids[i], 1});
      ++i;
    }
  }
  return runs;
}

}  // namespace

std::string piece_list(std::span<const quantity::PieceId> pieces, int columns) {
  std::vector<std::string> ids;
  for (const auto& piece : pieces)
    ids.push_back(piece.text());
  const auto runs = runs_of(std::move(ids));
  std::string text;
  std::size_t left = pieces.size();
  constexpr std::size_t kAndMore = 14;  // " and 1000 more" at the most
  for (const auto& run : runs) {
    const auto next = text.empty() ? run.text : text + ", " + run.text;
    const bool last = left == run.count;
    if (!text.empty() && next.size() + (last ? 0 : kAndMore) > static_cast<std::size_t>(columns)) break;
    text = next;
    left -= run.count;
  }
  return left == 0 ? text : fmt::format("{} and {} more", text, left);
}

}  // namespace setwell::core
