#include <algorithm>

#include <fmt/format.h>

#include "daemon/settings/parts.hpp"

/// Who hears of it: routes.
namespace setwell::settings {
namespace {

using toml_text::Table;

constexpr int kSubmission = 587;
constexpr int kSubmissionTls = 465;
constexpr int kPlainMail = 25;

/// A key that belongs to some kinds of route only. Answers whether it may stand here.
bool belongs(Table& table, std::string_view key, bool may, std::string_view kinds) {
  if (!may && table.find(key)) {
    table.fault(key, fmt::format("only {} has one", kinds),
                fmt::format("kind = \"{}\" beside it", kinds.substr(0, kinds.find_first_of(" ,"))));
  }
  return may;
}

void read_argv(Table& table, Route& route) {
  if (!belongs(table, "argv", route.kind == RouteKind::command, "command")) return;
  route.argv = table.texts("argv");
  if (!table.has("argv"))
    return table.missing("argv", "program and arguments, like [\"/usr/local/bin/ring\", \"-q\"]");
  if (route.argv.empty() || !route.argv.front().starts_with('/')) {
    table.fault("argv", "does not begin with a program's full path",
                "no shell looks it up: [\"/usr/local/bin/ring\", \"-q\"]");
  }
}

void read_route_topic(Table& table, Route& route) {
  if (!belongs(table, "topic", route.kind == RouteKind::mqtt, "mqtt")) return;
  const auto topic = table.text("topic");
  if (!topic) return;
  if (const auto wrong = wrong_topic(*topic)) {
    return table.fault("topic", *wrong, "what its topics begin with, like \"setwell\"");
  }
  route.topic = *topic;
}

/// A text that goes into a line of a protocol: no control characters, and none of `without`.
bool plain(std::string_view text, std::string_view without) {
  return std::none_of(text.begin(), text.end(), [&](char c) {
    return static_cast<unsigned char>(c) <= 0x20 || c == 0x7F || without.find(c) != std::string_view::npos;
  });
}

bool this_machine(std::string_view host) {
  return host == "localhost" || host == "127.0.0.1" || host == "::1";
}

std::string read_address(Table& table, std::string_view key, const std::string& typed) {
  const auto at = typed.find('@');
  const bool good = at != std::string::npos && at > 0 && at + 1 < typed.size() &&
                    typed.find('@', at + 1) == std::string::npos && plain(typed, "<>,;:\"()[]\\");
  if (!good) table.fault(key, fmt::format("\"{}\" is no mail address", typed), "like \"maker@example.org\"");
  return typed;
}

MailSecurity read_security(Table& table, const std::string& host) {
  const auto security = table
                            .choice<MailSecurity>("security", {{"starttls", MailSecurity::starttls},
                                                               {"tls", MailSecurity::tls},
                                                               {"none", MailSecurity::none}})
                            .value_or(MailSecurity::starttls);
  if (security == MailSecurity::none && !this_machine(host)) {
    table.fault("security", "mail would travel in the open", "starttls or tls; none only to this machine");
  }
  return security;
}

int usual_port(MailSecurity security) {
  if (security == MailSecurity::none) return kPlainMail;
  return security == MailSecurity::tls ? kSubmissionTls : kSubmission;
}

void read_login(Table& table, MailServer& mail) {
  mail.user = table.text("user").value_or("");
  mail.password_file = table.text("password_file").value_or("");
  if (mail.user.empty() == mail.password_file.empty()) return;
  const bool no_user = mail.user.empty();
  table.fault(no_user ? "password_file" : "user", "half of a login",
              no_user ? "user beside it" : "password_file beside it");
}

void read_mail(Table& table, Route& route) {
  const bool may = route.kind == RouteKind::mail;
  for (const auto* key : {"host", "port", "security", "user", "password_file", "from", "to"})
    belongs(table, key, may, "mail");
  if (!may) return;
  auto& mail = route.mail;
  mail.host = table.need_text("host", "the mail server, like \"mail.example.org\"");
  if (!plain(mail.host, "/@?#[]")) table.fault("host", "no name of a machine", "like \"mail.example.org\"");
  mail.security = read_security(table, mail.host);
  mail.port = static_cast<int>(table.whole("port", 1, 65535).value_or(usual_port(mail.security)));
  read_login(table, mail);
  const auto from = table.need_text("from", "the sender's address, like \"shop@example.org\"");
  if (!from.empty()) mail.from = read_address(table, "from", from);
  table.need("to", "who gets it, like [\"maker@example.org\"]");
  for (const auto& each : table.texts("to"))
    mail.to.push_back(read_address(table, "to", each));
  if (mail.to.empty() && table.has("to")) table.fault("to", "nobody", "like [\"maker@example.org\"]");
}

/// The machine that an address names: what stands between `//` and the next `:`, `/`, `?` or `#`.
std::string host_of(std::string_view url, std::size_t from) {
  const auto rest = url.substr(from);
  if (rest.starts_with("[::1]")) return "::1";
  return std::string(rest.substr(0, rest.find_first_of(":/?#")));
}

void check_url(Table& table, const std::string& url) {
  constexpr std::string_view kRight = "like \"https://example.org/setwell\"";
  const auto scheme = url.find("://");
  const auto name = url.substr(0, scheme == std::string::npos ? 0 : scheme);
  if ((name != "https" && name != "http") || !plain(url, "\"<>\\^`{|}") || host_of(url, scheme + 3).empty())
    return table.fault("url", "no web address", std::string(kRight));
  const auto authority = url.substr(scheme + 3, url.find_first_of("/?#", scheme + 3) - scheme - 3);
  if (authority.find('@') != std::string::npos)
    return table.fault("url", "has a login in it", "what proves who sends is the signature: secret_file");
  if (name == "http" && !this_machine(host_of(url, scheme + 3)))
    table.fault("url", "notices would travel in the open", "https; http only to this machine");
}

void read_webhook(Table& table, Route& route) {
  const bool may = route.kind == RouteKind::webhook;
  for (const auto* key : {"url", "secret_file"})
    belongs(table, key, may, "webhook");
  if (!may) return;
  route.url = table.need_text("url", "where to, like \"https://example.org/setwell\"");
  if (!route.url.empty()) check_url(table, route.url);
  route.secret_file =
      table.need_text("secret_file", "a file with what signs the notices, readable by its owner alone");
}

void read_limits(Table& table, Route& route) {
  const bool courier = route.kind != RouteKind::log && route.kind != RouteKind::mqtt;
  const bool curl = courier && route.kind != RouteKind::command;
  if (belongs(table, "ca_file", curl, "mail or webhook")) route.ca_file = table.text("ca_file").value_or("");
  if (!belongs(table, "limit", courier, "mail, webhook or command")) return;
  const auto limit = table.figure("limit", toml_text::hours);
  if (!limit) return;
  route.limit = std::chrono::round<std::chrono::seconds>(*limit);
  if (route.limit < std::chrono::seconds(1) || route.limit > std::chrono::minutes(5))
    table.fault("limit", "out of range", "1 s to 5 min");
}

RouteKind unset_kind(Table& table) {
  if (table.has("argv")) return RouteKind::command;
  if (table.has("host")) return RouteKind::mail;
  return table.has("url") ? RouteKind::webhook : RouteKind::mqtt;
}

}  // namespace

Route read_route(Table& table) {
  Route route;
  route.id = quantity::RouteId(table.need_id("id"));
  table.need("kind", "log, mqtt, mail, webhook or command");
  const auto kind = table.choice<RouteKind>("kind", {{"log", RouteKind::log},
                                                     {"mqtt", RouteKind::mqtt},
                                                     {"mail", RouteKind::mail},
                                                     {"webhook", RouteKind::webhook},
                                                     {"command", RouteKind::command}});
  route.kind = kind ? *kind : unset_kind(table);
  route.kinds = read_kinds(table, "kinds", {});
  route.instant = table.truth("instant").value_or(false);
  read_argv(table, route);
  read_route_topic(table, route);
  read_mail(table, route);
  read_webhook(table, route);
  read_limits(table, route);
  table.done();
  return route;
}

}  // namespace setwell::settings
