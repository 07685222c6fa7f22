#pragma once

#include <string>
#include <utility>

#include <boost/system/result.hpp>

namespace setwell::quantity {

/// Why an expected failure happened. Each maps to one exit code of the command line (interface: 1 refused,
/// 2 usage, 3 unreachable, 4 not found, 5 invalid).
enum class ErrorKind { refused, usage, unreachable, not_found, invalid };

/// An expected failure, in a sentence a person can act on: what happened, where, what to do.
struct Error {
  ErrorKind kind = ErrorKind::refused;
  std::string detail;

  friend bool operator==(const Error&, const Error&) = default;
};

/// Boost needs to know how to turn our error into an exception. We never ask for that: every use reads
/// `if (!result) …`. Declared and not defined, so a hidden throw does not link.
[[noreturn]] void throw_exception_from_error(const Error&, const boost::source_location&);

template <typename T>
using Result = boost::system::result<T, Error>;

[[nodiscard]] inline Error refused(std::string detail) {
  return {ErrorKind::refused, std::move(detail)};
}
[[nodiscard]] inline Error not_found(std::string detail) {
  return {ErrorKind::not_found, std::move(detail)};
}
[[nodiscard]] inline Error invalid(std::string detail) {
  return {ErrorKind::invalid, std::move(detail)};
}

}  // namespace setwell::quantity
