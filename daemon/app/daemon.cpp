#include "daemon/app/daemon.hpp"

#include <csignal>
#include <fstream>
#include <set>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <fmt/format.h>

#include "daemon/app/broker_link.hpp"
#include "daemon/app/configuration.hpp"
#include "daemon/app/engine.hpp"
#include "daemon/rpc/handlers/methods.hpp"
#include "daemon/rpc/listener.hpp"
#include "daemon/runtime/doorbell.hpp"
#include "daemon/runtime/instance_lock.hpp"
#include "daemon/runtime/periodic.hpp"
#include "daemon/runtime/service_manager.hpp"

namespace setwell::app {
namespace {

namespace asio = boost::asio;

constexpr const char* kFiltersMemo = "filters-held";

/// The keeper's door into the loop.
class LoopWake final : public mqtt::Wake {
 public:
  explicit LoopWake(runtime::Doorbell& bell) : bell_(bell) {}
  void ring() noexcept override { bell_.ring(); }

 private:
  runtime::Doorbell& bell_;
};

std::string password_of(const settings::Broker& broker, const runtime::Log& log) {
  if (broker.password_file.empty()) return {};
  std::ifstream in(broker.password_file);
  std::string line;
  if (!std::getline(in, line)) {
    log.error(fmt::format("the broker's password file {} cannot be read", broker.password_file));
  }
  return line;
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
      options.state / "ledger.db", options.time_from_readings ? ledger::Mode::rehearsal : ledger::Mode::live,
      [log](std::string_view why) { log.warning(fmt::format("rolled back: {}", why)); });
}

int refuse(const runtime::Log& log, const quantity::Error& error) {
  log.error(error.detail);
  return kWrongSettings;
}

}  // namespace

int run_daemon(const Options& options) {
  // A client or a command that goes away is an error of one write, never of the process.
  std::signal(SIGPIPE, SIG_IGN);
  const auto log = runtime::Log::to_standard_error();
  const runtime::RealClock clock;
  auto manager = runtime::ServiceManager::from_environment();

  const auto configuration = read_configuration(options.config, clock.wall_now());
  for (const auto& line : configuration.faults)
    log.error(line);
  if (!configuration.settings) return kWrongSettings;

  std::error_code made;
  std::filesystem::create_directories(options.state, made);
  if (made)
    return refuse(log, {quantity::ErrorKind::refused,
                        fmt::format("the folder {} cannot be made: {}; --state names another",
                                    options.state.string(), made.message())});
  const auto lock = runtime::InstanceLock::take(options.state / "lock");
  if (!lock) return refuse(log, lock.error());
  auto opened = open_ledger(options, log);
  if (!opened) return refuse(log, opened.error());

  asio::io_context loop(1);
  Engine* engine_door = nullptr;
  runtime::Doorbell inbox_bell(loop, [&engine_door] {
    if (engine_door != nullptr) engine_door->take_in();
  });
  LoopWake wake(inbox_bell);
  ledger::InboxOptions inbox_options;
  inbox_options.wake = &wake;
  auto inbox = ledger::Inbox::open(options.state / "inbox.db", inbox_options);
  if (!inbox) return refuse(log, inbox.error());
  auto reader = ledger::InboxReader::open(options.state / "inbox.db");
  if (!reader) return refuse(log, reader.error());

  auto workshop = service::open_workshop(configuration.settings, options.config.parent_path(),
                                         std::move(*opened), options.time_from_readings, clock.wall_now());
  if (!workshop) return refuse(log, workshop.error());
  auto& shop = **workshop;
  const auto mark = shop.ledger.inbox_mark();
  if (mark.generation == (*inbox)->generation()) (*inbox)->tell_taken(mark.taken_upto);

  int exit_code = 0;
  const auto stop = [&loop, &exit_code](int code) {
    exit_code = code;
    loop.stop();
  };

  runtime::Doorbell changed_bell(loop, [&engine_door] {
    if (engine_door != nullptr) engine_door->tick();
  });
  mqtt::SourceSettings source;
  source.broker = address_of(configuration.settings->broker, log);
  source.filters = topics_of(*configuration.settings);
  source.held_before = split_lines(shop.ledger.memo(kFiltersMemo).value_or(""));
  source.connections_so_far = (*inbox)->last_connection();
  mqtt::SourceHandlers handlers;
  handlers.now = [&clock] { return clock.wall_now(); };
  handlers.changed = [&changed_bell] { changed_bell.ring(); };
  handlers.filters_held = [&loop, &shop](const std::vector<std::string>& filters) {
    asio::post(loop, [&shop, text = join_lines(filters)] { shop.ledger.set_memo(kFiltersMemo, text); });
  };
  handlers.leave = [&loop, &log, stop](mqtt::LeaveReason reason) {
    asio::post(loop, [&log, stop, reason] {
      log.error(fmt::format("{}: leaving, to be started again", words(reason)));
      stop(kBrokerLost);
    });
  };
  BrokerLink link(std::move(source), std::move(handlers), **inbox);

  notices::Pump pump(
      shop.ledger.outbox(), notices::routes_from(configuration.settings->routes, &link.publisher(), log),
      [&clock] { return clock.wall_now(); },
      [&loop](std::function<void()> work) { asio::post(loop, std::move(work)); }, log);
  Engine engine(loop, {shop, **inbox, *reader, pump, clock, log, options.state,
                       [&link] { return link.facts(); }, [&inbox_bell] { inbox_bell.ring(); }});
  engine_door = &engine;

  const rpc::Dispatcher dispatcher(rpc::workshop_methods(
      shop,
      {[&engine] { return engine.now(); }, [&engine] { engine.look(); }, [&engine] { engine.changed(); }}));
  auto listener = rpc::Listener::open(loop, options.socket, dispatcher, nullptr, log, {});
  if (!listener) return refuse(log, listener.error());

  asio::signal_set ending(loop, SIGTERM, SIGINT);
  ending.async_wait([&](const boost::system::error_code& error, int) {
    if (!error) stop(0);
  });
  asio::signal_set rereading(loop, SIGHUP);
  std::function<void()> await_hup = [&] {
    rereading.async_wait([&](const boost::system::error_code& error, int) {
      if (error) return;
      const auto fresh = read_configuration(options.config, clock.wall_now());
      for (const auto& line : fresh.faults)
        log.error(line + " (the settings in force stay)");
      // Sheets are read again; settings that reach sensors and routes need a start.
      engine.reload(nullptr);
      await_hup();
    });
  };
  await_hup();
  const runtime::Periodic heartbeat(loop, manager.watchdog_pause().value_or(std::chrono::seconds(30)),
                                    [&] { manager.watchdog(clock.steady_now()); });

  (*listener)->start();
  link.start();
  engine.take_in();
  engine.tick();
  manager.ready("running");
  log.info(fmt::format("setwelld {} is running; settings {}, state {}, socket {}{}", SETWELL_VERSION,
                       options.config.string(), options.state.string(), options.socket.string(),
                       options.time_from_readings ? ", REHEARSAL: time goes by the readings" : ""));
  loop.run();

  manager.stopping("stopping");
  log.info("stopping");
  (*listener)->stop();
  link.stop();
  pump.stop();
  loop.restart();
  loop.run_for(std::chrono::milliseconds(1100));
  log.info("stopped");
  return exit_code;
}

}  // namespace setwell::app
