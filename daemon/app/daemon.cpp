#include "daemon/app/daemon.hpp"

#include <csignal>
#include <set>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <fmt/format.h>
#include <malloc.h>

#include "daemon/app/broker_link.hpp"
#include "daemon/app/configuration.hpp"
#include "daemon/app/engine.hpp"
#include "daemon/app/reader.hpp"
#include "daemon/rpc/handlers/methods.hpp"
#include "daemon/rpc/listener.hpp"
#include "daemon/runtime/doorbell.hpp"
#include "daemon/runtime/instance_lock.hpp"
#include "daemon/runtime/periodic.hpp"
#include "daemon/runtime/secret_file.hpp"
#include "daemon/runtime/service_manager.hpp"

namespace setwell::app {
namespace {

namespace asio = boost::asio;

constexpr const char* kFiltersMemo = "filters-held";
/// `no` while a daemon runs: found at a start, the last one was killed.
constexpr const char* kOrderlyMemo = "stopped-in-order";
constexpr const char* kLedgerFile = "ledger.db";

std::string password_of(const settings::Broker& broker, const runtime::Log& log) {
  if (broker.password_file.empty()) return {};
  auto password = runtime::read_secret(broker.password_file);
  if (password) return std::move(*password);
  log.error("the broker's password: " + password.error().detail);
  return {};
}

mqtt::BrokerAddress address_of(const settings::Broker& broker, const runtime::Log& log) {
  mqtt::BrokerAddress address;
  address.host = broker.host;
  address.port = static_cast<std::uint16_t>(broker.port);
  address.client_id = broker.client_id;
  address.user = broker.user;
  address.password = password_of(broker, log);
  address.keepalive = broker.keepalive;
  address.tls = broker.tls;
  address.ca_file = broker.ca_file;
  address.certificate_file = broker.certificate_file;
  address.key_file = broker.key_file;
  return address;
}

std::vector<std::string> topics_of(const settings::Settings& settings) {
  std::set<std::string> topics;
  for (const auto& channel : settings.channels) {
    topics.insert(channel.topic);
    if (channel.availability) topics.insert(channel.availability->topic);
  }
  return {topics.begin(), topics.end()};
}

/// New settings with all that reaches broker and routes left as it was, and the sections of which that is so:
/// those were handed over when the daemon started.
std::pair<std::shared_ptr<const settings::Settings>, std::string> without_what_needs_a_start(
    const settings::Settings& old, const settings::Settings& fresh) {
  auto taken = std::make_shared<settings::Settings>(fresh);
  std::string left;
  const auto leave = [&](const char* section) { left += (left.empty() ? "" : ", ") + std::string(section); };
  if (fresh.broker != old.broker) leave("[broker]");
  if (fresh.routes != old.routes) leave("[[route]]");
  if (fresh.entry != old.entry) leave("[entry]");
  taken->broker = old.broker;
  taken->routes = old.routes;
  taken->entry = old.entry;
  if (topics_of(fresh) != topics_of(old)) {
    leave("the topics of [[channel]]");
    taken->channels = old.channels;
    taken->zones = old.zones;
  }
  return {taken, left};
}

std::vector<std::string> split_lines(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t from = 0; from < text.size();) {
    const auto end = std::min(text.find('\n', from), text.size());
    lines.push_back(text.substr(from, end - from));
    from = end + 1;
  }
  return lines;
}

std::string join_lines(const std::vector<std::string>& lines) {
  std::string text;
  for (const auto& line : lines)
    text += line + '\n';
  return text;
}

std::string_view words(mqtt::LeaveReason reason) {
  return reason == mqtt::LeaveReason::deaf ? "the broker does not give our own messages back"
                                           : "the broker accepts connections but not ours";
}

quantity::Result<ledger::Ledger> open_ledger(const Options& options, const runtime::Log& log) {
  return ledger::Ledger::open(
      options.state / kLedgerFile, options.time_from_readings ? ledger::Mode::rehearsal : ledger::Mode::live,
      [log](std::string_view why) { log.warning(fmt::format("rolled back: {}", why)); });
}

void note_order(ledger::Ledger& ledger, const char* in_order, const runtime::Log& log) {
  try {
    ledger.set_memo(kOrderlyMemo, in_order);
  } catch (const std::exception& refused) {
    log.warning(fmt::format("{}: whether the records must be examined at the next start is not noted",
                            refused.what()));
  }
}

/// After a kill or a power cut the records are examined before anything is built on them.
quantity::Result<void> examine_after_a_fall(ledger::Ledger& ledger, const runtime::Log& log) {
  if (ledger.memo(kOrderlyMemo) == "no") {
    if (auto sound = ledger.quick_check(); !sound) return sound;
  }
  note_order(ledger, "no", log);
  return {};
}

/// What is open before anything runs: the state folder is ours alone, both files are there.
struct Stores {
  runtime::InstanceLock lock;
  ledger::Ledger ledger;
  std::unique_ptr<ledger::Inbox> inbox;
  ledger::InboxReader reader;
};

quantity::Result<Stores> open_stores(const Options& options, const runtime::Log& log, mqtt::Wake& wake) {
  std::error_code failed;
  std::filesystem::create_directories(options.state, failed);
  if (failed) {
    return quantity::refused(fmt::format("the folder {} cannot be made: {}; --state names another",
                                         options.state.string(), failed.message()));
  }
  auto lock = runtime::InstanceLock::take(options.state / "lock");
  if (!lock) return lock.error();
  auto ledger = open_ledger(options, log);
  if (!ledger) return ledger.error();
  if (const auto sound = examine_after_a_fall(*ledger, log); !sound) return sound.error();
  ledger::InboxOptions inbox_options;
  inbox_options.wake = &wake;
  auto inbox = ledger::Inbox::open(options.state / "inbox.db", inbox_options);
  if (!inbox) return inbox.error();
  auto reader = ledger::InboxReader::open(options.state / "inbox.db");
  if (!reader) return reader.error();
  return Stores{std::move(*lock), std::move(*ledger), std::move(*inbox), std::move(*reader)};
}

/// Everything that lives while the daemon runs, in the order of its making; its threads end with `stop`.
class Daemon {
 public:
  Daemon(asio::io_context& loop, const Options& options, service::Workshop& workshop, ledger::Inbox& inbox,
         ledger::InboxReader& reader, const runtime::Clock& clock, const runtime::Log& log)
      : loop_(loop),
        options_(options),
        workshop_(workshop),
        clock_(clock),
        log_(log),
        link_bell_(loop, [this] { link_changed(); }),
        link_(source_settings(inbox), handlers(), inbox),
        pump_(
            workshop.ledger.outbox(),
            notices::routes_from(workshop.settings->routes, &link_.publisher(), log),
            [&clock] { return clock.wall_now(); },
            [this](std::function<void()> work) {
              asio::post(loop_, [this, work = std::move(work)] { engine_.courier_is_back(work); });
            },
            log),
        inbox_bell_(loop, [this] { engine_.take_in(); }),
        engine_(loop, {workshop, inbox, reader, pump_, clock, log, options.state,
                       [this] { return link_.facts(); }, [this] { inbox_bell_.ring(); }}),
        dispatcher_(rpc::workshop_methods(
            workshop, {[this] { return engine_.now(); }, [this] { engine_.look(); },
                       [this] { engine_.changed(); }, [this] { return reader_.records(); }})),
        ending_(loop, SIGTERM, SIGINT),
        rereading_(loop, SIGHUP) {}

