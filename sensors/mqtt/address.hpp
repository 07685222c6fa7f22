#pragma once

#include <chrono>
#include <cstdint>
#include <string>

namespace setwell::mqtt {

/// Where the broker is and who we are to it.
struct BrokerAddress {
  std::string host = "127.0.0.1";  ///< a name, an IPv4 or a bare IPv6 address
  std::uint16_t port = 1883;
  /// Fixed for an installation: the broker keeps our session under it. A made-up one would leave sessions
  /// behind that nobody ever fetches.
  std::string client_id = "setwelld";
  std::string user;  ///< empty: no login
  std::string password;
  /// A link without traffic this long is asked whether it lives; a dead one is noticed after about 2.5 times
  /// it.
  std::chrono::seconds keepalive{20};
  bool tls = false;
  std::string ca_file;           ///< PEM; empty: what the system trusts
  std::string certificate_file;  ///< PEM, ours, for brokers that ask for one; empty: none
  std::string key_file;          ///< PEM, belongs to the certificate
};

/// As the MQTT library wants it: `tcp://host:port` or `ssl://host:port`, IPv6 in brackets.
[[nodiscard]] std::string uri_of(const BrokerAddress& address);

/// Whether something accepts TCP connections there. Blocks up to 3 s for each address the name has; any
/// thread that may wait, never a callback.
[[nodiscard]] bool answers(const BrokerAddress& address) noexcept;

}  // namespace setwell::mqtt
