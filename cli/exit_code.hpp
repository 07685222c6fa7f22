#pragma once

#include "daemon/api/error_codes.hpp"

/// How the program ends; scripts rely on these numbers.
namespace setwell::cli {

inline constexpr int kDone = 0;
inline constexpr int kRefused = 1;      ///< also: `status` found a fault
inline constexpr int kUsage = 2;        ///< the command line itself is wrong
inline constexpr int kUnreachable = 3;  ///< no daemon, or one that speaks another protocol
inline constexpr int kNotFound = 4;
inline constexpr int kInvalid = 5;

[[nodiscard]] inline int exit_code(const quantity::Error& error) {
  return api::exit_code(error.kind);
}

}  // namespace setwell::cli