  /// Opens the door for the command line; nothing runs before it is ours.
  [[nodiscard]] quantity::Result<void> listen() {
    auto listener = rpc::Listener::open(loop_, options_.socket, dispatcher_, &reader_.pool(), log_, {});
    if (!listener) return listener.error();
    listener_ = std::move(*listener);
    return {};
  }

  int run() {
    await_signals();
    auto manager = runtime::ServiceManager::from_environment();
    const runtime::Periodic heartbeat(loop_, manager.watchdog_pause().value_or(std::chrono::seconds(30)),
                                      [&] { manager.watchdog(clock_.steady_now()); });
    listener_->start();
    link_.start();
    engine_.take_in();
    engine_.tick();
    manager.ready("running");
    examine_on(reader_, [this](const quantity::Error& what) { ledger_is_damaged(what); });
    log_.info(fmt::format("setwelld {} is running; settings {}, state {}, socket {}{}", SETWELL_VERSION,
                          options_.config.string(), options_.state.string(), options_.socket.string(),
                          options_.time_from_readings ? ", REHEARSAL: time goes by the readings" : ""));
    loop_.run();
    manager.stopping("stopping");
    stop();
    return exit_code_;
  }

  void ring() noexcept { inbox_bell_.ring(); }

 private:
  [[nodiscard]] mqtt::SourceSettings source_settings(const ledger::Inbox& inbox) const {
    mqtt::SourceSettings source;
    source.broker = address_of(workshop_.settings->broker, log_);
    source.filters = topics_of(*workshop_.settings);
    source.held_before = split_lines(workshop_.ledger.memo(kFiltersMemo).value_or(""));
    source.connections_so_far = inbox.last_connection();
    return source;
  }

  /// Called on the library's threads: each only hands something over to the loop.
  [[nodiscard]] mqtt::SourceHandlers handlers() {
    mqtt::SourceHandlers handlers;
    handlers.now = [&clock = clock_] { return clock.wall_now(); };
    handlers.changed = [this] { link_bell_.ring(); };
    handlers.filters_held = [this](const std::vector<std::string>& filters) {
      asio::post(loop_,
                 [this, text = join_lines(filters)] { workshop_.ledger.set_memo(kFiltersMemo, text); });
    };
    handlers.leave = [this](mqtt::LeaveReason reason) {
      asio::post(loop_, [this, reason] {
        log_.error(fmt::format("{}: leaving, to be started again", words(reason)));
        leave(kBrokerLost);
      });
    };
    return handlers;
  }

