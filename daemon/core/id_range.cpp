#include "daemon/core/id_range.hpp"

#include <algorithm>
#include <charconv>
#include <optional>

#include <fmt/format.h>

namespace setwell::core {
namespace {

using quantity::PieceId;
using quantity::Result;

constexpr std::size_t kCandidatesShown = 6;
constexpr std::size_t kDigitsLongest = 9;

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}
bool may_stand(char c) {
  return is_digit(c) || is_letter(c) || c == '-' || c == '_' || c == '.';
}

/// A name cut before the digits it ends with.
struct Numbered {
  std::string_view stem;
  std::string_view digits;
};

Numbered cut(std::string_view text) {
  std::size_t begin = text.size();
  while (begin > 0 && is_digit(text[begin - 1]))
    --begin;
  return {text.substr(0, begin), text.substr(begin)};
}

std::optional<unsigned> number_of(std::string_view digits) {
  if (digits.empty() || digits.size() > kDigitsLongest) return std::nullopt;
  unsigned value = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return value;
}

std::vector<std::string> numbered(const Numbered& first, unsigned from, unsigned to) {
  const bool padded = first.digits.size() > 1 && first.digits.front() == '0';
  const std::size_t width = padded ? first.digits.size() : 0;
  std::vector<std::string> names;
  for (unsigned number = from; number <= to; ++number) {
    names.push_back(fmt::format("{}{:0{}}", first.stem, number, width));
  }
  return names;
}

quantity::Error ambiguous(std::string_view text, const std::vector<PieceId>& candidates) {
  std::string names;
  for (std::size_t i = 0; i < candidates.size() && i < kCandidatesShown; ++i) {
    names += (i == 0 ? "" : ", ") + candidates[i].text();
  }
  if (candidates.size() > kCandidatesShown) names += ", …";
  return quantity::refused(fmt::format("'{}' could be {}: say which", text, names));
}

Result<PieceId> exact_piece(std::string_view text, std::span<const PieceId> in_progress) {
  const PieceId wanted{std::string(text)};
  if (std::find(in_progress.begin(), in_progress.end(), wanted) != in_progress.end()) return wanted;
  return quantity::not_found(
      fmt::format("no piece '{}' is in progress: 'setwell pieces' lists those that are", text));
}

Result<std::vector<PieceId>> resolve_one(const std::string& text, std::span<const PieceId> in_progress) {
  if (text.find("..") == std::string::npos) {
    auto piece = resolve_piece(text, in_progress);
    if (!piece) return piece.error();
    return std::vector<PieceId>{*piece};
  }
  const auto names = expand_range(text);
  if (!names) return names.error();
  std::vector<PieceId> pieces;
  for (const std::string& name : *names) {
    auto piece = exact_piece(name, in_progress);
    if (!piece) return piece.error();
    pieces.push_back(*piece);
  }
  return pieces;
}

}  // namespace

Result<PieceId> piece_id(std::string_view text) {
  if (text.empty()) return quantity::invalid("a piece needs a name");
  if (text.size() > kPieceIdLongest) {
    return quantity::invalid(
        fmt::format("'{}' is longer than {} characters: a label could not carry it", text, kPieceIdLongest));
  }
  if (!is_letter(text.front()) && !is_digit(text.front())) {
    return quantity::invalid(fmt::format("'{}' must begin with a letter or a digit", text));
  }
  if (!std::all_of(text.begin(), text.end(), may_stand)) {
    return quantity::invalid(fmt::format("'{}' may hold letters, digits, '-', '_' and '.' only", text));
  }
  if (text.find("..") != std::string_view::npos) {
    return quantity::invalid(fmt::format("'{}' is a range, not a name", text));
  }
  return PieceId(std::string(text));
}

Result<std::vector<std::string>> expand_range(std::string_view text) {
  const auto dots = text.find("..");
  if (dots == std::string_view::npos) return std::vector<std::string>{std::string(text)};
  const Numbered first = cut(text.substr(0, dots));
  const Numbered last = cut(text.substr(dots + 2));
  const auto from = number_of(first.digits);
  const auto to = number_of(last.digits);
  if (!from || !to || (!last.stem.empty() && last.stem != first.stem)) {
    return quantity::invalid(fmt::format("'{}' is not a range: write it like fern-01..06", text));
  }
  if (*to < *from) return quantity::invalid(fmt::format("'{}' runs backwards", text));
  if (*to - *from >= kRangeLongest) {
    return quantity::invalid(fmt::format("'{}' names more than {} pieces", text, kRangeLongest));
  }
  return numbered(first, *from, *to);
}

Result<PieceId> resolve_piece(std::string_view text, std::span<const PieceId> in_progress) {
  auto exact = exact_piece(text, in_progress);
  if (exact || text.empty()) return exact;
  std::vector<PieceId> candidates;
  std::copy_if(in_progress.begin(), in_progress.end(), std::back_inserter(candidates),
               [&](const PieceId& piece) { return piece.text().starts_with(text); });
  if (candidates.empty()) return exact;
  if (candidates.size() == 1) return candidates.front();
  std::sort(candidates.begin(), candidates.end());
  return ambiguous(text, candidates);
}

Result<std::vector<PieceId>> resolve_pieces(std::span<const std::string> texts,
                                            std::span<const PieceId> in_progress) {
  std::vector<PieceId> all;
  for (const std::string& text : texts) {
    const auto pieces = resolve_one(text, in_progress);
    if (!pieces) return pieces.error();
    for (const PieceId& piece : *pieces) {
      if (std::find(all.begin(), all.end(), piece) != all.end()) {
        return quantity::refused(fmt::format("{} is named twice", piece.text()));
      }
      all.push_back(piece);
    }
  }
  return all;
}

}  // namespace setwell::core
