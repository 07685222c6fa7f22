#include "tests/shops/variants.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace setwell::shops {
namespace {

constexpr double kUsualCelsius = 23.0;
/// How far curves stray between stated rows: the first fit to published tables, √(kJ/mol).
constexpr double kWander = 1.4;
constexpr double kKnotKelvin = 3.0;
constexpr double kGasConstantKj = 0.008314462618;

double inverse(double celsius) {
  return 1.0 / (kGasConstantKj * (celsius + 273.15));
}

std::size_t usual_row(const Rising& rows_there) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < rows_there.size(); ++i) {
    if (std::fabs(rows_there[i].celsius - kUsualCelsius) <
        std::fabs(rows_there[best].celsius - kUsualCelsius))
      best = i;
  }
  return best;
}

/// The temperatures a sheet shows: neighbours, the usual one among them. A single one is the usual one, or
/// one time in four another that a sheet would choose.
std::vector<double> shown_temperatures(const Rising& rows_there, Rows rows, room::Random& random) {
  const std::size_t usual = usual_row(rows_there), count = rows_there.size();
  std::size_t first = 0, shown = count;
  if (rows == Rows::one) {
    first = usual;
    shown = 1;
    const std::size_t other = random.between(0, count - 1);
    const double celsius = rows_there[other].celsius;
    if (random.chance(0.25) && celsius >= 15 && celsius <= 30) first = other;
  } else if (rows != Rows::all) {
    shown = rows == Rows::two ? 2 : 3;
    const std::size_t least = usual + 1 >= shown ? usual + 1 - shown : 0;
    first = random.between(least, std::min(usual, count - shown));
  }
  std::vector<double> celsius;
  for (std::size_t i = first; i < first + shown; ++i)
    celsius.push_back(rows_there[i].celsius);
  return celsius;
}

std::vector<TableRow> rows_at(const Rising& rows_there, const std::vector<double>& celsius) {
  std::vector<TableRow> rows;
  for (const TableRow& row : rows_there) {
    if (std::find(celsius.begin(), celsius.end(), row.celsius) != celsius.end()) rows.push_back(row);
  }
  if (rows.empty()) rows.push_back(rows_there[usual_row(rows_there)]);
  return rows;
}

/// Where in a stated range the truth lies: one share for the whole sheet.
std::vector<TrueRow> true_rows(const Rising& rows_there, double share) {
  std::vector<TrueRow> rows;
  for (const TableRow& row : rows_there)
    rows.push_back({row.celsius, std::log(row.low) + share * (std::log(row.high) - std::log(row.low))});
  return rows;
}

/// A curve through all rows that strays between them, never against the cold.
std::vector<TrueRow> strayed(const std::vector<TrueRow>& rows, room::Random& random) {
  std::vector<TrueRow> all;
  for (std::size_t i = 0; i + 1 < rows.size(); ++i) {
    const TrueRow cold = rows[i], warm = rows[i + 1];
    all.push_back(cold);
    TrueRow last = cold;
    const double least = std::min(cold.ln_minutes, warm.ln_minutes);
    for (double c = cold.celsius + kKnotKelvin; c < warm.celsius - 0.5; c += kKnotKelvin) {
      const double left = inverse(last.celsius) - inverse(warm.celsius);
      const double step = inverse(last.celsius) - inverse(c);
      const double mean = last.ln_minutes + (warm.ln_minutes - last.ln_minutes) * step / left;
      const double spread = kWander * std::sqrt(step * (left - step) / left);
      const double highest = std::max(last.ln_minutes, least);
      last = {c, std::clamp(mean + spread * random.normal(), least, highest)};
      all.push_back(last);
    }
  }
  all.push_back(rows.back());
  return all;
}

TrueCurve truth_of(const Rising& rows_there, Rows rows, room::Random& random) {
  auto known = true_rows(rows_there, random.uniform());
  return TrueCurve(rows == Rows::all ? strayed(known, random) : known);
}

std::string times_text(const std::vector<TableRow>& rows) {
  std::string text = "[";
  for (const TableRow& row : rows) {
    const auto time =
        row.low == row.high ? fmt::format("{} min", row.low) : fmt::format("{}-{} min", row.low, row.high);
    text += fmt::format("{}{{at = \"{} C\", time = \"{}\"}}", text.size() > 1 ? ", " : "", row.celsius, time);
  }
  return text + "]";
}

