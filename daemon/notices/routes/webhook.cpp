#include "daemon/notices/routes/webhook.hpp"

#include <array>
#include <stdexcept>

#include <fmt/format.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>

#include "daemon/notices/routes/mqtt.hpp"
#include "daemon/runtime/secret_file.hpp"

namespace setwell::notices {
namespace {

constexpr long kTimeout = 408;
constexpr long kTooMany = 429;

std::string machine_of(std::string_view url) {
  const auto begin = url.find("://");
  const auto rest = url.substr(begin == std::string::npos ? 0 : begin + 3);
  return std::string(rest.substr(0, rest.find_first_of("/?#")));
}

SendResult result_of(const Outcome& outcome, const std::string& machine) {
  if (outcome.code != CURLE_OK) {
    auto text = machine + ": " + outcome.text;
    return is_away(outcome) ? SendResult::away(std::move(text)) : SendResult::failed(std::move(text));
  }
  const auto answer = outcome.answer;
  if (answer >= 200 && answer < 300) return SendResult::sent();
  auto text = fmt::format("{} answered {}", machine, answer);
  if (answer >= 300 && answer < 400)
    return SendResult::failed(text + ": redirects are not followed, set its new url");
  if (answer >= 400 && answer < 500 && answer != kTimeout && answer != kTooMany)
    return SendResult::final(text + ": it refuses this notice");
  return SendResult::failed(std::move(text));
}

}  // namespace

std::string signature_of(std::string_view body, std::string_view secret) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int length = 0;
  const auto* bytes = reinterpret_cast<const unsigned char*>(body.data());
  if (HMAC(EVP_sha256(), secret.data(), static_cast<int>(secret.size()), bytes, body.size(), digest.data(),
           &length) == nullptr) {
    throw std::runtime_error("HMAC-SHA-256 is not to be had from the cryptographic library");
  }
  std::string text;
  for (unsigned int i = 0; i < length; ++i)
    text += fmt::format("{:02x}", digest[i]);
  return text;
}

SendResult WebhookRoute::send(const ledger::Delivery& delivery) {
  if (piece_of(delivery.parcel)) return SendResult::final("a piece's state goes to brokers only");
  const auto secret = runtime::read_secret(secret_file_);
  if (!secret) return SendResult::away(secret.error().detail);
  const auto result = result_of(post(delivery.parcel, *secret), machine_of(url_));
  return cancelled_ && result.what != SendResult::What::sent ? SendResult::failed("stopped with the daemon")
                                                             : result;
}

Outcome WebhookRoute::post(const ledger::Parcel& parcel, const std::string& secret) {
  Transfer transfer(url_, url_.starts_with("https:") ? "https" : "http", ca_file_, limit_, cancelled_);
  Lines headers;
  headers.add("Content-Type: application/json");
  headers.add("Idempotency-Key: " + parcel.idempotency_id);
  headers.add("Setwell-Signature: sha256=" + signature_of(parcel.body, secret));
  headers.add("User-Agent: setwelld/" SETWELL_VERSION);
  headers.add("Expect:");
  transfer.set(CURLOPT_HTTPHEADER, headers.get());
  transfer.set(CURLOPT_POST, 1L);
  transfer.set(CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(parcel.body.size()));
  transfer.set(CURLOPT_POSTFIELDS, parcel.body.c_str());
  return transfer.run(secret);
}

}  // namespace setwell::notices
