#pragma once

#include <string>
#include <utility>

#include "daemon/ledger/outbox.hpp"

/// How messages leave the house. A route only carries the bytes that the outbox keeps; every attempt sends
/// the same ones. Delivery is at least once: whoever receives tells repeats by the `id` in the body.
namespace setwell::notices {

struct SendResult {
  enum class What {
    sent,
    failed,  ///< this parcel, this time; its next try moves away from attempt to attempt
    away,    ///< whatever the parcel: nobody is there to take it; the whole route waits, no parcel in
             ///< particular
    final,   ///< no further attempt can help: given up at once
  };
  What what = What::sent;
  std::string text;  ///< for a person, of all but `sent`

  static SendResult sent() { return {}; }
  static SendResult failed(std::string text) { return {What::failed, std::move(text)}; }
  static SendResult away(std::string text) { return {What::away, std::move(text)}; }
  static SendResult final(std::string text) { return {What::final, std::move(text)}; }
};

/// One way out. Threads: `send` is called by one thread at a time (the route's courier, or the loop for a
/// route that never blocks); `cancel` by the loop, also while `send` runs.
class RouteSender {
 public:
  RouteSender() = default;
  RouteSender(const RouteSender&) = delete;
  RouteSender& operator=(const RouteSender&) = delete;
  virtual ~RouteSender() = default;

  [[nodiscard]] virtual SendResult send(const ledger::Delivery& delivery) = 0;
  /// Makes a running `send` end soon and every later one at once. For good.
  virtual void cancel() noexcept {}
};

}  // namespace setwell::notices
