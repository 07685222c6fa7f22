#include "cli/commands/check_sheet.hpp"

#include <fstream>
#include <iterator>

#include "daemon/sheets/sheet_reader.hpp"

namespace setwell::cli {
namespace {

std::vector<SheetFinding> findings_of(const std::vector<sheets::Fault>& faults) {
  std::vector<SheetFinding> findings;
  for (const auto& fault : faults)
    findings.push_back({fault.file, fault.line, fault.key, fault.what, fault.right, sheets::describe(fault)});
  return findings;
}

quantity::Result<std::string> text_of(const std::filesystem::path& file) {
  std::error_code error;
  if (!std::filesystem::exists(file, error)) return quantity::not_found("there is no file " + file.string());
  std::ifstream in(file, std::ios::binary);
  if (!in || std::filesystem::is_directory(file, error))
    return quantity::refused(file.string() + " cannot be read; is it a file, and yours to read?");
  return std::string(std::istreambuf_iterator<char>(in), {});
}

/// What the sheets in the same folder call themselves; nothing where this one stands alone.
sheets::KnownSheets beside(const std::filesystem::path& file) {
  std::error_code error;
  const auto folder = file.has_parent_path() ? file.parent_path() : std::filesystem::path(".");
  std::vector<std::string> ids;
  for (const auto& item : std::filesystem::directory_iterator(folder, error)) {
    if (item.path().extension() != ".toml") continue;
    const auto text = text_of(item.path());
    if (auto id = text ? sheets::sheet_id(*text) : std::nullopt) ids.push_back(std::move(*id));
  }
  if (ids.size() < 2) return std::nullopt;
  return ids;
}

}  // namespace

quantity::Result<SheetCheck> check_sheet(const std::filesystem::path& file) {
  const auto text = text_of(file);
  if (!text) return text.error();
  const auto reading = sheets::read_sheet(*text, file.string(), beside(file));
  SheetCheck check;
  check.file = file.string();
  check.ok = reading.material.has_value();
  if (reading.material) check.sheet = reading.material->id.text();
  check.faults = findings_of(reading.faults);
  check.warnings = findings_of(reading.warnings);
  return check;
}

}  // namespace setwell::cli
