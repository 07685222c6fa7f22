#include "cli/render/json.hpp"

#include <vector>

#include <boost/describe.hpp>
#include <boost/json/serialize.hpp>

#include "daemon/api/codec.hpp"
#include "daemon/api/error_codes.hpp"

namespace setwell::cli {
namespace {

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
};
BOOST_DESCRIBE_STRUCT(MethodNote, (), (name, description, params, result))

struct Methods {
  std::vector<MethodNote> methods;
};
BOOST_DESCRIBE_STRUCT(Methods, (), (methods))

void write_method(Page& page, const MethodNote& method) {
  page.line(page.bold(method.name));
  page.paragraph(method.description, 2);
  for (const auto& param : method.params) {
    page.pair("    " + param.name,
              param.type + (param.required ? ", required" : "") + ": " + param.description, 24);
  }
  page.pair("    answers", method.result, 24);
}

}  // namespace

std::string one_line(const boost::json::object& object) {
  return boost::json::serialize(object) + '\n';
}

std::string error_line(const quantity::Error& error) {
  return one_line(
      {{"version", 1}, {"error", {{"kind", api::kind_word(error.kind)}, {"message", error.detail}}}});
}

std::string methods_text(const boost::json::object& described, Colour colour) {
  const auto notes = api::from_json<Methods>(described, api::UnknownKeys::ignored);
  if (!notes) return one_line(described);
  Page page(colour);
  for (const auto& method : notes->methods)
    write_method(page, method);
  return page.text();
}

}  // namespace setwell::cli
