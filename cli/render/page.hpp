#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace setwell::cli {

/// Whether words may carry colour: on a terminal, unless asked not to. Meaning never rests on colour alone.
enum class Colour { off, on };

/// How wide every answer is kept.
inline constexpr int kPageWidth = 80;

/// A text that grows line by line.
class Page {
 public:
  explicit Page(Colour colour) : colour_(colour) {}
  void line(std::string_view text = {});
  /// Two columns: `label` padded to `width` columns, then the text, broken between words and carried on under
  /// itself. A label that needs more room stands on a line of its own.
  void pair(std::string_view label, std::string_view text, int width);
  /// Broken between words, every line set in by `indent` columns.
  void paragraph(std::string_view text, int indent = 0) { pair({}, text, indent); }
  [[nodiscard]] std::string bold(std::string_view text) const;
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  Colour colour_;
  std::string text_;
};

/// How many columns a UTF-8 text takes: one per code point (the workshop's words have no wide ones), none for
/// what makes words bold.
[[nodiscard]] int columns(std::string_view text);
[[nodiscard]] std::string padded(std::string_view text, int width);

/// Lines of at most `width` columns, broken between words; a longer word stays whole. Newlines stay.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, int width);

/// Rows under a head, columns as wide as they need, two spaces between; nothing for no rows.
[[nodiscard]] std::string table(const std::vector<std::string>& head,
                                const std::vector<std::vector<std::string>>& rows);

}  // namespace setwell::cli
