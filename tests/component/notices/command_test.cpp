#include "daemon/notices/routes/command.hpp"

#include <csignal>
#include <optional>

#include <catch2/catch.hpp>
#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include "tests/component/notices/yard.hpp"

namespace setwell::notices_test {

using notices::CommandRoute;
using What = SendResult::What;

namespace {

/// Sends by a courier, as the daemon does.
SendResult sent_by(CommandRoute& route, const Delivery& what) {
  notices::Courier courier;
  Loop loop;
  std::optional<SendResult> result;
  courier.run([&] { return route.send(what); },
              [&, post = loop.door()](SendResult got) { post([&result, got] { result = got; }); });
  if (!loop.run_one()) throw std::runtime_error("the command route did not come back");
  return *result;
}

SendResult sent_by(const std::vector<std::string>& argv, const Delivery& what) {
  CommandRoute route(argv);
  return sent_by(route, what);
}

}  // namespace

TEST_CASE("a command gets the body on its standard input, byte for byte, and its arguments as they are") {
  const Folder folder;
  const auto script = folder.script("take", "cat > \"$1\"\nprintf '%s' \"$2\" > \"$1.argument\"");
  const std::string body = "{\"text\":\"18.4 °C; $(echo no shell) \\n\"}";
  const auto result = sent_by({script, folder.file("out"), "a b; $HOME `id`"}, delivery(body));
  CHECK(result.what == What::sent);
  CHECK(folder.content("out") == body);
  CHECK(folder.content("out.argument") == "a b; $HOME `id`");
}

TEST_CASE("a body larger than a pipe arrives whole") {
  const Folder folder;
  const auto script = folder.script("take", "cat > \"$1\"");
  const std::string body(300'000, 'x');
  CHECK(sent_by({script, folder.file("out")}, delivery(body)).what == What::sent);
  CHECK(folder.content("out") == body);
}

TEST_CASE("a command that does not read what it gets is judged by how it ends") {
  const std::string body(300'000, 'x');
  CHECK(sent_by({"/bin/true"}, delivery(body)).what == What::sent);
  CHECK(sent_by({"/bin/false"}, delivery(body)).what == What::failed);
}

TEST_CASE("a command that ends badly has failed, with its status and last words") {
  const Folder folder;
  const auto script = folder.script("fail", "echo first >&2\necho 'no such number' >&2\nexit 3");
  const auto result = sent_by({script}, delivery("x"));
  CHECK(result.what == What::failed);
  CHECK(result.text == "ended with 3: no such number");
  const auto killed = sent_by({folder.script("die", "kill -9 $$")}, delivery("x"));
  CHECK(killed.text == "ended by signal 9");
}

TEST_CASE("a command that cannot be started has failed with the reason, and may be mended") {
  const Folder folder;
  const auto result = sent_by({folder.file("nowhere")}, delivery("x"));
  CHECK(result.what == What::failed);
  CHECK(result.text.find("No such file or directory") != std::string::npos);
  CHECK(sent_by(std::vector<std::string>{}, delivery("x")).what == What::failed);
}

TEST_CASE("a command gets none of our environment, files or blocked signals") {
  ::setenv("SETWELL_TEST_SECRET", "secret", 1);
  const int open_file = ::open("/dev/null", O_RDONLY);  // inheritable
  REQUIRE(open_file >= 0);
  const Folder folder;
  const auto script =
      folder.script("look",
                    "env > \"$1.env\"\nls /proc/$$/fd > \"$1.files\"\n"
                    // Builtins only: while the shell starts a program it blocks signals itself.
                    "while read -r name mask; do\n"
                    "  if [ \"$name\" = SigBlk: ]; then printf 'SigBlk:\\t%s\\n' \"$mask\"; fi\n"
                    "done < /proc/$$/status > \"$1.signals\"");
  CHECK(sent_by({script, folder.file("seen")}, delivery("x")).what == What::sent);
  ::close(open_file);
  ::unsetenv("SETWELL_TEST_SECRET");
  const auto environment = folder.content("seen.env");
  CHECK(environment.find("PATH=/usr/local/bin:/usr/bin:/bin\n") != std::string::npos);
  CHECK(environment.find("SETWELL") == std::string::npos);
  CHECK(environment.find("HOME=") == std::string::npos);
  CHECK(folder.content("seen.files").find(fmt::format("{}\n", open_file)) == std::string::npos);
  CHECK(folder.content("seen.signals") == "SigBlk:\t0000000000000000\n");
}

TEST_CASE("a command that hangs is killed at its limit, with all it started") {
  const Folder folder;
  const auto script = folder.script("hang", "sleep 600 &\necho $! > \"$1\"\ntrap '' TERM\nwait");
  CommandRoute route({script, folder.file("pid")}, std::chrono::milliseconds(700));
  const auto begun = std::chrono::steady_clock::now();
  const auto result = sent_by(route, delivery("x"));
  CHECK(std::chrono::steady_clock::now() - begun < std::chrono::seconds(5));
  CHECK(result.what == What::failed);
  CHECK(result.text.find("killed: it had not ended") == 0);
  const auto child = std::stoi(folder.content("pid"));
  // It may still be listed until whoever inherited it has looked; what counts is that it runs no more.
  const auto dead = [&] {
    std::ifstream in(fmt::format("/proc/{}/stat", child));
    std::string line;
    return !std::getline(in, line) || line.find(") Z ") != std::string::npos;
  };
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(5);
  while (!dead() && std::chrono::steady_clock::now() < deadline)
    std::this_thread::yield();
  CHECK(dead());
}

TEST_CASE("the limit of a command is thirty seconds") {
  CHECK(notices::kCommandLimit == std::chrono::seconds(30));
}

TEST_CASE(
    "a command that speaks without end neither blocks nor fills the memory, and is killed at its limit") {
  CommandRoute route({"/bin/sh", "-c", "while :; do echo chatter >&2; done"}, std::chrono::milliseconds(300));
  CHECK(sent_by(route, delivery("x")).text.find("killed") == 0);
}

TEST_CASE("the state of a piece is never given to a command") {
  const Folder folder;
  const auto script = folder.script("take", "cat > \"$1\"");
  CHECK(sent_by({script, folder.file("out")}, delivery("x", "piece/fern-07")).what == What::final);
  CHECK_FALSE(std::filesystem::exists(folder.file("out")));
}

}  // namespace setwell::notices_test
