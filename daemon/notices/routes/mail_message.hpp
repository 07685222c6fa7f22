#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sensors/quantity/instant.hpp"

namespace setwell::notices {

struct MailWords {
  std::string from;
  std::vector<std::string> to;
  std::string id;          ///< of the notice; the same one in every attempt
  quantity::Instant made;  ///< when the notice was made
  std::string_view body;   ///< first line the subject, then an empty line, then the text; UTF-8
};

/// A mail as it goes over the wire (RFC 5322, RFC 2045, RFC 2047): subject and text in UTF-8, lines of at
/// most 76 characters ending in CR LF. The same words give the same bytes: every attempt sends one message,
/// with one Message-ID. The text travels in base64, so nothing in it can end the message or be taken for a
/// header.
[[nodiscard]] std::string mail_message(const MailWords& words);

/// `<…@domain>`, made of the notice's id, when it was made and the sender's domain.
[[nodiscard]] std::string message_id(const MailWords& words);

}  // namespace setwell::notices
