#include "daemon/notices/routes/mail_message.hpp"

#include <algorithm>
#include <array>
#include <chrono>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace setwell::notices {
namespace {

constexpr std::string_view kDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
/// 57 bytes are 76 characters, the longest line.
constexpr std::size_t kBytesPerLine = 57;
/// A line with an encoded word is 76 characters at most; 39 bytes leave room for its frame and "Subject: ".
constexpr std::size_t kBytesPerWord = 39;

std::string base64(std::string_view bytes) {
  std::string text;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    unsigned group = 0;
    for (std::size_t k = 0; k < 3; ++k)
      group = group << 8U | (i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0U);
    for (std::size_t k = 0; k < 4; ++k)
      text += i + k > bytes.size() ? '=' : kDigits[group >> (18 - 6 * k) & 63U];
  }
  return text;
}

/// As many bytes as fit, without cutting a character of UTF-8 apart.
std::size_t whole_characters(std::string_view text, std::size_t most) {
  if (text.size() <= most) return text.size();
  auto end = most;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U)
    --end;
  return end > 0 ? end : most;
}

std::string encoded_subject(std::string_view subject) {
  const bool plain =
      std::all_of(subject.begin(), subject.end(), [](char c) { return c >= 0x20 && c < 0x7F; });
  constexpr std::size_t kPlainLongest = 66;
  if (plain && subject.size() <= kPlainLongest) return std::string(subject);
  std::string text;
  while (!subject.empty()) {
    const auto much = whole_characters(subject, kBytesPerWord);
    text += fmt::format("{}=?UTF-8?B?{}?=", text.empty() ? "" : "\r\n ", base64(subject.substr(0, much)));
    subject.remove_prefix(much);
  }
  return text;
}

std::string date(quantity::Instant at) {
  constexpr std::array<std::string_view, 7> kDays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr std::array<std::string_view, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const auto day = std::chrono::floor<std::chrono::days>(at);
  const std::chrono::year_month_day date{day};
  const std::chrono::hh_mm_ss time{std::chrono::floor<std::chrono::seconds>(at - day)};
  return fmt::format("{}, {:02} {} {} {:02}:{:02}:{:02} +0000", kDays[std::chrono::weekday(day).c_encoding()],
                     static_cast<unsigned>(date.day()), kMonths[static_cast<unsigned>(date.month()) - 1],
                     static_cast<int>(date.year()), time.hours().count(), time.minutes().count(),
                     time.seconds().count());
}

/// What may stand in a Message-ID as it is; the rest by its number.
std::string atom(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool letter =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
    if (letter) {
      out += c;
    } else if (c == '/') {
      out += '.';
    } else {
      out += fmt::format("_{:02x}", static_cast<unsigned char>(c));
    }
  }
  return out;
}

}  // namespace

std::string message_id(const MailWords& words) {
  const auto at = words.from.find('@');
  return fmt::format("<{}.{}@{}>", atom(words.id), quantity::to_ms(words.made),
                     at == std::string::npos ? "localhost" : words.from.substr(at + 1));
}

std::string mail_message(const MailWords& words) {
  const auto line = std::min(words.body.find('\n'), words.body.size());
  auto text = words.body.substr(line);
  while (text.starts_with('\n'))
    text.remove_prefix(1);
  std::string message = fmt::format(
      "Date: {}\r\nFrom: {}\r\nTo: {}\r\nMessage-ID: {}\r\nSubject: {}\r\nSetwell-Id: {}\r\n"
      "Auto-Submitted: auto-generated\r\nMIME-Version: 1.0\r\n"
      "Content-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: base64\r\n\r\n",
      date(words.made), words.from, fmt::join(words.to, ",\r\n "), message_id(words),
      encoded_subject(words.body.substr(0, line)), atom(words.id));
  std::string crlf;
  for (const char c : text)
    crlf += c == '\n' ? std::string("\r\n") : std::string(1, c);
  crlf += "\r\n";
  for (std::size_t from = 0; from < crlf.size(); from += kBytesPerLine)
    message += base64(std::string_view(crlf).substr(from, kBytesPerLine)) + "\r\n";
  return message;
}

}  // namespace setwell::notices
