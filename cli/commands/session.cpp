#include "cli/commands/session.hpp"

#include <fstream>
#include <ostream>

#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/json.hpp"

namespace setwell::cli {

quantity::Result<Object> Session::call(std::string_view method, const Object& params,
                                       std::chrono::milliseconds patience) {
  if (!call_) {
    std::optional<std::filesystem::path> socket;
    if (wishes_.socket) socket = *wishes_.socket;
    auto reached = world_.connect(socket);
    if (!reached) return reached.error();
    call_ = std::move(*reached);
  }
  auto answer = call_(method, params, patience);
  if (answer && answer->contains("rehearsal")) rehearsal_ = answer->at("rehearsal") == true;
  return answer;
}

int Session::show(const Object& object, std::string_view text) {
  if (wishes_.json) {
    Object marked = object;
    if (rehearsal_) marked["rehearsal"] = true;
    print(one_line(marked));
    return kDone;
  }
  if (rehearsal_ && !text.starts_with(kRehearsal)) print(std::string(kRehearsal) + "\n");
  print(text);
  return kDone;
}

void Session::print(std::string_view text) {
  world_.out << text;
}

int Session::fail(const quantity::Error& error) {
  if (wishes_.json) {
    world_.out << error_line(error);
  } else {
    world_.err << "setwell: " << error.detail << '\n';
  }
  return exit_code(error);
}

Look Session::look() const {
  const bool unwanted = wishes_.no_colour || (world_.no_color && !world_.no_color->empty());
  return {world_.clock_now, world_.on_terminal && !unwanted ? Colour::on : Colour::off};
}

quantity::Error Session::not_understood(std::string_view method, const quantity::Error& why) {
  return {
      quantity::ErrorKind::unreachable,
      fmt::format("setwelld answered {} in a form this program does not know ({}); bring both to one version",
                  method, why.detail)};
}

int Session::write_page(const std::filesystem::path& file, std::string_view page) {
  std::ofstream out(file, std::ios::binary | std::ios::trunc);
  out << page;
  out.close();
  if (!out) return fail(quantity::refused(file.string() + " cannot be written"));
  return kDone;
}

}  // namespace setwell::cli
