#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace setwell::cli {

/// Whether words may carry colour: on a terminal, unless asked not to. Meaning never rests on colour alone.
enum class Colour { off, on };

/// A text that grows line by line.
class Page {
 public:
  explicit Page(Colour colour) : colour_(colour) {}
  void line(std::string_view text = {});
  /// Two columns: `label` padded to `width` characters (not bytes), then the text.
  void pair(std::string_view label, std::string_view text, int width);
  [[nodiscard]] std::string bold(std::string_view text) const;
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  Colour colour_;
  std::string text_;
};

/// How many columns a UTF-8 text takes (one per code point; the workshop's words have no wide ones).
[[nodiscard]] int columns(std::string_view text);
[[nodiscard]] std::string padded(std::string_view text, int width);

/// Rows under a head, columns as wide as they need, two spaces between; nothing for no rows.
[[nodiscard]] std::string table(const std::vector<std::string>& head,
                                const std::vector<std::vector<std::string>>& rows);

}  // namespace setwell::cli
