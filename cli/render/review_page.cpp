#include "cli/render/review_page.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "cli/render/head.hpp"
#include "cli/render/html_page.hpp"
#include "cli/render/when.hpp"

namespace setwell::cli {
namespace {

/// On paper a page has room for this many; the terminal shows all.
constexpr std::size_t kMostCauses = 4, kMostLines = 4, kMostFacts = 16, kMostEvents = 14;

class PageWriter {
 public:
  PageWriter(const api::ReviewAnswer& answer, const Look& look)
      : answer_(answer), reading_(answer.display, quantity::parse_rfc3339(answer.time), look.clock_now) {}

  std::string make() {
    head();
    chart();
    out_ += "<main id=\"main\">\n";
    causes();
    facts();
    events();
    absent();
    cautions();
    out_ += "</main>\n</body>\n</html>\n";
    return std::move(out_);
  }

 private:
  void title(std::string_view text) { out_ += fmt::format("<h2>{}</h2>\n", escaped(text)); }
  void paragraph(std::string_view text, std::string_view kind = {}) { out_ += cli::paragraph(text, kind); }
  void list(std::string_view label, const std::vector<std::string>& lines, std::size_t most) {
    if (lines.empty()) return;
    out_ += fmt::format("<p class=\"kind\"><span class=\"tag\">{}</span></p>\n<ul>\n", label);
    for (std::size_t i = 0; i < std::min(most, lines.size()); ++i)
      out_ += "<li>" + escaped(lines[i]) + "</li>\n";
    out_ += "</ul>\n";
  }

  void head() {
    const auto name = fmt::format("{}, coat {}", answer_.piece, answer_.coat);
    out_ = page_head("Looking back: " + name);
    out_ += "<a class=\"skip\" href=\"#main\">To the causes</a>\n<header>\n";
    out_ += fmt::format("<h1>Looking back: {}</h1>\n", escaped(name));
    std::string line = answer_.sheet;
    std::string signs;
    for (const auto& sign : answer_.signs)
      signs += (signs.empty() ? "" : ", ") + sign;
    if (!signs.empty()) line += "; seen: " + signs;
    for (const auto& where : answer_.where)
      line += "; " + where;
    line += "; looked at up to " + reading_.moment(answer_.time);
    if (!answer_.title.empty()) paragraph(answer_.title, "soft");
    paragraph(line, "soft");
    if (answer_.rehearsal) paragraph(kRehearsal);
    paragraph(answer_.summary, "verdict");
    if (!answer_.next_test.empty()) paragraph("One test that would tell more: " + answer_.next_test + ".");
    out_ += "</header>\n";
  }

  void chart() {
    const auto drawn = review_chart(answer_);
    out_ += "<figure tabindex=\"0\" class=\"small\" aria-label=\"" + escaped(drawn.title) + "\">\n";
    out_ += svg_of(lay_out(drawn), drawn.title, drawn.description);
    out_ +=
        "<figcaption class=\"soft\">Numbers are the events listed below. Bars: dark surely, light perhaps. "
        "The band "
        "about the surface is what the thermal lag leaves open.</figcaption>\n</figure>\n";
  }

  void causes() {
    title(answer_.settled ? "What speaks for it, and what else was weighed" : "What was weighed");
    if (answer_.causes.empty()) return;
    out_ += "<div class=\"causes\">\n";
    std::size_t told = 0;
    for (const auto& cause : answer_.causes) {
      if (told++ == kMostCauses) break;
      out_ += fmt::format("<section class=\"cause\"><h3>{}. {}</h3>\n", cause.level, escaped(cause.cause));
      paragraph(cause.meaning, "soft");
      list("for", cause.for_, kMostLines);
      list("against", cause.against, kMostLines - 1);
      list("not known", cause.missing, kMostLines - 1);
      out_ += "</section>\n";
    }
    out_ += "</div>\n";
    remedies();
  }

  void remedies() {
    title(answer_.settled ? "The usual remedy, in order" : "The usual remedies, in order");
    for (const auto& cause : answer_.causes) {
      if (cause.level > 1) break;
      if (!answer_.settled) paragraph(cause.cause + ":");
      out_ += "<ol>\n";
      for (const auto& step : cause.remedies)
        out_ += "<li>" + escaped(step) + "</li>\n";
      out_ += "</ol>\n";
    }
  }

  void facts() {
    title("The facts");
    out_ += "<dl>\n";
    std::size_t told = 0;
    std::string last;
    for (const auto& fact : answer_.facts) {
      const bool paper = told++ < kMostFacts;
      const auto* kind = paper ? "" : " class=\"screen\"";
      out_ += fmt::format("<dt{}>{}</dt><dd{}>{}</dd>\n", kind, fact.topic == last ? "" : escaped(fact.topic),
                          kind, escaped(fact.text));
      last = fact.topic;
    }
    out_ += "</dl>\n";
  }

  void events() {
    title("Events");
    out_ += "<ol class=\"two\">\n";
    for (std::size_t i = 0; i < answer_.events.size(); ++i) {
      const auto& event = answer_.events[i];
      out_ += fmt::format("<li{}>{} <span class=\"soft\">{}</span></li>\n",
                          i < kMostEvents ? "" : " class=\"screen\"", escaped(event.text),
                          escaped(reading_.moment(event.at)));
    }
    out_ += "</ol>\n";
  }

  void absent() {
    if (answer_.absent.empty()) return;
    title("What the record lacks");
    out_ += "<ul>\n";
    for (const auto& line : answer_.absent)
      out_ += "<li>" + escaped(line) + "</li>\n";
    out_ += "</ul>\n";
  }

  void cautions() {
    title("Cautions");
    out_ += "<ul class=\"two\">\n";
    for (const auto& line : answer_.cautions)
      out_ += "<li>" + escaped(line) + "</li>\n";
    out_ += "</ul>\n";
  }

  const api::ReviewAnswer& answer_;
  Reading reading_;
  std::string out_;
};

}  // namespace

std::string review_page(const api::ReviewAnswer& answer, const Look& look) {
  return PageWriter(answer, look).make();
}

}  // namespace setwell::cli
