#pragma once

#include <atomic>

#include "daemon/notices/routes/transfer.hpp"
#include "daemon/settings/settings.hpp"

namespace setwell::notices {

/// Hands mail to a server (RFC 5321), privately by STARTTLS or TLS from the first byte; without either only
/// to this machine. A server that is not there, is not the one of its certificate, or does not take our login
/// is `away`; a reply of 5xx to the mail itself is `final`; all else `failed`. A mail whose last reply was
/// lost is sent again with the same Message-ID and the same bytes. The password is read anew for each mail.
/// Blocks for up to the route's limit.
class MailRoute : public RouteSender {
 public:
  explicit MailRoute(const settings::Route& route)
      : server_(route.mail), ca_file_(route.ca_file), limit_(route.limit) {}
  [[nodiscard]] SendResult send(const ledger::Delivery& delivery) override;
  void cancel() noexcept override { cancelled_ = true; }

 private:
  [[nodiscard]] SendResult hand_in(const std::string& message, const std::string& password);

  TransferLibrary library_;
  settings::MailServer server_;
  std::string ca_file_;
  std::chrono::seconds limit_;
  std::atomic<bool> cancelled_ = false;
};

}  // namespace setwell::notices
