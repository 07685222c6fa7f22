#include <fstream>
#include <sstream>
#include <string>

#include <catch2/catch.hpp>

namespace {

std::string text_of(const std::string& path) {
  std::ifstream file(path);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

}  // namespace

TEST_CASE("code that runs in the library's callbacks calls nothing that waits for the library", "[mqtt]") {
  const std::string source = text_of(SETWELL_SOURCE_DIR "/sensors/mqtt/callbacks.cpp");
  REQUIRE(source.find("set_message_callback") != std::string::npos);
  for (const char* forbidden :
       {"wait(", "wait_for(", "wait_until(", "is_connected(", "disconnect(", "reconnect(", "start_consuming",
        "consume_message", "publish(", "try_wait(", "sleep_for", "spdlog", "throw "}) {
    INFO(forbidden);
    CHECK(source.find(forbidden) == std::string::npos);
  }
}

TEST_CASE("handlers are set in one place and before anything connects", "[mqtt]") {
  for (const char* file : {"source.cpp", "sender.cpp", "session.cpp"}) {
    const std::string source = text_of(std::string(SETWELL_SOURCE_DIR "/sensors/mqtt/") + file);
    REQUIRE_FALSE(source.empty());
    for (const char* setter : {"set_connected_handler", "set_connection_lost_handler", "set_message_callback",
                               "set_callback", "start_consuming", ".reconnect("}) {
      INFO(file << ' ' << setter);
      CHECK(source.find(setter) == std::string::npos);
    }
  }
  const std::string source = text_of(SETWELL_SOURCE_DIR "/sensors/mqtt/source.cpp");
  CHECK(source.find("install_handlers();") < source.find("client_.connect("));
}
