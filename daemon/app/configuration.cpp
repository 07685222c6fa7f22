#include "daemon/app/configuration.hpp"

#include <algorithm>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>
#include <optional>
#include <set>

#include <fmt/format.h>

#include "daemon/core/notice.hpp"
#include "daemon/runtime/secret_file.hpp"
#include "daemon/runtime/zone_loader.hpp"
#include "daemon/settings/settings_reader.hpp"
#include "daemon/sheets/schedule_reader.hpp"
#include "daemon/sheets/sheet_reader.hpp"

namespace setwell::app {
namespace {

namespace fs = std::filesystem;

constexpr int kInvalid = 5;

std::optional<std::string> text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in || fs::is_directory(file)) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

std::vector<std::string> lines(const std::vector<toml_text::Fault>& faults) {
  std::vector<std::string> out;
  for (const auto& fault : faults)
    out.push_back(toml_text::describe(fault));
  return out;
}

std::string unreadable(const fs::path& file) {
  return fmt::format(
      "{}:1: the file cannot be read; right: a readable file at that place (--config names another)",
      file.string());
}

std::vector<fs::path> toml_files(const fs::path& folder) {
  std::vector<fs::path> files;
  std::error_code error;
  for (const auto& item : fs::directory_iterator(folder, error)) {
    if (item.path().extension() == ".toml") files.push_back(item.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

/// Collects what the sheets and schedules say, and what they say of each other.
class Materials {
 public:
  explicit Materials(const std::vector<fs::path>& sheet_files) {
    known_.emplace();
    for (const auto& file : sheet_files) {
      const auto text = text_of(file);
      if (auto id = text ? sheets::sheet_id(*text) : std::nullopt) known_->push_back(std::move(*id));
    }
  }
  void sheet(const fs::path& file) {
    const auto text = text_of(file);
    if (!text) return add(unreadable(file));
    const auto reading = sheets::read_sheet(*text, file.string(), known_);
    for (auto& line : lines(reading.faults))
      add(std::move(line));
    for (auto& line : lines(reading.warnings))
      warnings.push_back(std::move(line));
    if (!reading.material) return;
    const auto [known, fresh] = files_.emplace(reading.material->id, file);
    if (!fresh) {
      add(fmt::format("{}:1: id: “{}” is the id of {} too; right: one id per sheet", file.string(),
                      reading.material->id.text(), known->second.string()));
    }
  }
  void schedule(const fs::path& file) {
    const auto text = text_of(file);
    if (!text) return add(unreadable(file));
    const auto reading = sheets::read_schedule(*text, file.string());
    for (auto& line : lines(reading.faults))
      add(std::move(line));
    if (!reading.schedule) return;
    for (const auto& item : reading.schedule->items) {
      const auto* coat = std::get_if<core::PlannedCoat>(&item);
      if (coat != nullptr && !files_.contains(coat->sheet)) {
        add(fmt::format("{}:1: item: there is no sheet “{}”; right: the id of a sheet in sheets/",
                        file.string(), coat->sheet.text()));
      }
    }
  }
  std::vector<std::string> faults;
  std::vector<std::string> warnings;

 private:
  void add(std::string line) { faults.push_back(std::move(line)); }
  std::map<quantity::SheetId, fs::path> files_;
  sheets::KnownSheets known_;
};

/// Secrets are looked at by whoever checks: the daemon alone reads them, and only when it needs them.
std::vector<std::string> secret_faults(const settings::Settings& settings, const fs::path& file) {
  std::vector<std::string> faults;
  const auto look = [&](std::string_view where, const std::string& secret) {
    if (secret.empty()) return;
    const auto read = runtime::read_secret(secret);
    if (!read) faults.push_back(fmt::format("{}: {}: {}", file.string(), where, read.error().detail));
  };
  look("broker.password_file", settings.broker.password_file);
  for (const auto& route : settings.routes) {
    look(fmt::format("route {}", route.id.text()), route.mail.password_file);
    look(fmt::format("route {}", route.id.text()), route.secret_file);
  }
  return faults;
}

void print(std::string_view before, const std::vector<std::string>& lines) {
  for (const auto& line : lines)
    std::cout << before << line << '\n';
}

}  // namespace

Configuration read_configuration(const fs::path& file, quantity::Instant now) {
  const auto text = text_of(file);
  if (!text) return {nullptr, {unreadable(file)}, {}};
  const auto zones = [now](std::string_view name) { return runtime::load_zone(name, now); };
  auto reading = settings::read_settings(*text, file.string(), zones);
  Configuration configuration{nullptr, lines(reading.faults), lines(reading.warnings)};
  if (reading.settings) {
    configuration.settings = std::make_shared<const settings::Settings>(std::move(*reading.settings));
  }
  return configuration;
}

int check_configuration(const fs::path& file, quantity::Instant now) {
  const auto configuration = read_configuration(file, now);
  const auto folder = file.parent_path();
  const auto sheet_files = toml_files(folder / "sheets");
  Materials materials(sheet_files);
  for (const auto& sheet : sheet_files)
    materials.sheet(sheet);
  for (const auto& schedule : toml_files(folder / "schedules"))
    materials.schedule(schedule);
  print("warning: ", configuration.warnings);
  print("warning: ", materials.warnings);
  print("", configuration.faults);
  print("", materials.faults);
  const auto secrets =
      configuration.settings ? secret_faults(*configuration.settings, file) : std::vector<std::string>();
  print("", secrets);
  const auto count = configuration.faults.size() + materials.faults.size() + secrets.size();
  std::cout << (count == 0 ? "No faults found.\n"
                           : fmt::format("{} fault{}.\n", count, count == 1 ? "" : "s"));
  return count == 0 ? 0 : kInvalid;
}

}  // namespace setwell::app
