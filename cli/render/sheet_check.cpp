#include "cli/render/sheet_check.hpp"

#include <fmt/format.h>

namespace setwell::cli {

std::string to_text(const SheetCheck& check) {
  std::string text;
  for (const auto& fault : check.faults)
    text += fault.text + '\n';
  for (const auto& warning : check.warnings)
    text += "to look at: " + warning.text + '\n';
  text += check.ok ? fmt::format("{}: {} can be used", check.file, check.sheet)
                   : fmt::format("{}: not usable", check.file);
  return text + fmt::format(" ({} faults, {} to look at)\n", check.faults.size(), check.warnings.size());
}

}  // namespace setwell::cli
