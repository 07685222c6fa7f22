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

/// Which thread carries a method out. What may read for long runs on the reader, all else on the loop.
enum class Runs { on_loop, on_reader };

/// One row of the method table: all there is to know of a method, and what does it. `describe` answers from
/// it.
struct Method {
  using Handler = std::function<quantity::Result<boost::json::object>(const boost::json::object& params)>;

  std::string name;
  std::string description;
  std::vector<Parameter> params;
  std::string result;  ///< the answer in words
  boost::json::object params_schema;
  boost::json::object result_schema;
  Handler handler;
  Runs runs = Runs::on_loop;
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
          Runs::on_loop};
}

/// Makes a row of a function from one described struct to another. Parameters that do not fit are refused
/// (kind usage) before `function` is called; what it refuses is passed on.
template <typename Params, typename Answer>
[[nodiscard]] Method row(std::string name, std::string description, std::string result,
                         std::initializer_list<Meaning> meanings,
                         std::function<quantity::Result<Answer>(const Params&)> function,
                         Runs runs = Runs::on_loop) {
  auto method =
      described_method<Params, Answer>(std::move(name), std::move(description), std::move(result), meanings);
  method.runs = runs;
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

}  // namespace setwell::rpc
