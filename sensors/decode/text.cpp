#include "sensors/decode/text.hpp"

#include <algorithm>
#include <cstddef>

namespace setwell::decode {
namespace {

unsigned byte_at(std::string_view bytes, std::size_t at) {
  return static_cast<unsigned char>(bytes[at]);
}

bool is_control(unsigned byte) {
  return (byte < 0x20 && byte != '\t' && byte != '\r' && byte != '\n') || byte == 0x7f;
}

std::size_t length_by_lead(unsigned lead) {
  if (lead < 0x80) return 1;
  if (lead >= 0xc2 && lead <= 0xdf) return 2;
  if (lead >= 0xe0 && lead <= 0xef) return 3;
  return lead >= 0xf0 && lead <= 0xf4 ? 4 : 0;
}

/// Overlong forms, surrogates and what lies beyond the last code point show in the second byte.
bool second_fits(unsigned lead, unsigned second) {
  if (lead == 0xe0) return second >= 0xa0;
  if (lead == 0xed) return second <= 0x9f;
  if (lead == 0xf0) return second >= 0x90;
  if (lead == 0xf4) return second <= 0x8f;
  return true;
}

/// The length of the code point that starts at `at`; 0 where there is none.
std::size_t code_point_at(std::string_view bytes, std::size_t at) {
  const unsigned lead = byte_at(bytes, at);
  const std::size_t length = length_by_lead(lead);
  if (length == 0 || at + length > bytes.size()) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte_at(bytes, at + i) & 0xc0U) != 0x80U) return 0;
  }
  return length > 1 && !second_fits(lead, byte_at(bytes, at + 1)) ? 0 : length;
}

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

}  // namespace

bool is_text(std::string_view bytes, DegreeSign degree) {
  for (std::size_t at = 0; at < bytes.size();) {
    if (is_control(byte_at(bytes, at))) return false;
    std::size_t length = code_point_at(bytes, at);
    if (length == 0 && byte_at(bytes, at) == 0xb0 && degree == DegreeSign::latin1_too) length = 1;
    if (length == 0) return false;
    at += length;
  }
  return true;
}

std::string_view without_mark(std::string_view text) {
  return text.starts_with("\xef\xbb\xbf") ? text.substr(3) : text;
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r\n";
  const auto first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

bool same_word(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

}  // namespace setwell::decode
