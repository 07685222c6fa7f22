#include "daemon/sheets/tops.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "daemon/toml_text/words.hpp"

namespace setwell::sheets {
namespace {

std::vector<std::string_view> general_words() {
  std::vector<std::string_view> words{"self", "any"};
  for (const core::Family family : core::kFamilies)
    words.push_back(core::word(family));
  return words;
}

bool among(const std::vector<std::string_view>& words, std::string_view top) {
  return std::find(words.begin(), words.end(), top) != words.end();
}

std::string right_for(std::string_view top, const std::vector<std::string_view>& words) {
  const auto near = toml_text::nearest(top, words);
  return near ? fmt::format("\"{}\"?", *near)
              : "\"self\", \"any\", a family or the id of a sheet beside this one";
}

}  // namespace

void warn_of_unknown_tops(const core::Material& material, const KnownSheets& known,
                          toml_text::Report& report) {
  auto words = general_words();
  const auto general = words;
  if (known) words.insert(words.end(), known->begin(), known->end());
  for (std::size_t i = 0; i < material.recoat.size(); ++i) {
    const std::string& top = material.recoat[i].top;
    if (top.empty() || top == material.id.text() || among(words, top)) continue;
    if (!known && !toml_text::nearest(top, general)) continue;
    report.warn(fmt::format("recoat[{}].on_top", i),
                fmt::format("no family and no known sheet is called \"{}\"", top), right_for(top, words));
  }
}

}  // namespace setwell::sheets
