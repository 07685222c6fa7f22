#pragma once

#include <string>
#include <vector>

#include <boost/describe.hpp>

/// What is said of a sheet's file that no daemon was asked about.
namespace setwell::cli {

struct SheetFinding {
  std::string file;
  int line = 0;
  std::string key;
  std::string what;
  std::string right;
  std::string text;  ///< all of it as one line, `file:line: key: what; right: …`
};
BOOST_DESCRIBE_STRUCT(SheetFinding, (), (file, line, key, what, right, text))

struct SheetCheck {
  int version = 1;
  std::string file;
  std::string sheet;  ///< its id; empty when it has faults
  bool ok = false;
  std::vector<SheetFinding> faults;
  std::vector<SheetFinding> warnings;
};
BOOST_DESCRIBE_STRUCT(SheetCheck, (), (version, file, sheet, ok, faults, warnings))

/// One line a finding, however wide: editors jump by it.
[[nodiscard]] std::string to_text(const SheetCheck& check);

}  // namespace setwell::cli
