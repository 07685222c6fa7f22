#include "daemon/runtime/guarded_spawn.hpp"

#include <exception>
#include <utility>

#include <boost/asio/co_spawn.hpp>

namespace setwell::runtime {

namespace {

std::string words_of(const std::exception_ptr& thrown) {
  try {
    std::rethrow_exception(thrown);
  } catch (const std::exception& fault) {
    return fault.what();
  } catch (...) {
    return "something that is no exception was thrown";
  }
}

}  // namespace

void guarded_spawn(const boost::asio::any_io_executor& where, std::string name,
                   boost::asio::awaitable<void> work, OnBroken broken, OnEnd ended) {
  boost::asio::co_spawn(where, std::move(work),
                        [name = std::move(name), broken = std::move(broken),
                         ended = std::move(ended)](const std::exception_ptr& thrown) {
                          if (thrown) broken(name, words_of(thrown));
                          if (ended) ended();
                        });
}

}  // namespace setwell::runtime
