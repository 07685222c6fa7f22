#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace setwell::api {

/// The longest request line, newline included.
inline constexpr std::size_t kLongestRequest = std::size_t{1} << 20;
/// The longest answer line. A longer answer is replaced by an error that asks for less.
inline constexpr std::size_t kLongestAnswer = std::size_t{8} << 20;

/// Cuts a stream of bytes into lines. A `\r` before the newline is dropped, as are empty lines.
class LineCutter {
 public:
  explicit LineCutter(std::size_t longest) : longest_(longest) {}

  void add(std::string_view bytes);
  /// The next whole line without its end, if there is one. After `too_long` there is none any more.
  [[nodiscard]] std::optional<std::string> next();
  /// True once a line was, or is going to be, longer than allowed; the stream cannot be read on from there.
  [[nodiscard]] bool too_long() const { return too_long_; }

 private:
  void compact();

  std::size_t longest_;
  std::string buffer_;
  std::size_t taken_ = 0;    ///< before it: given out
  std::size_t scanned_ = 0;  ///< before it: no newline
  bool too_long_ = false;
};

}  // namespace setwell::api