std::string rule_text(const Product& product, const std::vector<double>& shown) {
  if (product.gap_begins) {
    return fmt::format("kind = \"early-gap-late\"\ngap_begins = {}\ngap_ends = {}\n",
                       times_text(rows_at(*product.gap_begins, shown)),
                       times_text(rows_at(product.opens, shown)));
  }
  const auto opens = times_text(rows_at(product.opens, shown));
  if (!product.closes) return fmt::format("kind = \"open-only\"\nopens = {}\n", opens);
  return fmt::format("kind = \"open-close\"\nopens = {}\ncloses = {}\n", opens,
                     times_text(rows_at(*product.closes, shown)));
}

std::string sheet_text(const Variant& variant, const std::vector<double>& shown) {
  const Product& product = *variant.product;
  std::string text = fmt::format(
      "id = \"{0}\"\nname = \"{0}\"\ndocument = \"rows of a published table\"\nedition = \"1\"\n"
      "date = 2031-01-01\nfamily = \"{1}\"\n[reference]\ntemperature = \"{2} C\"\nhumidity = \"50 %\"\n"
      "film = \"60 um\"\n",
      variant.id, product.family, variant.printed_celsius);
  if (product.tack_free)
    text += fmt::format("[milestones]\ntack_free = {}\n", times_text(rows_at(*product.tack_free, shown)));
  text += fmt::format("[[recoat]]\non_top = \"any\"\n{}", rule_text(product, shown));
  if (variant.floor_stated) text += fmt::format("[cure]\nfloor = \"{:.1f} C\"\n", *variant.floor);
  return text;
}

/// One sheet in four with few rows states a floor; of the others one in four has a floor that it keeps to
/// itself, below the coldest row it shows and no higher than floors of its kind have been said to be.
void put_floor(Variant& variant, double coldest, room::Random& random) {
  const double highest =
      variant.product->family == "moisture-cured-urethane" || variant.product->family == "solvent-lacquer"
          ? 5.0
          : 10.0;
  const bool few = variant.rows == Rows::one || variant.rows == Rows::two;
  const double floor = std::min(highest, coldest - 1) - random.uniform() * 3;
  const bool wanted = random.chance(0.25);
  variant.floor_stated = few && wanted && coldest > 9;
  if (variant.floor_stated) {
    variant.floor = std::round(10 * (std::min(13.0, coldest - 1) - random.uniform() * 3)) / 10;
  } else if (random.chance(0.25) && floor > 2) {
    variant.floor = floor;
  }
}

std::string id_of(const Product& product, Rows rows) {
  std::string id = fmt::format("{}-{}", product.name, word(rows));
  for (char& c : id)
    c = c == '/' ? '-' : static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  return id;
}

Variant variant_of(const Product& product, Rows rows, room::Random& random) {
  Variant made;
  made.product = &product;
  made.rows = rows;
  made.id = id_of(product, rows);
  const auto shown = shown_temperatures(product.opens, rows, random);
  const auto printed = rows_at(product.opens, shown);
  made.printed_minutes = printed[usual_row(printed)].high;
  made.printed_celsius = printed[usual_row(printed)].celsius;
  put_floor(made, shown.front(), random);
  made.opens = truth_of(product.opens, rows, random);
  if (product.closes) made.closes = truth_of(*product.closes, rows, random);
  if (product.gap_begins) made.gap_begins = truth_of(*product.gap_begins, rows, random);
  made.has_tack_free = product.tack_free.has_value();
  made.tack_free = made.has_tack_free ? truth_of(*product.tack_free, rows, random) : made.opens;
  made.text = sheet_text(made, shown);
  return made;
}

bool allows(std::size_t rows_there, Rows rows) {
  switch (rows) {
    case Rows::one:
      return rows_there >= 2;
    case Rows::two:
      return rows_there >= 3;
    case Rows::three:
      return rows_there >= 4;
    case Rows::all:
      return true;
  }
  return false;
}

}  // namespace

const char* word(Rows rows) {
  switch (rows) {
    case Rows::one:
      return "1";
    case Rows::two:
      return "2";
    case Rows::three:
      return "3";
    case Rows::all:
      return "all";
  }
  return "";
}

std::vector<Variant> variants_of(const Product& product, room::Random& random) {
  std::vector<Variant> variants;
  for (const Rows rows : kRows) {
    if (allows(product.opens.size(), rows)) variants.push_back(variant_of(product, rows, random));
  }
  return variants;
}

}  // namespace setwell::shops
