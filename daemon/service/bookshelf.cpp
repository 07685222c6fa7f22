#include "daemon/service/bookshelf.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>

#include <fmt/format.h>

#include "daemon/ledger/fingerprint.hpp"
#include "daemon/sheets/schedule_reader.hpp"
#include "daemon/sheets/sheet_reader.hpp"

namespace setwell::service {
namespace {

namespace fs = std::filesystem;

std::vector<fs::path> toml_files(const fs::path& folder) {
  std::vector<fs::path> files;
  std::error_code error;
  for (const auto& item : fs::directory_iterator(folder, error)) {
    if (item.path().extension() == ".toml") files.push_back(item.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::optional<std::string> text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

sheets::KnownSheets ids_in(const std::vector<fs::path>& files) {
  std::vector<std::string> ids;
  for (const auto& file : files) {
    const auto text = text_of(file);
    if (auto id = text ? sheets::sheet_id(*text) : std::nullopt) ids.push_back(std::move(*id));
  }
  return ids;
}

std::vector<std::string> lines(const std::vector<toml_text::Fault>& faults) {
  std::vector<std::string> out;
  for (const auto& fault : faults)
    out.push_back(toml_text::describe(fault));
  return out;
}

std::string unreadable(const fs::path& file) {
  return fmt::format("{}:1: the file cannot be read; right: make it readable for the daemon's user",
                     file.string());
}

}  // namespace

void Bookshelf::load(const fs::path& folder, ledger::Ledger& ledger, quantity::Instant now) {
  sheets_.clear();
  schedules_.clear();
  homeless_faults_.clear();
  const auto files = toml_files(folder / "sheets");
  const auto known = ids_in(files);
  for (const auto& file : files)
    load_sheet(file, known, ledger, now);
  for (const auto& file : toml_files(folder / "schedules"))
    load_schedule(file);
}

void Bookshelf::load_sheet(const fs::path& file, const sheets::KnownSheets& known, ledger::Ledger& ledger,
                           quantity::Instant now) {
  const auto text = text_of(file);
  if (!text) {
    homeless_faults_.push_back(unreadable(file));
    return;
  }
  auto reading = sheets::read_sheet(*text, file.string(), known);
  if (reading.material) {
    const auto id = reading.material->id;
    const auto edition = ledger.edition_of(id, ledger::fingerprint(*text), *text, now);
    auto material = std::make_shared<const core::Material>(std::move(*reading.material));
    editions_[edition] = material;
    sheets_[id] = {material, edition, {}, lines(reading.warnings)};
    return;
  }
  // The file's name is the only clue to which sheet a broken file was.
  const quantity::SheetId id(file.stem().string());
  const auto last_good = ledger.newest_edition(id);
  if (!last_good) {
    for (auto& fault : lines(reading.faults))
      homeless_faults_.push_back(std::move(fault));
    return;
  }
  sheets_[id] = {edition(last_good->id, ledger), last_good->id, lines(reading.faults), {}};
}

void Bookshelf::load_schedule(const fs::path& file) {
  const auto text = text_of(file);
  if (!text) {
    homeless_faults_.push_back(unreadable(file));
    return;
  }
  auto reading = sheets::read_schedule(*text, file.string());
  if (reading.schedule) {
    const auto id = reading.schedule->id;
    schedules_.insert_or_assign(id, std::move(*reading.schedule));
  }
  for (auto& fault : lines(reading.faults))
    homeless_faults_.push_back(std::move(fault));
}

quantity::Result<const ShelvedSheet*> Bookshelf::find(const std::string& text) const {
  const auto exact = sheets_.find(quantity::SheetId(text));
  if (exact != sheets_.end() && exact->second.material) return &exact->second;
  const ShelvedSheet* only = nullptr;
  std::string known;
  std::string several;
  for (const auto& [id, sheet] : sheets_) {
    if (!sheet.material) continue;
    known += (known.empty() ? "" : ", ") + id.text();
    if (text.empty() || !id.text().starts_with(text)) continue;
    several += (several.empty() ? "" : ", ") + id.text();
    only = only == nullptr ? &sheet : nullptr;
  }
  if (only != nullptr && several.find(',') == std::string::npos) return only;
  if (!several.empty()) {
    return quantity::refused(fmt::format("“{}” could be {}; type more of the sheet's id", text, several));
  }
  return quantity::not_found(fmt::format("there is no sheet “{}”; known sheets: {}", text,
                                         known.empty() ? "none (put one into the folder sheets/)" : known));
}

const core::Schedule* Bookshelf::schedule(const quantity::ScheduleId& id) const {
  const auto found = schedules_.find(id);
  return found == schedules_.end() ? nullptr : &found->second;
}

void Bookshelf::use_priors(const quantity::SheetId& sheet, std::shared_ptr<const core::PriorBook> book) {
  priors_[sheet] = std::move(book);
}

std::shared_ptr<const core::PriorBook> Bookshelf::priors_of(const quantity::SheetId& sheet) const {
  const auto found = priors_.find(sheet);
  return found == priors_.end() ? nullptr : found->second;
}

std::shared_ptr<const core::Material> Bookshelf::edition(quantity::EditionId id, ledger::Ledger& ledger) {
  const auto known = editions_.find(id);
  if (known != editions_.end()) return known->second;
  std::shared_ptr<const core::Material> material;
  if (const auto stored = ledger.edition(id)) {
    auto reading = sheets::read_sheet(stored->text, stored->sheet.text() + ".toml");
    if (reading.material) material = std::make_shared<const core::Material>(std::move(*reading.material));
  }
  editions_[id] = material;
  return material;
}

}  // namespace setwell::service
