#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "daemon/cases/account.hpp"
#include "daemon/toml_text/reader.hpp"

/// The reader's parts.
namespace setwell::cases {

using Rooms = std::map<quantity::ZoneId, core::AirHistory>;

/// What the parts of an account are read into.
struct Draft {
  quantity::Instant start;
  std::vector<core::Entry> entries;
  std::map<quantity::SheetId, quantity::EditionId> editions;
  std::map<quantity::EditionId, std::shared_ptr<const core::Material>> materials;
  std::shared_ptr<Rooms> rooms = std::make_shared<Rooms>();
  core::CaseFile file;

  /// Adds an entry, and its strike where the table says `struck = true`.
  void add(toml_text::Table& table, const std::string& piece, quantity::Instant at, core::EntryBody body);
  /// The edition of a sheet of this account; without one a number that no material has.
  [[nodiscard]] quantity::EditionId edition(const quantity::SheetId& sheet) const;
};

/// A moment: RFC 3339 as TOML writes it, or a span as `18 h`, `-3 d` after `start`.
[[nodiscard]] std::optional<quantity::Instant> moment(toml_text::Table& table, std::string_view key,
                                                      quantity::Instant start);
[[nodiscard]] quantity::Instant need_moment(toml_text::Table& table, std::string_view key,
                                            quantity::Instant start);
/// A span without sign, as `20 min`.
[[nodiscard]] std::optional<quantity::Span> span(toml_text::Table& table, std::string_view key);

void read_zone(toml_text::Table& zone, Draft& draft, const FileText& files);
void read_batch(toml_text::Table& batch, Draft& draft);
void read_piece(toml_text::Table& piece, Draft& draft);
/// Forms, lots opened, rotators.
void read_surroundings(toml_text::Table& root, Draft& draft);

}  // namespace setwell::cases
