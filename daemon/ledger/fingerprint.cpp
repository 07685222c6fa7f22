#include "daemon/ledger/fingerprint.hpp"

#include <array>
#include <stdexcept>

#include <fmt/format.h>
#include <openssl/evp.h>

namespace setwell::ledger {

std::string fingerprint(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int length = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1) {
    throw std::runtime_error("SHA-256 is not to be had from the cryptographic library");
  }
  std::string text;
  for (unsigned int i = 0; i < length; ++i)
    text += fmt::format("{:02x}", digest[i]);
  return text;
}

}  // namespace setwell::ledger
