#include <cstdlib>
#include <fstream>
#include <iostream>
#include <iterator>
#include <optional>
#include <string>
#include <string_view>

#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <fmt/format.h>

#include "tests/reference/prior_text.hpp"
#include "tests/reference/table_score.hpp"

/// Judges the priors on tables of published times (SETWELL_TABLES), each sheet by a fit that saw neither it
/// nor its kin (SETWELL_TABLES_FIT, else the same tables). The last line is one object.
///   setwell_tables                 exit 0 when every aim is reached, else 1
///   setwell_tables --write FILE    writes data/priors.inc, fitted to all of SETWELL_TABLES
///   setwell_tables --same FILE     exit 1 when FILE is not what --write would write
///   setwell_tables --tried         what other forms give
/// Exit 77 without tables (with --same: or with other tables than FILE was fitted to), 2 for what cannot be
/// read.
namespace {

namespace json = boost::json;
using namespace setwell::reference;

constexpr int kSkipped = 77;
constexpr int kUnreadable = 2;

std::optional<std::string> text_of(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) return std::nullopt;
  return std::string{std::istreambuf_iterator<char>(in), {}};
}

std::string variable(const char* name, const std::string& otherwise) {
  const char* value = std::getenv(name);
  return value != nullptr && *value != '\0' ? value : otherwise;
}

json::object object_of(const Tally& tally) {
  return {{"points", tally.points}, {"inside", tally.inside()}, {"mean_ln_width", tally.mean_ln_width()}};
}

json::object objects_of(const std::map<std::string, Tally>& tallies) {
  json::object all;
  for (const auto& [name, tally] : tallies) {
    json::object one = object_of(tally);
    one["above_slow"] = tally.above;
    one["below_fast"] = tally.below;
    all[name] = std::move(one);
  }
  return all;
}

json::object object_of(const TableScore& score) {
  json::object whole = object_of(score.all);
  whole["workshop"] = object_of(score.workshop);
  whole["opens_above_slow"] = score.opens.share(score.opens.above);
  whole["closes_below_fast"] = score.closes.share(score.closes.below);
  whole["by_group"] = objects_of(score.by_group);
  whole["by_sheet"] = objects_of(score.by_sheet);
  whole["between_rows"] = object_of(score.between);
  whole["beyond_rows"] = object_of(score.beyond);
  return whole;
}

int check(const std::vector<StatedTable>& tables, const std::vector<StatedTable>& fit_on) {
  const TableScore score = score_tables(tables, fit_on);
  const auto missed = aims_missed(score);
  for (const std::string& line : missed)
    std::cout << line << '\n';
  std::cout << json::serialize(object_of(score)) << '\n';
  return missed.empty() ? 0 : 1;
}

std::string text_for(const std::string& tables_text, const std::vector<StatedTable>& tables) {
  return priors_text(fit_priors(tables), score_tables(tables, tables), fingerprint_of(tables_text));
}

int compare(const std::string& file, const std::string& tables_text, const std::vector<StatedTable>& tables) {
  const auto written = text_of(file);
  if (!written) return kUnreadable;
  if (written->find(fingerprint_of(tables_text)) == std::string::npos) {
    std::cerr << "skipped: " << file << " was fitted to other tables\n";
    return kSkipped;
  }
  if (*written == text_for(tables_text, tables)) return 0;
  std::cerr << file << " is not what the fit gives; write it anew\n";
  return 1;
}

struct Trial {
  std::string_view what;
  PriorForm form;
};

std::vector<Trial> trials() {
  std::vector<Trial> all;
  const auto trial = [&all](std::string_view what, auto change) {
    PriorForm form;
    change(form);
    all.push_back({what, form});
  };
  trial("as it stands", [](PriorForm&) {});
  trial("no skew", [](PriorForm& f) { f.skew = 1.0; });
  trial("skew 1.15", [](PriorForm& f) { f.skew = 1.15; });
  trial("skew 1.35", [](PriorForm& f) { f.skew = 1.35; });
  trial("one mean and spread for all", [](PriorForm& f) { f.mean_range = 0.5, f.spread_range = 0.02; });
  trial("one for all, no skew",
        [](PriorForm& f) { f.mean_range = 0.5, f.spread_range = 0.02, f.skew = 1.0; });
  trial("kinds hardly pooled", [](PriorForm& f) { f.mean_range = 20, f.spread = 12, f.spread_range = 0.6; });
  trial("hardness in the cold not apart", [](PriorForm& f) { f.hardness_apart = false; });
  trial("c 1.4, a about 10", [](PriorForm& f) { f.wander = 1.4, f.spread = 10; });
  trial("c 1.4, a about 12", [](PriorForm& f) { f.wander = 1.4, f.spread = 12; });
  trial("c 1.8, a about 6", [](PriorForm& f) { f.wander = 1.8, f.spread = 6; });
  trial("c 2.0, a about 4", [](PriorForm& f) { f.wander = 2.0, f.spread = 4; });
  trial("t with 4 degrees of freedom", [](PriorForm& f) { f.freedom = 4; });
  trial("t with 10", [](PriorForm& f) { f.freedom = 10; });
  trial("t with 30", [](PriorForm& f) { f.freedom = 30; });
  return all;
}

int list_trials(const std::vector<StatedTable>& tables, const std::vector<StatedTable>& fit_on) {
  std::cout
      << "| form | inside | width | inside, workshop | width, workshop | opens above slow | closes below "
         "fast | groups under 0.88 | between rows | beyond rows |\n";
  for (const Trial& trial : trials()) {
    const TableScore s = score_tables(tables, fit_on, trial.form);
    std::string groups;
    for (const auto& [group, tally] : s.by_group) {
      if (tally.points >= 10 && tally.inside() < 0.88)
        groups += fmt::format("{} {:.2f} ", group, tally.inside());
    }
    std::cout << fmt::format(
        "| {} | {:.3f} | {:.2f} | {:.3f} | {:.2f} | {} of {} | {} of {} | {}| {:.3f} at {:.2f} | {:.3f} at "
        "{:.2f} |\n",
        trial.what, s.all.inside(), s.all.mean_ln_width(), s.workshop.inside(), s.workshop.mean_ln_width(),
        s.opens.above, s.opens.points, s.closes.below, s.closes.points, groups, s.between.inside(),
        s.between.mean_ln_width(), s.beyond.inside(), s.beyond.mean_ln_width());
  }
  return 0;
}

}  // namespace

int main(int count, char** arguments) {
  const std::string word = count > 1 ? arguments[1] : "";
  const std::string file = variable("SETWELL_TABLES", "../shared/datasheets/tables.csv");
  const std::string fit_file = variable("SETWELL_TABLES_FIT", file);
  const auto text = text_of(file);
  const auto fit_text = text_of(fit_file);
  if (!text || !fit_text) {
    std::cerr << "skipped: no tables at " << (text ? fit_file : file) << '\n';
    return kSkipped;
  }
  const auto tables = read_tables(*text);
  const auto fit_on = read_tables(*fit_text);
  if (!tables || !fit_on) {
    std::cerr << (tables ? fit_file + ": " + fit_on.error().detail : file + ": " + tables.error().detail)
              << '\n';
    return kUnreadable;
  }
  if (word == "--tried") return list_trials(*tables, *fit_on);
  if (word == "--same" && count > 2) return compare(arguments[2], *text, *tables);
  if (word == "--write" && count > 2) {
    std::ofstream(arguments[2], std::ios::binary) << text_for(*text, *tables);
    return 0;
  }
  return check(*tables, *fit_on);
}
