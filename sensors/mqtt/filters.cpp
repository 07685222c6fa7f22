#include "sensors/mqtt/filters.hpp"

#include <algorithm>
#include <iterator>

namespace setwell::mqtt {
namespace {

constexpr std::size_t kLongestTopic = 65535;

bool plain_text(std::string_view text) {
  return !text.empty() && text.size() <= kLongestTopic && text.find('\0') == std::string_view::npos;
}

bool allowed_level(std::string_view level, bool last) {
  if (level == "+" || (level == "#" && last)) return true;
  return level.find_first_of("+#") == std::string_view::npos;
}

}  // namespace

bool allowed_filter(std::string_view filter) {
  if (!plain_text(filter)) return false;
  while (true) {
    const auto slash = filter.find('/');
    const bool last = slash == std::string_view::npos;
    if (!allowed_level(filter.substr(0, slash), last)) return false;
    if (last) return true;
    filter.remove_prefix(slash + 1);
  }
}

bool allowed_topic(std::string_view topic) {
  return plain_text(topic) && topic.find_first_of("+#") == std::string_view::npos;
}

std::vector<std::string> tidy(std::vector<std::string> filters) {
  std::erase_if(filters, [](const std::string& filter) { return !allowed_filter(filter); });
  std::sort(filters.begin(), filters.end());
  filters.erase(std::unique(filters.begin(), filters.end()), filters.end());
  return filters;
}

std::vector<std::string> removed(const std::vector<std::string>& before,
                                 const std::vector<std::string>& now) {
  std::vector<std::string> gone;
  std::set_difference(before.begin(), before.end(), now.begin(), now.end(), std::back_inserter(gone));
  return gone;
}

std::vector<std::string> joined(const std::vector<std::string>& a, const std::vector<std::string>& b) {
  std::vector<std::string> all;
  std::set_union(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(all));
  return all;
}

}  // namespace setwell::mqtt