  /// Called on the reader.
  void ledger_is_damaged(const quantity::Error& what) {
    asio::post(loop_, [this, detail = what.detail] {
      log_.error(detail);
      workshop_.around.ledger_damage = detail;
    });
  }

  void link_changed() {
    engine_.tick();
    if (workshop_.around.broker_connected) pump_.broker_is_back();
  }

  void await_signals() {
    ending_.async_wait([this](const boost::system::error_code& error, int) {
      if (!error) leave(0);
    });
    await_rereading();
  }

  /// Settings, sheets and schedules are read again; what reaches broker and routes needs a start.
  void await_rereading() {
    rereading_.async_wait([this](const boost::system::error_code& error, int) {
      if (error) return;
      const auto fresh = read_configuration(options_.config, clock_.wall_now());
      for (const auto& line : fresh.faults)
        log_.error(line + " (the settings in force stay)");
      engine_.reload(fresh.settings ? taken_from(*fresh.settings) : nullptr);
      await_rereading();
    });
  }

  [[nodiscard]] std::shared_ptr<const settings::Settings> taken_from(const settings::Settings& fresh) {
    auto [taken, left] = without_what_needs_a_start(*workshop_.settings, fresh);
    log_.info("settings, sheets and schedules were read again");
    if (!left.empty()) log_.warning(left + " changed: that needs a restart and stays as it was until then");
    return taken;
  }

  void leave(int code) {
    exit_code_ = code;
    loop_.stop();
  }

  void stop() {
    log_.info("stopping");
    reader_.give_up();
    listener_->stop();
    link_.stop();
    pump_.stop();
    // What couriers brought back, and answers under way, still find the loop.
    loop_.restart();
    loop_.run_for(std::chrono::milliseconds(1100));
    note_order(workshop_.ledger, "yes", log_);
    log_.info("stopped");
  }

  asio::io_context& loop_;
  const Options& options_;
  service::Workshop& workshop_;
  const runtime::Clock& clock_;
  runtime::Log log_;
  runtime::Doorbell link_bell_;
  BrokerLink link_;
  notices::Pump pump_;
  runtime::Doorbell inbox_bell_;
  Engine engine_;
  Reader reader_{options_.state / kLedgerFile};
  rpc::Dispatcher dispatcher_;
  std::unique_ptr<rpc::Listener> listener_;
  asio::signal_set ending_;
  asio::signal_set rereading_;
  int exit_code_ = 0;
  /// Those that broker link and routes were made from.
  std::shared_ptr<const settings::Settings> first_settings_{workshop_.settings};
};

/// The keeper's door into the loop. It is there before the daemon that answers it.
class LoopWake final : public mqtt::Wake {
 public:
  void answer_to(Daemon& daemon) { daemon_ = &daemon; }
  void ring() noexcept override {
    if (daemon_ != nullptr) daemon_->ring();
  }

 private:
  Daemon* daemon_ = nullptr;
};

/// Few threads of ours take memory at once, and what a round of rules took is wanted again by the next.
void keep_memory_small() {
#ifdef __GLIBC__
  constexpr int kKeptBytes = 512 * 1024;
  (void)mallopt(M_ARENA_MAX, 2);
  (void)mallopt(M_TRIM_THRESHOLD, kKeptBytes);
#endif
}

int refuse(const runtime::Log& log, const quantity::Error& error) {
  log.error(error.detail);
  return kWrongSettings;
}

}  // namespace

int run_daemon(const Options& options) {
  keep_memory_small();
  // A client or a command that goes away is an error of one write, never of the process.
  std::signal(SIGPIPE, SIG_IGN);
  const auto log = runtime::Log::to_standard_error();
  const runtime::RealClock clock;
  const auto configuration = read_configuration(options.config, clock.wall_now());
  for (const auto& line : configuration.faults)
    log.error(line);
  if (!configuration.settings) return kWrongSettings;

  LoopWake wake;
  auto stores = open_stores(options, log, wake);
  if (!stores) return refuse(log, stores.error());
  auto workshop =
      service::open_workshop(configuration.settings, options.config.parent_path(), std::move(stores->ledger),
                             options.time_from_readings, clock.wall_now());
  if (!workshop) return refuse(log, workshop.error());
  const auto mark = (*workshop)->ledger.inbox_mark();
  if (mark.generation == stores->inbox->generation()) stores->inbox->tell_taken(mark.taken_upto);

  asio::io_context loop(1);
  Daemon daemon(loop, options, **workshop, *stores->inbox, stores->reader, clock, log);
  wake.answer_to(daemon);
  const auto listening = daemon.listen();
  if (!listening) return refuse(log, listening.error());
  return daemon.run();
}

}  // namespace setwell::app
