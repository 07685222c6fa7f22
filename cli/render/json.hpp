#pragma once

#include <string>

#include <boost/json/object.hpp>

#include "cli/render/page.hpp"
#include "sensors/quantity/error.hpp"

/// What a program reads: one object on one line, as the daemon answered it.
namespace setwell::cli {

[[nodiscard]] std::string one_line(const boost::json::object& object);
/// `{"version":1,"error":{"kind":…,"message":…}}` and a newline.
[[nodiscard]] std::string error_line(const quantity::Error& error);
/// The answer of `describe`, one method after the other with what it takes.
[[nodiscard]] std::string methods_text(const boost::json::object& described, Colour colour);

}  // namespace setwell::cli
