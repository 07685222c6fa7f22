#pragma once

#include <atomic>
#include <chrono>
#include <memory>
#include <string>
#include <string_view>

#include <curl/curl.h>

#include "daemon/notices/route_sender.hpp"

namespace setwell::notices {

/// Within this a server must be reached.
inline constexpr std::chrono::seconds kReachLimit{10};

/// Keeps the transfer library ready while anybody has one of these.
class TransferLibrary {
 public:
  TransferLibrary() { curl_global_init(CURL_GLOBAL_DEFAULT); }
  TransferLibrary(const TransferLibrary&) = delete;
  TransferLibrary& operator=(const TransferLibrary&) = delete;
  ~TransferLibrary() { curl_global_cleanup(); }
};

/// A list of lines for the library.
class Lines {
 public:
  void add(const std::string& line) { first_ = curl_slist_append(first_, line.c_str()); }
  Lines() = default;
  Lines(const Lines&) = delete;
  Lines& operator=(const Lines&) = delete;
  ~Lines() { curl_slist_free_all(first_); }
  [[nodiscard]] curl_slist* get() const { return first_; }

 private:
  curl_slist* first_ = nullptr;
};

/// What came of one transfer.
struct Outcome {
  CURLcode code = CURLE_OK;
  long answer = 0;       ///< the server's last answer: an HTTP status or an SMTP reply; 0 = none
  bool reached = false;  ///< a connection was there and, where it is to be private, was private
  std::string text;      ///< for a person, of all but CURLE_OK; never holds `secret`
};

/// One transfer over a connection of its own: no proxy, no redirects, no cookies, no netrc; certificates are
/// checked by `ca_file`, or the system's where it is empty. At most kReachLimit to connect and `limit` in
/// all. What the server sends is thrown away after 64 KiB. Thread: one; blocks.
class Transfer {
 public:
  /// `protocol` is the only one that may be spoken: `https`, `smtp`, … `stop` ends it soon once it is true.
  Transfer(const std::string& url, const char* protocol, const std::string& ca_file,
           std::chrono::seconds limit, const std::atomic<bool>& stop);
  Transfer(const Transfer&) = delete;
  Transfer& operator=(const Transfer&) = delete;
  ~Transfer();

  template <typename Value>
  void set(CURLoption option, Value value) {
    curl_easy_setopt(handle_, option, value);
  }
  /// What is handed in after the envelope; must outlive the run.
  void upload(std::string_view bytes);
  /// `secret` is what must not be seen in the outcome's text.
  [[nodiscard]] Outcome run(std::string_view secret);

 private:
  static std::size_t give(char* to, std::size_t size, std::size_t count, void* self);
  static std::size_t take(char* from, std::size_t size, std::size_t count, void* self);
  static int look(void* self, curl_off_t, curl_off_t, curl_off_t, curl_off_t);

  CURL* handle_;
  std::string url_;
  std::string_view upload_;
  std::size_t taken_ = 0;
  const std::atomic<bool>& stop_;
  char error_[CURL_ERROR_SIZE] = {};
};

/// Nobody is there, or not the one we want to talk to: refused, not found, silent until the limit, the wrong
/// certificate. Whatever the parcel.
[[nodiscard]] bool is_away(const Outcome& outcome);

}  // namespace setwell::notices
