#pragma once

#include <atomic>
#include <string>
#include <string_view>

#include "daemon/notices/routes/transfer.hpp"
#include "daemon/settings/settings.hpp"

namespace setwell::notices {

/// HMAC-SHA-256 (RFC 2104) of the body in small hexadecimal digits. Throws where the cryptographic library
/// fails.
[[nodiscard]] std::string signature_of(std::string_view body, std::string_view secret);

/// Posts the event as JSON. Headers: `Idempotency-Key` with the notice's id, the same in every attempt;
/// `Setwell-Signature: sha256=` and the body's signature. Only an answer of 2xx is success; redirects are
/// never followed; 4xx other than 408 and 429 is `final`, a server that is not there `away`, all else
/// `failed`. The secret is read anew for each post. Blocks for up to the route's limit. The address is never
/// told, only its machine: what stands behind it may be a secret too.
class WebhookRoute : public RouteSender {
 public:
  explicit WebhookRoute(const settings::Route& route)
      : url_(route.url), secret_file_(route.secret_file), ca_file_(route.ca_file), limit_(route.limit) {}
  [[nodiscard]] SendResult send(const ledger::Delivery& delivery) override;
  void cancel() noexcept override { cancelled_ = true; }

 private:
  [[nodiscard]] Outcome post(const ledger::Parcel& parcel, const std::string& secret);

  TransferLibrary library_;
  std::string url_;
  std::string secret_file_;
  std::string ca_file_;
  std::chrono::seconds limit_;
  std::atomic<bool> cancelled_ = false;
};

}  // namespace setwell::notices
