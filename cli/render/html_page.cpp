#include "cli/render/html_page.hpp"

#include <fmt/format.h>

#include "cli/render/chart.hpp"

namespace setwell::cli {
namespace {

constexpr std::string_view kStyle = R"(
:root{color-scheme:light dark;--paper:#fbfaf6;--ink:#22282b;--soft:#566065;--rule:#cfd2cb;--air:#8a4b08;--surface:#1f5f8b;--dew:#2f6b3a;--limit:#a3241d;--advised:#6a4a86}
@media(prefers-color-scheme:dark){:root{--paper:#1b2022;--ink:#eceae3;--soft:#b3b9b8;--rule:#444c4e;--air:#f0b467;--surface:#8cc4ee;--dew:#93d09d;--limit:#ff9a8f;--advised:#cfaef0}}
*{box-sizing:border-box}
body{margin:0 auto;max-width:56rem;padding:1.2rem;background:var(--paper);color:var(--ink);font:15px/1.4 system-ui,sans-serif}
h1{font-size:1.3rem;margin:0}h2{font-size:1rem;margin:1rem 0 .3rem;border-bottom:1px solid var(--rule)}h3{font-size:.95rem;margin:.6rem 0 .1rem}
p{margin:.3rem 0}.soft{color:var(--soft)}.verdict{font-weight:600;border-left:.3rem solid var(--ink);padding:.2rem .7rem;margin:.6rem 0}
ul,ol{margin:.2rem 0;padding-left:1.4rem}li{margin:.1rem 0}dl{display:grid;grid-template-columns:max-content 1fr;gap:.1rem .8rem;margin:.2rem 0}dt{color:var(--soft)}dd{margin:0}
.causes{display:grid;grid-template-columns:1fr 1fr;gap:.2rem 1.4rem}.cause{break-inside:avoid}.two{columns:2;column-gap:1.4rem}
.tag{display:inline-block;border:1px solid var(--ink);border-radius:.2rem;padding:0 .3rem;font-size:.8rem}
.kind{float:left;clear:left;width:6.4em;margin:0}.kind+ul{margin-left:6.4em;min-height:1.5em}.cause{overflow:hidden}
figure{margin:.6rem 0;overflow-x:auto}figure:focus-visible,summary:focus-visible,a:focus-visible{outline:3px solid var(--surface);outline-offset:2px}
.skip{position:absolute;left:-60rem}.skip:focus{position:static}
@media(max-width:40rem){.causes{grid-template-columns:1fr}.two{columns:1}}
@media print{@page{size:auto;margin:8mm}:root{--paper:#fff;--ink:#000;--soft:#333}body{padding:0;max-width:none;font-size:7pt;line-height:1.16}h1{font-size:11pt}h2{font-size:8.4pt;margin:.25rem 0 .1rem}h3{font-size:7.8pt;margin:.1rem 0 0}figure{margin:.1rem 0}svg{width:100%;max-height:92mm}.small svg{max-height:58mm}.tag{font-size:6.4pt}.verdict{margin:.2rem 0}dl{display:block;columns:2;column-gap:1.4rem}dt{float:left;clear:left;margin-right:.6em}dt:empty{display:none}.kind+ul{padding-left:1.4em}.screen{display:none}p,ul,ol,dl{margin:.1rem 0}}
)";

}  // namespace

std::string page_head(std::string_view title) {
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
      "content=\"width=device-width,initial-scale=1\">\n<title>{}</title>\n<style>{}{}</style>\n</head>\n"
      "<body>\n",
      escaped(title), kStyle, chart_style());
}

std::string paragraph(std::string_view text, std::string_view kind) {
  const auto open = kind.empty() ? std::string("<p>") : fmt::format("<p class=\"{}\">", kind);
  return open + escaped(text) + "</p>\n";
}

}  // namespace setwell::cli
