#include "daemon/rpc/dispatcher.hpp"

#include <algorithm>
#include <cassert>
#include <exception>
#include <utility>

#include <boost/describe.hpp>
#include <fmt/format.h>

#include "daemon/api/frame.hpp"

namespace setwell::rpc {

namespace json = boost::json;
using api::Call;
using api::CallFault;
using api::RpcCode;

namespace {

struct HelloParams {
  std::string client;
  int protocol = 0;
};
BOOST_DESCRIBE_STRUCT(HelloParams, (), (client, protocol))

struct HelloAnswer {
  std::string daemon = "setwelld";
  std::string version = SETWELL_VERSION;
  int protocol = api::kProtocol;
};
BOOST_DESCRIBE_STRUCT(HelloAnswer, (), (daemon, version, protocol))

struct DescribeParams {};
BOOST_DESCRIBE_STRUCT(DescribeParams, (), ())

struct ParameterNote {
  std::string name;
  std::string type;
  bool required = false;
  std::string description;
};
BOOST_DESCRIBE_STRUCT(ParameterNote, (), (name, type, required, description))

struct MethodNote {
  std::string name;
  std::string description;
  std::vector<ParameterNote> params;
  std::string result;
  json::value params_schema;
  json::value result_schema;
};
BOOST_DESCRIBE_STRUCT(MethodNote, (), (name, description, params, result, params_schema, result_schema))

struct DescribeAnswer {
  int version = 1;
  int protocol = api::kProtocol;
  std::vector<MethodNote> methods;
};
BOOST_DESCRIBE_STRUCT(DescribeAnswer, (), (version, protocol, methods))

constexpr std::string_view kHello = "hello";
constexpr std::string_view kDescribe = "describe";
constexpr std::size_t kLongestClientName = 100;

CallFault usage(RpcCode code, std::string message) {
  return {code, std::move(message), std::string(api::kind_word(quantity::ErrorKind::usage))};
}

CallFault protocol_fault(std::string message) {
  return {RpcCode::refused, std::move(message), std::string(api::kProtocolKind)};
}

Outcome refusal(const Call& call, const CallFault& fault) {
  return call.id ? Outcome{api::fault_line(*call.id, fault), {}} : Outcome{};
}

Outcome success(const Call& call, const json::object& result) {
  if (!call.id) return {};
  auto line = api::answer_line(*call.id, result);
  if (line.size() <= api::kLongestAnswer) return {std::move(line), {}};
  return refusal(call,
                 {RpcCode::refused, "the answer is too long to send; ask for a shorter span", "refused"});
}

Outcome outcome_of(const Call& call, const quantity::Result<json::object>& result) {
  return result ? success(call, *result) : refusal(call, api::fault_from(result.error()));
}

/// Our own fault is the caller's answer and the log's news.
template <typename Attempt>
Outcome guarded(const Ready& ready, Attempt attempt) {
  try {
    return attempt();
  } catch (const std::exception& fault) {
    auto outcome = refusal(
        ready.call, {RpcCode::broken, fmt::format("the daemon failed to carry this out: {}", fault.what()),
                     std::string(api::kBrokenKind)});
    outcome.broken = fmt::format("{}: {}", ready.method->name, fault.what());
    return outcome;
  }
}

std::string names_of(const std::vector<Parameter>& params) {
  if (params.empty()) return "it takes none";
  std::vector<std::string_view> names;
  for (const auto& param : params)
    names.push_back(param.name);
  return fmt::format("it takes {}", fmt::join(names, ", "));
}

std::optional<CallFault> wrong_params(const Method& method, const json::object& given) {
  for (const auto& [key, value] : given) {
    const std::string_view name = key;
    const auto known = std::any_of(method.params.begin(), method.params.end(),
                                   [&](const Parameter& param) { return param.name == name; });
    if (known) continue;
    return usage(RpcCode::invalid_params,
                 fmt::format("`{}` is no parameter of {}; {}", name, method.name, names_of(method.params)));
  }
  for (const auto& param : method.params) {
    const auto* value = given.if_contains(param.name);
    if (!param.required || (value != nullptr && !value->is_null())) continue;
    return usage(RpcCode::invalid_params, fmt::format("{} needs `{}`", method.name, param.name));
  }
  return {};
}

MethodNote note_of(const Method& method) {
  MethodNote note{method.name,   method.description,   {},
                  method.result, method.params_schema, method.result_schema};
  for (const auto& param : method.params) {
    note.params.push_back({param.name, param.type, param.required, param.description});
  }
  return note;
}

}  // namespace

Dispatcher::Dispatcher(std::vector<Method> methods) {
  methods.push_back(described_method<HelloParams, HelloAnswer>(
      std::string(kHello), "Must be a client's first call.", "who answers, its version and protocol",
      {{"client", "what the client is, for the log"}, {"protocol", "the protocol it speaks: 1"}}));
  methods.push_back(described_method<DescribeParams, DescribeAnswer>(
      std::string(kDescribe), "Lists every method.", "each method with its parameters, result and schemas",
      {}));
  for (auto& method : methods) {
    auto name = method.name;
    [[maybe_unused]] const auto added = methods_.emplace(std::move(name), std::move(method));
    assert(added.second);
  }
}

std::variant<Ready, Outcome> Dispatcher::read(std::string_view line, Caller& caller) const {
  auto parsed = api::parse_call(line);
  if (const auto* none = std::get_if<api::NoCall>(&parsed)) {
    return Outcome{api::fault_line(none->id, none->fault), {}};
  }
  auto& call = std::get<Call>(parsed);
  if (const auto fault = objection(call, caller)) return refusal(call, *fault);
  if (call.method == kHello) return hello(call, caller);
  if (call.method == kDescribe) return success(call, describe());
  const Method& method = methods_.find(call.method)->second;
  return Ready{&method, std::move(call)};
}

std::variant<Work, Outcome> Dispatcher::plan(const Ready& ready) const {
  std::optional<Work> planned;
  auto outcome = guarded(ready, [&]() -> Outcome {
    auto work = ready.method->planner(ready.call.params);
    if (!work) return refusal(ready.call, api::fault_from(work.error()));
    planned = std::move(*work);
    return {};
  });
  if (planned) return std::move(*planned);
  return outcome;
}

Outcome Dispatcher::finish(const Ready& ready, const Work& work) {
  return guarded(ready, [&] { return outcome_of(ready.call, work()); });
}

Outcome Dispatcher::carry_out(const Ready& ready) const {
  if (!ready.method->planner) {
    return guarded(ready, [&] { return outcome_of(ready.call, ready.method->handler(ready.call.params)); });
  }
  auto planned = plan(ready);
  if (auto* done = std::get_if<Outcome>(&planned)) return std::move(*done);
  return finish(ready, std::get<Work>(planned));
}

Outcome Dispatcher::answer(std::string_view line, Caller& caller) const {
  auto read_line = read(line, caller);
  if (auto* done = std::get_if<Outcome>(&read_line)) return std::move(*done);
  return carry_out(std::get<Ready>(read_line));
}

std::optional<CallFault> Dispatcher::objection(const Call& call, const Caller& caller) const {
  if (!caller.greeted && call.method != kHello) {
    return protocol_fault("the first call must be hello, with `client` and `protocol`");
  }
  const auto method = methods_.find(call.method);
  if (method == methods_.end()) {
    return usage(RpcCode::method_not_found,
                 fmt::format("there is no method `{}`; describe lists them", call.method));
  }
  return wrong_params(method->second, call.params);
}

Outcome Dispatcher::hello(const Call& call, Caller& caller) const {
  const auto params = api::from_json<HelloParams>(call.params);
  if (!params) return refusal(call, api::fault_from(params.error()));
  if (params->protocol != api::kProtocol) {
    return refusal(call,
                   protocol_fault(fmt::format(
                       "this daemon ({}) speaks protocol {}, the client speaks {}; bring both to one version",
                       SETWELL_VERSION, api::kProtocol, params->protocol)));
  }
  caller.greeted = true;
  caller.client = params->client.substr(0, kLongestClientName);
  return success(call, api::to_object(HelloAnswer{}));
}

json::object Dispatcher::describe() const {
  DescribeAnswer answer;
  for (const auto& [name, method] : methods_)
    answer.methods.push_back(note_of(method));
  return api::to_object(answer);
}

std::string Dispatcher::too_long() {
  return api::fault_line(nullptr,
                         usage(RpcCode::invalid_request,
                               fmt::format("a line may be {} bytes long at most", api::kLongestRequest)));
}

std::string Dispatcher::too_many() {
  return api::fault_line(nullptr,
                         {RpcCode::refused, "too many clients at once; close one and try again", "refused"});
}

}  // namespace setwell::rpc
