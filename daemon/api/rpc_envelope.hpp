#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include <boost/json/object.hpp>
#include <boost/json/value.hpp>

#include "daemon/api/error_codes.hpp"

/// JSON-RPC 2.0, one message a line, named parameters and object results only. Pure; any thread.
namespace setwell::api {

/// A call. Without an id it is a notification: it is carried out and never answered.
struct Call {
  std::optional<boost::json::value> id;  ///< text, number or null
  std::string method;
  boost::json::object params;
};

/// Why a call failed, as it travels.
struct CallFault {
  RpcCode code = RpcCode::refused;
  std::string message;
  std::string kind;

  friend bool operator==(const CallFault&, const CallFault&) = default;
};

/// A line that is no call, with the id it had if one could be made out.
struct NoCall {
  boost::json::value id;
  CallFault fault;
};

[[nodiscard]] CallFault fault_from(const quantity::Error& error);

/// Reads a request line: parse_error when it is no JSON, invalid_request when it is no call of version 2.0
/// (or several at once), invalid_params when its parameters go by position.
[[nodiscard]] std::variant<Call, NoCall> parse_call(std::string_view line);

/// Each ends with its newline and has no other.
[[nodiscard]] std::string call_line(std::int64_t id, std::string_view method,
                                    const boost::json::object& params);
[[nodiscard]] std::string answer_line(const boost::json::value& id, const boost::json::object& result);
[[nodiscard]] std::string fault_line(const boost::json::value& id, const CallFault& fault);

/// Reads the answer to call `id`. Error: what the daemon refused with; or unreachable, when the line is not
/// an answer to that call at all.
[[nodiscard]] quantity::Result<boost::json::object> parse_answer(std::string_view line, std::int64_t id);

}  // namespace setwell::api
