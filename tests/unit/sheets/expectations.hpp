#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/toml_text/fault.hpp"

/// Files that say in their first lines what reading them must tell: `# expect: ` before each fault and `#
/// warn: ` before each warning, each in full but for the file's name.
namespace setwell::expectations {

inline std::string text_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline std::vector<std::filesystem::path> toml_files(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".toml") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

inline std::vector<std::string> lines_after(std::string_view text, std::string_view mark) {
  std::vector<std::string> lines;
  while (text.starts_with("# ")) {
    const auto end = std::min(text.find('\n'), text.size());
    if (text.starts_with(mark)) lines.emplace_back(text.substr(mark.size(), end - mark.size()));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return lines;
}

inline std::vector<std::string> expected_faults(std::string_view text) {
  return lines_after(text, "# expect: ");
}

inline std::vector<std::string> expected_warnings(std::string_view text) {
  return lines_after(text, "# warn: ");
}

inline std::vector<std::string> described(const std::vector<toml_text::Fault>& faults) {
  std::vector<std::string> lines;
  for (const auto& fault : faults)
    lines.push_back(toml_text::describe(fault).substr(fault.file.size() + 1));
  return lines;
}

}  // namespace setwell::expectations
