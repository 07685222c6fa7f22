#include "daemon/api/frame.hpp"

namespace setwell::api {

void LineCutter::add(std::string_view bytes) {
  compact();
  buffer_.append(bytes);
}

std::optional<std::string> LineCutter::next() {
  while (!too_long_) {
    const auto end = buffer_.find('\n', scanned_);
    scanned_ = end == std::string::npos ? buffer_.size() : end + 1;
    if (scanned_ - taken_ > longest_) too_long_ = true;
    if (too_long_ || end == std::string::npos) return {};
    auto line = buffer_.substr(taken_, end - taken_);
    taken_ = scanned_;
    if (line.ends_with('\r')) line.pop_back();
    if (!line.empty()) return line;
  }
  return {};
}

void LineCutter::compact() {
  buffer_.erase(0, taken_);
  scanned_ -= taken_;
  taken_ = 0;
}

}  // namespace setwell::api
