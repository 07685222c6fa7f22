#pragma once

#include <functional>
#include <memory>
#include <optional>

#include "daemon/ledger/inbox.hpp"
#include "daemon/notices/pump.hpp"
#include "daemon/runtime/clocks.hpp"
#include "daemon/runtime/due_timer.hpp"
#include "daemon/runtime/log.hpp"
#include "daemon/service/workshop.hpp"
#include "sensors/mqtt/session.hpp"

namespace boost::asio {
class io_context;
}

namespace setwell::app {

/// Turns the workshop: takes what came in, runs the rules when they are due, keeps the pump going. The named
/// boundary for a broken machine: what the service throws is logged here, and tried again a moment later.
/// Thread: loop only.
class Engine {
 public:
  struct Parts {
    service::Workshop& workshop;
    ledger::Inbox& inbox;
    ledger::InboxReader& reader;
    notices::Pump& pump;
    const runtime::Clock& clock;
    runtime::Log log;
    std::filesystem::path state;
    std::function<mqtt::LinkFacts()> link;
    std::function<void()> again;  ///< have `take_in` called once more, soon
  };
  Engine(boost::asio::io_context& loop, Parts parts);

  /// At most 100 messages; asks to be called again while there are more.
  void take_in();
  /// Rules and unfinished recomputing; arms the timer for the next due instant.
  void tick();
  /// After something was logged.
  void changed();
  /// A delivery ended one way or the other: `settle` writes that down; the next try may be due at another
  /// time.
  void courier_is_back(const std::function<void()>& settle);
  /// Brings what lies around the workshop up to date.
  void look();
  void reload(std::shared_ptr<const settings::Settings> settings);
  [[nodiscard]] quantity::Instant now() const;

 private:
  void guarded(std::string_view what, const std::function<void()>& work);
  void after(quantity::Instant due);
  void send();
  void keep_house();

  Parts parts_;
  runtime::DueTimer rules_;
  runtime::DueTimer pump_;
  std::optional<runtime::SteadyInstant> housed_;
};

}  // namespace setwell::app
