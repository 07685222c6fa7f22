#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace setwell::mqtt {

/// Whether MQTT 3.1.1 allows it as a topic filter. A broker answers a forbidden one by closing the
/// connection, so one of them would keep every other from being heard.
[[nodiscard]] bool allowed_filter(std::string_view filter);
/// Whether something may be published there: not empty, no wildcards, no NUL.
[[nodiscard]] bool allowed_topic(std::string_view topic);

/// The allowed ones, each once, sorted.
[[nodiscard]] std::vector<std::string> tidy(std::vector<std::string> filters);
/// What is in `before` and not in `now`; both tidy.
[[nodiscard]] std::vector<std::string> removed(const std::vector<std::string>& before,
                                               const std::vector<std::string>& now);
/// Everything in either; both tidy.
[[nodiscard]] std::vector<std::string> joined(const std::vector<std::string>& a,
                                              const std::vector<std::string>& b);

}  // namespace setwell::mqtt
