#pragma once

#include <algorithm>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "daemon/core/notice.hpp"
#include "daemon/core/notice_words.hpp"

/// The lines that notices of several kinds share.
namespace setwell::core {

inline constexpr std::string_view kDust =
    "Dust of under-cured material harms lungs and skin: sand wet or with extraction, wear a particulate "
    "respirator, "
    "follow the datasheet.";
inline constexpr std::string_view kFlame =
    "Solvent vapour burns: no flame, no heat gun, no sparks; ventilate; follow the datasheet and local "
    "rules.";
inline constexpr std::string_view kSkin = "Gloves on, fresh air; the product's datasheet decides.";
inline constexpr std::string_view kIsocyanate =
    "If it is sprayed: isocyanate. Its datasheet and local rules decide (supplied air; keep others out).";
inline constexpr std::string_view kLeftovers =
    "Leftovers in a deep pot can get very hot: spread them thin, watch them until cool.";

/// One notice being worded.
class NoticeLines {
 public:
  NoticeLines(const Telling& telling, quantity::Instant now, const Display& display)
      : fact_(telling.fact), content_(telling.fact.content), now_(now), display_(display) {}

  [[nodiscard]] const NoticeContent& content() const { return content_; }
  [[nodiscard]] std::string moment(quantity::Instant at, Minute minute = Minute::past) const {
    return core::moment(at, now_, display_, minute);
  }
  [[nodiscard]] bool ahead(std::optional<quantity::Instant> at) const { return at && *at > now_; }
  [[nodiscard]] std::string since() const { return moment(fact_.since); }
  [[nodiscard]] std::string window() const { return stretch(content_.from, content_.until, now_, display_); }
  [[nodiscard]] std::string zone() const {
    return content_.zone.empty() ? "its zone" : clipped(content_.zone);
  }
  [[nodiscard]] std::string degrees(double celsius) const {
    return show(quantity::Celsius(celsius), display_);
  }
  [[nodiscard]] std::string kelvin(double difference) const {
    return show(quantity::CelsiusDelta(difference), display_);
  }

  /// The pieces, then what is said of them, cut to a title: the pieces give way first, then names of
  /// materials.
  [[nodiscard]] std::string title(const std::string& said) const {
    constexpr int kLeastForPieces = 30;
    const int room = std::max(kLeastForPieces, kTitleLongest - static_cast<int>(said.size()) - 2);
    auto text = piece_list(content_.pieces, room) + ": " + said;
    return shortened(std::move(text));
  }
  /// A piece or several as a line of a list names them.
  [[nodiscard]] static std::string names(const std::vector<quantity::PieceId>& pieces) {
    constexpr int kColumns = 60;
    return piece_list(pieces, kColumns);
  }
  [[nodiscard]] std::string window_of(const ListedAct& act) const {
    return stretch(act.from, act.until, now_, display_);
  }
  [[nodiscard]] static std::string shortened(std::string text) {
    if (text.size() <= kTitleLongest) return text;
    std::size_t end = kTitleLongest - 3;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U)
      --end;
    return text.substr(0, end) + "…";
  }
  /// A material's name, no longer than a title can bear.
  [[nodiscard]] std::string top() const { return clipped(content_.top_name); }
  [[nodiscard]] std::string sheet() const { return clipped(content_.sheet_name); }

  void line(std::string text) {
    if (text.empty()) return;
    if (!body_.empty()) body_ += '\n';
    body_ += text;
  }
  [[nodiscard]] std::string body() && { return std::move(body_); }

  void coat_line() {
    const std::set<int> numbers(content_.coats.begin(), content_.coats.end());
    if (numbers.empty()) return;
    line(fmt::format("{} {}: {}{}.", numbers.size() == 1 ? "Coat" : "Coats", fmt::join(numbers, ", "),
                     content_.sheet_name, content_.zone.empty() ? "" : ", in " + content_.zone));
  }
  void mix_line() {
    if (content_.mix_by) line("Start mixing or shaking by " + moment(*content_.mix_by) + ".");
  }
  /// How far the window can be relied on.
  void sureness_line() {
    if (content_.by_touch) {
      line("Open by your touch test; by the clocks alone it is not sure yet.");
    } else if (!content_.sure) {
      line("There is no sure window for this coat: only a touch test can open it.");
    }
  }
  [[nodiscard]] std::string opened_with_top() const {
    if (content_.by_touch) return "open to recoat with " + top() + " by your touch test";
    return (content_.sure ? "safe to recoat with " : "touch test first, perhaps open to recoat with ") +
           top();
  }
  void usable_line() {
    if (!content_.from || (content_.usable_from == content_.from && content_.usable_until == content_.until))
      return;
    if (!content_.usable_from) {
      line(
          "None of it lies in your waking hours: coat later and sand first, or begin the coat at another "
          "time.");
      return;
    }
    line("In your waking hours: " + stretch(content_.usable_from, content_.usable_until, now_, display_) +
         ".");
  }
  void why_line() {
    if (!content_.coldest || !content_.coldest_at) return;
    line(fmt::format("Why then: {} was down to {} ({}).", content_.zone.empty() ? "the air" : content_.zone,
                     show(*content_.coldest, display_), moment(*content_.coldest_at)));
  }
  void missed_line() { line("If missed: " + way_back() + "."); }
  [[nodiscard]] std::string way_back() const {
    return content_.washes ? "wash with water, dry, then sand, wipe, let the wipe dry, coat"
                           : "sand, wipe, let the wipe dry, coat";
  }
  void coating_cautions() {
    if (content_.rotator_for) {
      line("The rotator must turn until the coat is tack-free, " + show(*content_.rotator_for) +
           " or more: begin only if you stay with it.");
    }
    line(std::string(content_.flammable ? kFlame : kSkin));
    if (content_.sprayed_isocyanate) line(std::string(kIsocyanate));
  }
  /// What has no end says so: nobody should hurry for nothing.
  void endless_line() {
    if (content_.without_end) line("No end: it stays so.");
  }
  void sanding_caution() { line(std::string(kDust)); }

 private:
  [[nodiscard]] static std::string clipped(const std::string& name) {
    constexpr std::size_t kLongest = 40;
    if (name.size() <= kLongest) return name;
    std::size_t end = kLongest - 3;
    while (end > 0 && (static_cast<unsigned char>(name[end]) & 0xC0U) == 0x80U)
      --end;
    return name.substr(0, end) + "…";
  }

  const NoticeFact& fact_;
  const NoticeContent& content_;
  quantity::Instant now_;
  const Display& display_;
  std::string body_;
};

}  // namespace setwell::core
