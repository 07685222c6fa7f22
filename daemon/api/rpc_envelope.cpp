#include "daemon/api/rpc_envelope.hpp"

#include <utility>

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <fmt/format.h>

namespace setwell::api {

namespace {

namespace json = boost::json;

json::value id_of(const json::object& message) {
  const auto* id = message.if_contains("id");
  return id != nullptr && (id->is_string() || id->is_number()) ? *id : json::value(nullptr);
}

CallFault usage_fault(RpcCode code, std::string message) {
  return {code, std::move(message), std::string(kind_word(quantity::ErrorKind::usage))};
}

NoCall invalid_request(const json::object& message, std::string what) {
  return {id_of(message), usage_fault(RpcCode::invalid_request, std::move(what))};
}

bool is_text(const json::value* value, std::string_view text) {
  return value != nullptr && value->is_string() && value->get_string() == text;
}

std::variant<Call, NoCall> call_from(json::object message) {
  if (!is_text(message.if_contains("jsonrpc"), "2.0")) {
    return invalid_request(message, "a call says \"jsonrpc\":\"2.0\"");
  }
  const auto* method = message.if_contains("method");
  if (method == nullptr || !method->is_string()) return invalid_request(message, "a call names its method");
  Call call{{}, std::string(method->get_string()), {}};
  if (const auto* id = message.if_contains("id")) {
    if (!id->is_string() && !id->is_number() && !id->is_null()) {
      return invalid_request(message, "an id is a text or a number");
    }
    call.id = *id;
  }
  auto* params = message.if_contains("params");
  if (params == nullptr || params->is_null()) return call;
  if (!params->is_object()) {
    return NoCall{id_of(message),
                  usage_fault(RpcCode::invalid_params, "parameters are named: \"params\":{…}")};
  }
  call.params = std::move(params->get_object());
  return call;
}

std::string finished(const json::object& message) {
  return json::serialize(message) + '\n';
}

quantity::Error no_answer(std::string_view why) {
  return {quantity::ErrorKind::unreachable,
          fmt::format("what answers at the socket does not speak our protocol: {}", why)};
}

std::string text_of(const json::value* value, std::string_view otherwise) {
  if (value == nullptr || !value->is_string()) return std::string(otherwise);
  return std::string(value->get_string());
}

quantity::Error error_from(const json::object& fault) {
  const auto* data = fault.if_contains("data");
  const auto* object = data == nullptr ? nullptr : data->if_object();
  const auto kind = text_of(object == nullptr ? nullptr : object->if_contains("kind"), kBrokenKind);
  return {kind_of(kind), text_of(fault.if_contains("message"), "refused without a reason")};
}

}  // namespace

CallFault fault_from(const quantity::Error& error) {
  return {code_of(error.kind), error.detail, std::string(kind_word(error.kind))};
}

std::variant<Call, NoCall> parse_call(std::string_view line) {
  boost::system::error_code failed;
  auto message = json::parse(line, failed);
  if (failed) return NoCall{nullptr, usage_fault(RpcCode::parse_error, "no JSON: " + failed.message())};
  if (message.is_array()) {
    return NoCall{nullptr,
                  usage_fault(RpcCode::invalid_request, "send one call a line, not several in a list")};
  }
  if (!message.is_object()) {
    return NoCall{nullptr, usage_fault(RpcCode::invalid_request, "a call is an object")};
  }
  return call_from(std::move(message.get_object()));
}

std::string call_line(std::int64_t id, std::string_view method, const json::object& params) {
  return finished({{"jsonrpc", "2.0"}, {"id", id}, {"method", method}, {"params", params}});
}

std::string answer_line(const json::value& id, const json::object& result) {
  return finished({{"jsonrpc", "2.0"}, {"id", id}, {"result", result}});
}

std::string fault_line(const json::value& id, const CallFault& fault) {
  const json::object error{{"code", static_cast<int>(fault.code)},
                           {"message", fault.message},
                           {"data", json::object{{"kind", fault.kind}}}};
  return finished({{"jsonrpc", "2.0"}, {"id", id}, {"error", error}});
}

quantity::Result<json::object> parse_answer(std::string_view line, std::int64_t id) {
  boost::system::error_code failed;
  auto message = json::parse(line, failed);
  if (failed || !message.is_object()) return no_answer("no JSON object");
  auto& answer = message.get_object();
  if (!is_text(answer.if_contains("jsonrpc"), "2.0")) return no_answer("no JSON-RPC 2.0");
  if (const auto* error = answer.if_contains("error"); error != nullptr && error->is_object()) {
    // A fault without an id answers a line that the daemon could not read, which can only be ours.
    const auto* whose = answer.if_contains("id");
    if (whose == nullptr || whose->is_null() || *whose == id) return error_from(error->get_object());
  }
  const auto* whose = answer.if_contains("id");
  auto* result = answer.if_contains("result");
  if (whose == nullptr || *whose != id) return no_answer("an answer to another call");
  if (result == nullptr || !result->is_object()) return no_answer("no result");
  return std::move(result->get_object());
}

}  // namespace setwell::api
