#include "daemon/notices/routes/mail.hpp"

#include <fmt/format.h>

#include "daemon/notices/routes/mail_message.hpp"
#include "daemon/notices/routes/mqtt.hpp"
#include "daemon/runtime/secret_file.hpp"

namespace setwell::notices {
namespace {

using settings::MailSecurity;

std::string url_of(const settings::MailServer& server) {
  const bool tls = server.security == MailSecurity::tls;
  const bool v6 = server.host.find(':') != std::string::npos;
  return fmt::format("{}://{}:{}", tls ? "smtps" : "smtp", v6 ? "[" + server.host + "]" : server.host,
                     server.port);
}

/// The server talked with us and refused this very mail, its sender, a receiver or its content.
bool refused_by_reply(const Outcome& outcome) {
  const bool by_reply = outcome.code == CURLE_SEND_ERROR || outcome.code == CURLE_WEIRD_SERVER_REPLY;
  return by_reply && outcome.answer >= 400 && outcome.answer < 600;
}

SendResult result_of(const Outcome& outcome, const settings::MailServer& server) {
  if (outcome.code == CURLE_OK) return SendResult::sent();
  if (refused_by_reply(outcome)) {
    auto text = fmt::format("{} refuses the mail with {}: {}", server.host, outcome.answer, outcome.text);
    return outcome.answer >= 500 ? SendResult::final(std::move(text)) : SendResult::failed(std::move(text));
  }
  if (outcome.code == CURLE_LOGIN_DENIED)
    return SendResult::away(server.host + " does not take this user and password");
  auto text = fmt::format("{}: {}", server.host, outcome.text);
  return is_away(outcome) ? SendResult::away(std::move(text)) : SendResult::failed(std::move(text));
}

}  // namespace

SendResult MailRoute::send(const ledger::Delivery& delivery) {
  const auto& parcel = delivery.parcel;
  if (piece_of(parcel)) return SendResult::final("a piece's state goes to brokers only");
  std::string password;
  if (!server_.password_file.empty()) {
    auto secret = runtime::read_secret(server_.password_file);
    if (!secret) return SendResult::away(secret.error().detail);
    password = std::move(*secret);
  }
  const auto result = hand_in(
      mail_message({server_.from, server_.to, parcel.idempotency_id, parcel.created, parcel.body}), password);
  return cancelled_ && result.what != SendResult::What::sent ? SendResult::failed("stopped with the daemon")
                                                             : result;
}

SendResult MailRoute::hand_in(const std::string& message, const std::string& password) {
  Transfer transfer(url_of(server_), server_.security == MailSecurity::tls ? "smtps" : "smtp", ca_file_,
                    limit_, cancelled_);
  if (server_.security == MailSecurity::starttls)
    transfer.set(CURLOPT_USE_SSL, static_cast<long>(CURLUSESSL_ALL));
  if (!server_.user.empty()) {
    transfer.set(CURLOPT_USERNAME, server_.user.c_str());
    transfer.set(CURLOPT_PASSWORD, password.c_str());
  }
  const auto from = "<" + server_.from + ">";
  Lines to;
  for (const auto& each : server_.to)
    to.add("<" + each + ">");
  transfer.set(CURLOPT_MAIL_FROM, from.c_str());
  transfer.set(CURLOPT_MAIL_RCPT, to.get());
  transfer.upload(message);
  return result_of(transfer.run(password), server_);
}

}  // namespace setwell::notices
