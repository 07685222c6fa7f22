#include "cli/commands/account_files.hpp"

#include <fstream>
#include <iterator>

#include "daemon/api/review_answer.hpp"
#include "daemon/cases/account.hpp"
#include "daemon/core/review_mates.hpp"

namespace setwell::cli {
namespace {

/// A year of readings by the minute is less.
constexpr std::uintmax_t kLargestFile = 64u << 20;

quantity::Result<std::string> text_of(const std::filesystem::path& file) {
  std::error_code error;
  if (!std::filesystem::exists(file, error)) return quantity::not_found("there is no file " + file.string());
  if (!std::filesystem::is_regular_file(file, error) ||
      std::filesystem::file_size(file, error) > kLargestFile)
    return quantity::refused(file.string() + " is no plain file of at most 64 MB");
  std::ifstream in(file, std::ios::binary);
  if (!in) return quantity::refused(file.string() + " cannot be read; is it yours to read?");
  return std::string(std::istreambuf_iterator<char>(in), {});
}

const core::Piece* piece_of(const cases::Account& account, const std::optional<std::string>& name) {
  if (!name) return account.subject();
  for (const auto& piece : account.file.workbook.pieces) {
    if (piece.id.text() == *name) return &piece;
  }
  return nullptr;
}

}  // namespace

quantity::Result<api::ReviewAnswer> review_file(const std::filesystem::path& file,
                                                const std::optional<std::string>& piece,
                                                std::optional<int> coat) {
  const auto text = text_of(file);
  if (!text) return text.error();
  const auto reading = cases::read_account(
      *text, file.string(), [&](const std::string& name) { return text_of(file.parent_path() / name); });
  if (!reading.account) {
    std::string faults;
    for (const auto& fault : reading.faults)
      faults += (faults.empty() ? "" : "\n") + toml_text::describe(fault);
    return quantity::invalid(std::move(faults));
  }
  const auto& account = *reading.account;
  const auto* named = piece_of(account, piece);
  if (named == nullptr) return quantity::not_found("the account holds no piece " + piece.value_or(""));
  const auto subject = core::subject_of(*named, coat ? coat : piece ? std::nullopt : account.coat);
  if (!subject) return subject.error();
  auto signs = core::signs_on(*named, named->coats[subject->coat]);
  return api::review_answer(account.file, *subject, std::move(signs));
}

}  // namespace setwell::cli
