#pragma once

#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "daemon/ledger/connection.hpp"
#include "sensors/quantity/error.hpp"

/// Inside the ledger only: how either of the two files is opened.
namespace setwell::ledger {

/// One of our two kinds of file.
struct FileKind {
  std::string_view name;  ///< for a person: "ledger", "inbox"
  std::int64_t application_id;
  /// What brings an older file up to date, one per version.
  std::span<const std::string_view> migrations;
};

enum class Access { read_only, read_write };

inline constexpr int kBusyTimeoutMs = 5000;

/// Opens a file of ours, makes it where it is absent (not for reading only), and brings it to this version.
/// `make_first` runs inside the transaction that makes a new file.
[[nodiscard]] quantity::Result<std::unique_ptr<Connection>> open_database(
    const std::filesystem::path& file, const FileKind& kind, Access access,
    const std::function<void(Connection&)>& make_first = {});

/// What a person can do about an exception that came while a file was opened or examined.
[[nodiscard]] quantity::Error explained(const std::filesystem::path& file, std::string_view kind_name,
                                        const SQLite::Exception& thrown);

}  // namespace setwell::ledger
