#pragma once

#include <functional>
#include <string>
#include <string_view>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>

namespace setwell::runtime {

/// What to do when a coroutine ends by an exception: its name, and what it said. Logging, and closing the one
/// conversation, or stopping the daemon.
using OnBroken = std::function<void(std::string_view name, std::string_view what)>;
using OnEnd = std::function<void()>;

/// Starts a coroutine that nobody waits for, without losing what it throws: `broken` is told, then `ended` is
/// called either way (may be empty). Both run on `where`.
/// This header brings in Asio's coroutines, which are slow to compile: include it in few files.
void guarded_spawn(const boost::asio::any_io_executor& where, std::string name,
                   boost::asio::awaitable<void> work, OnBroken broken, OnEnd ended = {});

}  // namespace setwell::runtime
