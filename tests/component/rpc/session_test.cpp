#include <atomic>
#include <cstring>
#include <fstream>
#include <future>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/json/object.hpp>
#include <catch2/catch.hpp>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "cli/transport/client.hpp"
#include "daemon/rpc/listener.hpp"
#include "tests/support/temp_dir.hpp"

namespace {

using namespace setwell;
using namespace std::chrono_literals;
using namespace std::string_view_literals;
namespace json = boost::json;
using quantity::ErrorKind;

struct Nothing {};
BOOST_DESCRIBE_STRUCT(Nothing, (), ())
struct Size {
  int bytes = 0;
};
BOOST_DESCRIBE_STRUCT(Size, (), (bytes))
struct Text {
  std::string text;
};
BOOST_DESCRIBE_STRUCT(Text, (), (text))

using Reading = std::function<quantity::Result<Text>()>;

/// A daemon with a few methods, on a thread of its own.
class Door {
 public:
  explicit Door(rpc::Limits limits = {}) {
    std::vector<rpc::Method> methods;
    methods.push_back(
        rpc::row<Size, Text>("fill", "Answers at length.", "text", {}, [this](const Size& size) {
          ++calls;
          return quantity::Result<Text>(Text{std::string(static_cast<std::size_t>(size.bytes), 'x')});
        }));
    methods.push_back(rpc::row<Nothing, Text>("where", "Says its thread.", "text", {}, &Door::where));
    methods.push_back(rpc::reader_row<Nothing, Text>(
        "where_read", "Says its thread.", "text", {},
        [](const Nothing&) { return quantity::Result<Reading>([] { return where({}); }); }));
    methods.push_back(rpc::reader_row<Nothing, Text>(
        "where_planned", "Says the planner's.", "text", {}, [](const Nothing&) {
          return quantity::Result<Reading>([planned_on = where({})] { return planned_on; });
        }));
    methods.push_back(rpc::reader_row<Nothing, Text>(
        "plan_not", "Refuses to plan.", "text", {},
        [](const Nothing&) { return quantity::Result<Reading>(quantity::invalid("nothing to read")); }));
    methods.push_back(rpc::reader_row<Nothing, Text>("break", "Breaks.", "text", {}, [](const Nothing&) {
      return quantity::Result<Reading>(
          []() -> quantity::Result<Text> { throw std::runtime_error("the disk is gone"); });
    }));
    methods.push_back(
        rpc::reader_row<Nothing, Text>("wait", "Answers when told to.", "text", {}, [this](const Nothing&) {
          return quantity::Result<Reading>([this] {
            let_go.get_future().wait();
            return quantity::Result<Text>(Text{"went on"});
          });
        }));
    dispatcher = std::make_unique<rpc::Dispatcher>(std::move(methods));
    auto opened = rpc::Listener::open(loop, path, *dispatcher, &reader, log, limits);
    REQUIRE(opened.has_value());
    listener = std::move(*opened);
    listener->start();
    thread = std::thread([this] { loop.run(); });
  }
  ~Door() {
    stop();
    reader.join();
  }
  Door(const Door&) = delete;
  Door& operator=(const Door&) = delete;

  /// Stops it and waits until nothing of it is left on the loop.
  void stop() {
    if (!thread.joinable()) return;
    boost::asio::post(loop, [this] { listener->stop(); });
    thread.join();
  }

  /// Asked on the loop, as the contract wants.
  std::size_t clients() {
    std::promise<std::size_t> count;
    boost::asio::post(loop, [&] { count.set_value(listener->clients()); });
    return count.get_future().get();
  }
  bool comes_to(std::size_t wanted) {
    for (int i = 0; i < 2000; ++i) {
      if (clients() == wanted) return true;
      std::this_thread::sleep_for(1ms);
    }
    return false;
  }

  static quantity::Result<Text> where(const Nothing&) {
    return Text{std::to_string(std::hash<std::thread::id>()(std::this_thread::get_id()))};
  }

