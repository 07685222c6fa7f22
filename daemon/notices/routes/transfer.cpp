#include "daemon/notices/routes/transfer.hpp"

#include <algorithm>
#include <cstring>
#include <stdexcept>

namespace setwell::notices {
namespace {

constexpr std::size_t kMostTaken = 64 * 1024;

std::string without(std::string text, std::string_view secret) {
  if (secret.empty()) return text;
  for (auto at = text.find(secret); at != std::string::npos; at = text.find(secret))
    text.replace(at, secret.size(), "…");
  return text;
}

}  // namespace

Transfer::Transfer(const std::string& url, const char* protocol, const std::string& ca_file,
                   std::chrono::seconds limit, const std::atomic<bool>& stop)
    : handle_(curl_easy_init()), url_(url), stop_(stop) {
  if (handle_ == nullptr) throw std::runtime_error("the transfer library gives no handle");
  set(CURLOPT_URL, url_.c_str());
  set(CURLOPT_PROTOCOLS_STR, protocol);
  set(CURLOPT_FOLLOWLOCATION, 0L);
  set(CURLOPT_PROXY, "");
  set(CURLOPT_NETRC, static_cast<long>(CURL_NETRC_IGNORED));
  set(CURLOPT_NOSIGNAL, 1L);
  set(CURLOPT_CONNECTTIMEOUT_MS,
      static_cast<long>(std::chrono::milliseconds(std::min(kReachLimit, limit)).count()));
  set(CURLOPT_TIMEOUT_MS, static_cast<long>(std::chrono::milliseconds(limit).count()));
  set(CURLOPT_SSL_VERIFYPEER, 1L);
  set(CURLOPT_SSL_VERIFYHOST, 2L);
  if (!ca_file.empty()) {
    set(CURLOPT_CAINFO, ca_file.c_str());
    set(CURLOPT_CAPATH, static_cast<const char*>(nullptr));
  }
  set(CURLOPT_ERRORBUFFER, error_);
  set(CURLOPT_WRITEFUNCTION, &Transfer::take);
  set(CURLOPT_WRITEDATA, this);
  set(CURLOPT_NOPROGRESS, 0L);
  set(CURLOPT_XFERINFOFUNCTION, &Transfer::look);
  set(CURLOPT_XFERINFODATA, this);
}

Transfer::~Transfer() {
  curl_easy_cleanup(handle_);
}

void Transfer::upload(std::string_view bytes) {
  upload_ = bytes;
  set(CURLOPT_UPLOAD, 1L);
  set(CURLOPT_READFUNCTION, &Transfer::give);
  set(CURLOPT_READDATA, this);
  set(CURLOPT_INFILESIZE_LARGE, static_cast<curl_off_t>(bytes.size()));
}

std::size_t Transfer::give(char* to, std::size_t size, std::size_t count, void* self) {
  auto& left = static_cast<Transfer*>(self)->upload_;
  const auto much = std::min(left.size(), size * count);
  std::memcpy(to, left.data(), much);
  left.remove_prefix(much);
  return much;
}

std::size_t Transfer::take(char*, std::size_t size, std::size_t count, void* self) {
  auto& taken = static_cast<Transfer*>(self)->taken_;
  taken += size * count;
  return taken > kMostTaken ? 0 : size * count;
}

int Transfer::look(void* self, curl_off_t, curl_off_t, curl_off_t, curl_off_t) {
  return static_cast<Transfer*>(self)->stop_ ? 1 : 0;
}

Outcome Transfer::run(std::string_view secret) {
  Outcome outcome;
  outcome.code = curl_easy_perform(handle_);
  curl_easy_getinfo(handle_, CURLINFO_RESPONSE_CODE, &outcome.answer);
  curl_off_t connected = 0;
  curl_easy_getinfo(handle_, CURLINFO_PRETRANSFER_TIME_T, &connected);
  outcome.reached = connected > 0;
  if (outcome.code == CURLE_OK) return outcome;
  outcome.text = error_[0] != '\0' ? error_ : curl_easy_strerror(outcome.code);
  outcome.text = without(std::move(outcome.text), secret);
  if (taken_ > kMostTaken) outcome.text = "its answer has no end";
  return outcome;
}

bool is_away(const Outcome& outcome) {
  switch (outcome.code) {
    case CURLE_COULDNT_RESOLVE_HOST:
    case CURLE_COULDNT_CONNECT:
    case CURLE_SSL_CONNECT_ERROR:
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_SSL_CACERT_BADFILE:
    case CURLE_USE_SSL_FAILED:
    case CURLE_LOGIN_DENIED:
    case CURLE_REMOTE_ACCESS_DENIED:
      return true;
    default:
      return outcome.code != CURLE_OK && !outcome.reached;
  }
}

}  // namespace setwell::notices
