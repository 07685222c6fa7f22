#include "daemon/sheets/conditions.hpp"

namespace setwell::sheets {
namespace {

using toml_text::Bound;
using toml_text::Bounded;
using toml_text::Read;
using toml_text::Table;

template <typename T>
core::Between<T> between(Table& table, std::string_view key, Read<Bounded<T>> (*read)(std::string_view),
                         std::string_view example) {
  const auto written = table.figure(key, read);
  if (!written) return {};
  switch (written->bound) {
    case Bound::range:
      return {written->low, written->high};
    case Bound::at_least:
      return {written->low, std::nullopt};
    case Bound::at_most:
      return {std::nullopt, written->high};
    case Bound::exact:
      break;
  }
  table.fault(key, "one figure where a range belongs", std::string(example));
  return {};
}

std::optional<quantity::CelsiusDelta> dew_margin(Table& table) {
  const auto margin = table.figure("dew_margin", toml_text::kelvin);
  if (margin && margin->kelvin() < 0.0) {
    table.fault("dew_margin", "a surface below the dew point is wet",
                "the least margin above it, like \"3 K\"");
    return std::nullopt;
  }
  return margin;
}

core::Conditions conditions(Table& phase, std::string_view key) {
  core::Conditions read;
  auto table = phase.table(key);
  if (!table) return read;
  read.temperature = between(*table, "temperature", toml_text::bounded_celsius,
                             "\"18-25 C\", \"at least 18 C\" or \"at most 25 C\"");
  read.humidity = between(*table, "humidity", toml_text::bounded_humidity,
                          "\"40-60 %\", \"at least 40 %\" or \"at most 70 %\"");
  read.dew_margin = dew_margin(*table);
  table->done();
  return read;
}

}  // namespace

core::PhaseConditions read_phase(Table& table) {
  core::PhaseConditions phase;
  phase.advised = conditions(table, "advised");
  phase.limit = conditions(table, "limit");
  phase.lasts = table.figure("lasts", toml_text::hours);
  phase.where = table.text("where").value_or("");
  return phase;
}

}  // namespace setwell::sheets