  test_support::TempDir folder;
  std::filesystem::path path = folder / "setwell.sock";
  std::atomic<int> calls = 0;
  std::promise<void> let_go;
  std::mutex mutex;
  std::vector<std::string> lines;
  runtime::Log log = runtime::Log::to_lines([this](std::string_view line) {
    const std::lock_guard lock(mutex);
    lines.emplace_back(line);
  });
  boost::asio::io_context loop;
  boost::asio::thread_pool reader{1};
  std::unique_ptr<rpc::Dispatcher> dispatcher;
  std::unique_ptr<rpc::Listener> listener;
  std::thread thread;
};

/// A client that keeps to no rule.
class Rude {
 public:
  explicit Rude(const std::filesystem::path& path)
      : socket_(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_un to{};
    to.sun_family = AF_UNIX;
    std::memcpy(to.sun_path, path.c_str(), path.native().size());
    REQUIRE(::connect(socket_, reinterpret_cast<sockaddr*>(&to), sizeof to) == 0);
  }
  ~Rude() { ::close(socket_); }
  Rude(const Rude&) = delete;
  Rude& operator=(const Rude&) = delete;

  /// As much as goes without waiting; how much went.
  std::size_t push(std::string_view text) const {
    const auto sent = ::send(socket_, text.data(), text.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    return sent < 0 ? 0 : static_cast<std::size_t>(sent);
  }
  void send(std::string_view text) const {
    while (!text.empty()) {
      const auto sent = ::send(socket_, text.data(), text.size(), MSG_NOSIGNAL);
      if (sent < 0) return;
      text.remove_prefix(static_cast<std::size_t>(sent));
    }
  }
  /// Everything until the other end closes.
  std::string rest() const {
    std::string all;
    char bytes[4096];
    for (ssize_t got = 0; (got = ::recv(socket_, bytes, sizeof bytes, 0)) > 0;) {
      all.append(bytes, static_cast<std::size_t>(got));
    }
    return all;
  }
  void end_of_sending() const { ::shutdown(socket_, SHUT_WR); }

 private:
  int socket_;
};

constexpr auto kHello =
    "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"hello\",\"params\":{\"client\":\"c\",\"protocol\":1}}\n";

std::string fill_call(int bytes) {
  return api::call_line(2, "fill", json::object{{"bytes", bytes}});
}

TEST_CASE("A client says hello, asks and is answered, also at length", "[socket]") {
  Door door;
  auto client = transport::Client::connect(door.path, "test");
  REQUIRE(client.has_value());
  for (const int bytes : {0, 1, 100'000, 4'000'000}) {
    const auto answer = client->ask<Text>("fill", Size{bytes});
    REQUIRE(answer.has_value());
    CHECK(answer->text.size() == static_cast<std::size_t>(bytes));
  }
  const auto wrong = client->call("fill", {{"size", 1}});
  REQUIRE(wrong.has_error());
  CHECK(wrong.error().kind == ErrorKind::usage);
  CHECK(client->ask<Text>("fill", Size{1}).has_value());
}

TEST_CASE("The socket is for its owner and group alone, and goes when the daemon stops", "[socket]") {
  Door door;
  struct stat found {};
  REQUIRE(::stat(door.path.c_str(), &found) == 0);
  CHECK((found.st_mode & 0777) == 0660);
  door.stop();
  CHECK_FALSE(std::filesystem::exists(door.path));
}

TEST_CASE("A thousand clients that ask and close at once leave nothing behind", "[socket]") {
  Door door({.clients = 2000});
  for (int i = 0; i < 1000; ++i) {
    const Rude client(door.path);
    client.push(kHello + fill_call(1000));
  }
  CHECK(door.comes_to(0));
  CHECK(transport::Client::connect(door.path, "test").has_value());
  const std::lock_guard lock(door.mutex);
  CHECK(door.lines.empty());
}

TEST_CASE("A client that asks for much and never reads holds up nobody and is closed", "[socket]") {
  Door door({.write = 100ms});
  const Rude greedy(door.path);
  std::string asked = kHello;
  for (int i = 0; i < 100; ++i)
    asked += fill_call(1'000'000);
  greedy.push(asked);
  auto polite = transport::Client::connect(door.path, "test");
  REQUIRE(polite.has_value());
  CHECK(polite->ask<Text>("fill", Size{10}).has_value());
  CHECK(door.comes_to(1));
  // One answer was made for it and no more, besides the one for the other client.
  CHECK(door.calls == 2);
}

TEST_CASE("Garbage is answered with an error each, and the client may go on", "[socket]") {
  Door door;
  const Rude client(door.path);
  client.send("\xff\xfe\x00garbage\n\n\nGET / HTTP/1.1\r\n"sv);
  client.send(kHello + fill_call(3));
  client.end_of_sending();
  const auto answers = client.rest();
  CHECK(std::count(answers.begin(), answers.end(), '\n') == 4);
  CHECK(answers.find("-32700") != std::string::npos);
  CHECK(answers.find("xxx") != std::string::npos);
}

TEST_CASE("A line over one mebibyte is refused in words and ends its client", "[socket]") {
  Door door;
  const Rude client(door.path);
  client.send(std::string(api::kLongestRequest + 1, 'x'));
  const auto answer = client.rest();
  CHECK(answer.find("1048576 bytes") != std::string::npos);
  CHECK(door.comes_to(0));
}

TEST_CASE("Calls that come together are answered one by one, in order", "[socket]") {
  Door door;
  const Rude client(door.path);
  std::string asked = kHello;
  for (int i = 0; i < 500; ++i)
    asked += api::call_line(100 + i, "fill", json::object{{"bytes", i}});
  client.send(asked);
  client.end_of_sending();
  api::LineCutter lines(api::kLongestAnswer);
  lines.add(client.rest());
  CHECK(lines.next().has_value());
  for (int i = 0; i < 500; ++i) {
    const auto answer = api::parse_answer(lines.next().value_or(""), 100 + i);
    REQUIRE(answer.has_value());
    CHECK(answer->at("text").as_string().size() == static_cast<std::size_t>(i));
  }
}

TEST_CASE("More clients than there is room for are told so", "[socket]") {
  Door door({.clients = 2});
  const auto first = transport::Client::connect(door.path, "test");
  auto second = transport::Client::connect(door.path, "test");
  REQUIRE(second.has_value());
  const auto third = transport::Client::connect(door.path, "test");
  REQUIRE(third.has_error());
  CHECK(third.error().kind == ErrorKind::unreachable);
  CHECK(third.error().detail == "too many clients at once; close one and try again");
  CHECK(second->ask<Text>("fill", Size{1}).has_value());
}

TEST_CASE("A client that asks nothing is closed when its time is over", "[socket]") {
  Door door({.idle = 20ms});
  auto client = transport::Client::connect(door.path, "test");
  REQUIRE(client.has_value());
  CHECK(door.comes_to(0));
  const auto answer = client->call("where", {});
  REQUIRE(answer.has_error());
  CHECK(answer.error().kind == ErrorKind::unreachable);
}

TEST_CASE("What may take long runs on the reader, and others are answered meanwhile", "[socket]") {
  Door door;
  auto client = transport::Client::connect(door.path, "test");
  auto other = transport::Client::connect(door.path, "test");
  REQUIRE(client.has_value());
  REQUIRE(other.has_value());
  const auto on_loop = client->ask<Text>("where", Nothing{});
  const auto on_reader = client->ask<Text>("where_read", Nothing{});
  const auto back = client->ask<Text>("where", Nothing{});
  CHECK(on_loop->text == back->text);
  CHECK(on_loop->text != on_reader->text);
  CHECK(client->ask<Text>("where_planned", Nothing{})->text == on_loop->text);
  auto slow = std::async(std::launch::async, [&] { return client->ask<Text>("wait", Nothing{}); });
  CHECK(other->ask<Text>("where", Nothing{}).has_value());
  door.let_go.set_value();
  CHECK(slow.get()->text == "went on");
}

TEST_CASE("What the reader is refused or breaks on is answered, and it reads on", "[socket]") {
  Door door;
  auto client = transport::Client::connect(door.path, "test");
  REQUIRE(client.has_value());
  const auto refused = client->ask<Text>("plan_not", Nothing{});
  REQUIRE(refused.has_error());
  CHECK(refused.error().kind == ErrorKind::invalid);
  CHECK(refused.error().detail == "nothing to read");
  const auto broken = client->ask<Text>("break", Nothing{});
  REQUIRE(broken.has_error());
  CHECK_THAT(broken.error().detail, Catch::Contains("the disk is gone"));
  CHECK(client->ask<Text>("where_read", Nothing{}).has_value());
}

TEST_CASE("On stop nobody is waited for longer than the drain", "[socket]") {
  Door door({.drain = 50ms});
  const Rude greedy(door.path);
  greedy.push(kHello + fill_call(4'000'000));
  const Rude silent(door.path);
  CHECK(door.comes_to(2));
  const auto began = std::chrono::steady_clock::now();
  door.stop();
  CHECK((std::chrono::steady_clock::now() - began < 1s));
}

TEST_CASE("A socket that a dead daemon left is replaced", "[socket-file]") {
  const test_support::TempDir folder;
  const auto path = folder / "setwell.sock";
  {
    const int left = ::socket(AF_UNIX, SOCK_STREAM, 0);
    sockaddr_un own{};
    own.sun_family = AF_UNIX;
    std::memcpy(own.sun_path, path.c_str(), path.native().size());
    REQUIRE(::bind(left, reinterpret_cast<sockaddr*>(&own), sizeof own) == 0);
    ::close(left);
  }
  REQUIRE(std::filesystem::is_socket(path));
  boost::asio::io_context loop;
  const rpc::Dispatcher dispatcher({});
  const auto log = runtime::Log::to_lines([](std::string_view) {});
  CHECK(rpc::Listener::open(loop, path, dispatcher, nullptr, log, {}).has_value());
}

TEST_CASE("A socket that answers, and a file that is none, are left alone", "[socket-file]") {
  Door door;
  const auto log = runtime::Log::to_lines([](std::string_view) {});
  boost::asio::io_context loop;
  const auto second = rpc::Listener::open(loop, door.path, *door.dispatcher, nullptr, log, {});
  REQUIRE(second.has_error());
  CHECK(second.error().detail.find("already running") != std::string::npos);
  CHECK(transport::Client::connect(door.path, "test").has_value());

  const auto file = door.folder / "notes";
  std::ofstream(file) << "keep me";
  REQUIRE(rpc::Listener::open(loop, file, *door.dispatcher, nullptr, log, {}).has_error());
  CHECK(std::filesystem::file_size(file) == 7);
}

TEST_CASE("A path that cannot be a socket's is refused with the reason", "[socket-file]") {
  const test_support::TempDir folder;
  boost::asio::io_context loop;
  const rpc::Dispatcher dispatcher({});
  const auto log = runtime::Log::to_lines([](std::string_view) {});
  const auto reason = [&](const std::filesystem::path& path) {
    const auto opened = rpc::Listener::open(loop, path, dispatcher, nullptr, log, {});
    return opened.has_value() ? "" : opened.error().detail;
  };
  CHECK(reason(folder / std::string(200, 'x')).find("too long") != std::string::npos);
  CHECK(reason(folder / "none" / "setwell.sock").find("No such file") != std::string::npos);
}

TEST_CASE("A daemon that is not there, or hangs, is unreachable and the client says what to do", "[client]") {
  const test_support::TempDir folder;
  const auto nobody = transport::Client::connect(folder / "setwell.sock", "test");
  REQUIRE(nobody.has_error());
  CHECK(nobody.error().kind == ErrorKind::unreachable);
  CHECK(nobody.error().detail.find("setwelld is not running") != std::string::npos);

  const int deaf = ::socket(AF_UNIX, SOCK_STREAM, 0);
  sockaddr_un own{};
  own.sun_family = AF_UNIX;
  const auto path = folder / "deaf.sock";
  std::memcpy(own.sun_path, path.c_str(), path.native().size());
  REQUIRE(::bind(deaf, reinterpret_cast<sockaddr*>(&own), sizeof own) == 0);
  REQUIRE(::listen(deaf, 1) == 0);
  const auto hung = transport::Client::connect(path, "test", 20ms);
  ::close(deaf);
  REQUIRE(hung.has_error());
  CHECK(hung.error().detail.find("did not answer in time") != std::string::npos);
}

TEST_CASE("The socket is the stated one, else one run by hand, else the service's", "[client]") {
  const test_support::TempDir folder;
  ::setenv("XDG_RUNTIME_DIR", folder.path().c_str(), 1);
  CHECK(transport::socket_path(std::nullopt) == "/run/setwell/setwell.sock");
  std::ofstream(folder / "setwell.sock") << "";
  CHECK(transport::socket_path(std::nullopt) == folder / "setwell.sock");
  CHECK(transport::socket_path("/elsewhere") == "/elsewhere");
  ::unsetenv("XDG_RUNTIME_DIR");
  CHECK(transport::socket_path(std::nullopt) == "/run/setwell/setwell.sock");
}

}  // namespace
