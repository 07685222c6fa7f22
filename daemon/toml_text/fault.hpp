#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace setwell::toml_text {

/// Where something stands in a text; both count from 1.
struct Place {
  int line = 1;
  int column = 1;
  friend auto operator<=>(const Place&, const Place&) = default;
};

/// Something wrong (or odd) in a file that a person wrote, with all they need to put it right.
struct Fault {
  std::string file;
  int line = 1;
  int column = 1;
  std::string key;    ///< dotted, with positions in lists: `recoat[0].opens[1].time`; empty: the file itself
  std::string what;   ///< what is wrong
  std::string right;  ///< what would be right
  friend bool operator==(const Fault&, const Fault&) = default;
};

/// `file:line: key: what; right: …`, one line.
[[nodiscard]] std::string describe(const Fault& fault);

/// Collects all faults and warnings of one file, and where each key stands.
class Report {
 public:
  explicit Report(std::string file) : file_(std::move(file)) {}

  void fault(Place at, std::string key, std::string what, std::string right);
  void warn(Place at, std::string key, std::string what, std::string right);
  /// Warns at the key, or at the nearest part of its path that stands in the file.
  void warn(std::string key, std::string what, std::string right);
  void fault(std::string key, std::string what, std::string right);

  /// Lines that could not be read at all may hold what seems to be missing, so nothing is called missing
  /// then.
  void lines_were_left_out() { nothing_is_missing_ = true; }
  void missing(Place at, std::string key, std::string right);

  void saw(const std::string& key, Place at) { places_.insert_or_assign(key, at); }
  [[nodiscard]] Place place_of(std::string_view key) const;
  [[nodiscard]] bool clean() const { return faults_.empty(); }

  /// In the order of the file; leaves the report empty.
  [[nodiscard]] std::vector<Fault> take_faults();
  [[nodiscard]] std::vector<Fault> take_warnings();

 private:
  std::string file_;
  std::map<std::string, Place, std::less<>> places_;
  std::vector<Fault> faults_;
  std::vector<Fault> warnings_;
  bool nothing_is_missing_ = false;
};

}  // namespace setwell::toml_text
