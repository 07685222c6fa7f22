#pragma once

#include <cassert>
#include <functional>
#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/api/codec.hpp"
#include "sensors/quantity/error.hpp"

namespace setwell::rpc {

struct Parameter {
  std::string name;
  std::string type;  ///< in words: `text`, `number`, `list of text` …
  bool required = false;
  std::string description;
};

/// What is left to do of a call when the loop has worked out what is wanted: reading for long, which the
/// reader does. It has all it needs with it and touches nothing of the loop's.
using Work = std::function<quantity::Result<boost::json::object>()>;

/// One row of the method table: all there is to know of a method, and what does it. `describe` answers from
/// it.
struct Method {
  using Handler = std::function<quantity::Result<boost::json::object>(const boost::json::object& params)>;
  using Planner = std::function<quantity::Result<Work>(const boost::json::object& params)>;

  std::string name;
  std::string description;
  std::vector<Parameter> params;
  std::string result;  ///< the answer in words
  boost::json::object params_schema;
  boost::json::object result_schema;
  Handler handler;  ///< on the loop; nothing where there is a planner
  Planner planner;  ///< on the loop; what it answers is carried out on the reader
};

/// What a parameter means, by its name.
struct Meaning {
  std::string_view parameter;
  std::string_view words;
};

/// The parameters of a described struct, with what they mean. Each meaning must be of a member that is there.
template <typename Params>
[[nodiscard]] std::vector<Parameter> parameters_of(std::initializer_list<Meaning> meanings) {
  std::vector<Parameter> params;
  for (auto& note : api::members_of<Params>())
    params.push_back({note.name, note.type, note.required, ""});
  for (const auto& meaning : meanings) {
    [[maybe_unused]] bool known = false;
    for (auto& param : params) {
      if (param.name == meaning.parameter) param.description = meaning.words, known = true;
    }
    assert(known);
  }
  return params;
}

/// A row with everything but its handler.
template <typename Params, typename Answer>
[[nodiscard]] Method described_method(std::string name, std::string description, std::string result,
                                      std::initializer_list<Meaning> meanings) {
  return {std::move(name),
          std::move(description),
          parameters_of<Params>(meanings),
          std::move(result),
          api::codec::schema<Params>(api::SchemaSide::request),
          api::codec::schema<Answer>(api::SchemaSide::answer),
          {},
          {}};
}

/// Makes a row of a function from one described struct to another. Parameters that do not fit are refused
/// (kind usage) before `function` is called; what it refuses is passed on.
template <typename Params, typename Answer>
[[nodiscard]] Method row(std::string name, std::string description, std::string result,
                         std::initializer_list<Meaning> meanings,
                         std::function<quantity::Result<Answer>(const Params&)> function) {
  auto method =
      described_method<Params, Answer>(std::move(name), std::move(description), std::move(result), meanings);
  method.handler = [function = std::move(function)](
                       const boost::json::object& params) -> quantity::Result<boost::json::object> {
    const auto read = api::from_json<Params>(params);
    if (!read) return read.error();
    const auto answer = function(*read);
    if (!answer) return answer.error();
    return api::to_object(*answer);
  };
  return method;
}

/// The same of a function that plans on the loop what the reader then does.
template <typename Params, typename Answer>
[[nodiscard]] Method reader_row(
    std::string name, std::string description, std::string result, std::initializer_list<Meaning> meanings,
    std::function<quantity::Result<std::function<quantity::Result<Answer>()>>(const Params&)> plan) {
  auto method =
      described_method<Params, Answer>(std::move(name), std::move(description), std::move(result), meanings);
  method.planner = [plan = std::move(plan)](const boost::json::object& params) -> quantity::Result<Work> {
    const auto read = api::from_json<Params>(params);
    if (!read) return read.error();
    auto planned = plan(*read);
    if (!planned) return planned.error();
    return Work([work = std::move(*planned)]() -> quantity::Result<boost::json::object> {
      const auto answer = work();
      if (!answer) return answer.error();
      return api::to_object(*answer);
    });
  };
  return method;
}

}  // namespace setwell::rpc
