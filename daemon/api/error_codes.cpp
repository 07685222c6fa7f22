#include "daemon/api/error_codes.hpp"

#include <algorithm>
#include <array>

namespace setwell::api {

namespace {

using quantity::ErrorKind;

struct Row {
  ErrorKind kind;
  std::string_view word;
  int exit;
};
constexpr std::array kRows{
    Row{ErrorKind::refused, "refused", 1},         Row{ErrorKind::usage, "usage", 2},
    Row{ErrorKind::unreachable, "unreachable", 3}, Row{ErrorKind::not_found, "not-found", 4},
    Row{ErrorKind::invalid, "invalid", 5},
};

const Row& row_of(ErrorKind kind) {
  return *std::find_if(kRows.begin(), kRows.end() - 1, [&](const Row& row) { return row.kind == kind; });
}

}  // namespace

std::string_view kind_word(ErrorKind kind) {
  return row_of(kind).word;
}

ErrorKind kind_of(std::string_view word) {
  if (word == kProtocolKind) return ErrorKind::unreachable;
  const auto row = std::find_if(kRows.begin(), kRows.end(), [&](const Row& r) { return r.word == word; });
  return row == kRows.end() ? ErrorKind::refused : row->kind;
}

RpcCode code_of(ErrorKind kind) {
  return kind == ErrorKind::usage ? RpcCode::invalid_params : RpcCode::refused;
}

int exit_code(ErrorKind kind) {
  return row_of(kind).exit;
}

}  // namespace setwell::api
