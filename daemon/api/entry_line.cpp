#include <fmt/format.h>

#include "daemon/api/from_core.hpp"

namespace setwell::api {
namespace {

/// Builds `head, a, b` out of the parts that are there.
class Line {
 public:
  explicit Line(std::string head) : text_(std::move(head)) {}
  Line& add(std::string part) {
    text_ += ", " + part;
    return *this;
  }
  template <typename T, typename Say>
  Line& add_if(const std::optional<T>& value, Say say) {
    if (value) add(say(*value));
    return *this;
  }
  [[nodiscard]] std::string text() const { return text_; }

 private:
  std::string text_;
};

struct EntryWords {
  const core::Display& display;

  std::string operator()(const core::PieceMade& b) const {
    return Line("new piece, form " + b.form.text())
        .add_if(b.schedule, [](const auto& s) { return "schedule " + s.text(); })
        .add_if(b.due, [](const auto& due) { return "due " + due; })
        .text();
  }
  std::string operator()(const core::CoatMade& b) const {
    Line line(fmt::format("coat of {} in {}", b.sheet.text(), b.zone.text()));
    line.add_if(b.batch, [](const auto& id) { return "batch " + id.text(); })
        .add_if(b.grams, [](const auto& g) { return core::show(g); })
        .add_if(b.film, [](const auto& um) { return fmt::format("{:g} µm", um.value()); });
    if (b.passes > 1) line.add(fmt::format("{} passes", b.passes));
    if (b.load != core::Load::none) line.add("loaded with " + std::string(core::word(b.load)));
    return line.add_if(b.piece_from, [this](auto t) { return "piece from " + core::show(t, display); })
        .add_if(b.resin_temperature, [this](auto t) { return "resin at " + core::show(t, display); })
        .add_if(b.lot, [](const auto& lot) { return "lot " + lot; })
        .add_if(b.lamp, [](auto m) { return fmt::format("{:g} min under the lamp", m.count()); })
        .text();
  }
  std::string operator()(const core::StepDone& b) const {
    return Line(std::string(core::word(b.step)))
        .add_if(b.with, [](const auto& with) { return "with " + with; })
        .add_if(b.kind, [](const auto& kind) { return kind; })
        .add_if(b.sheet, [](const auto& sheet) { return sheet.text(); })
        .add_if(b.text, [](const auto& text) { return text; })
        .text();
  }
  std::string operator()(const core::TouchTested& b) const {
    return Line("touched: " + std::string(core::word(b.touch)))
        .add_if(b.witness_of, [](const auto& id) { return "witness of " + id.text(); })
        .text();
  }
  std::string operator()(const core::BatchMixed& b) const {
    return Line(fmt::format("batch {} of {}, A {} + B {}", b.batch.text(), b.sheet.text(),
                            core::show(b.part_a), core::show(b.part_b)))
        .add_if(b.resin_temperature, [this](auto t) { return "resin at " + core::show(t, display); })
        .add_if(b.lot_a, [](const auto& lot) { return "lot A " + lot; })
        .add_if(b.lot_b, [](const auto& lot) { return "lot B " + lot; })
        .add_if(b.stirred, [](auto m) { return fmt::format("stirred {:g} min", m.count()); })
        .text();
  }
  std::string operator()(const core::LotOpened& b) const {
    return fmt::format("opened {}{}, lot {}", b.sheet.text(), b.part.empty() ? "" : " part " + b.part, b.lot);
  }
  std::string operator()(const core::PieceMoved& b) const {
    return "moved to " + b.zone.text() + (b.place.empty() ? "" : "/" + b.place);
  }
  std::string operator()(const core::RotatorChanged& b) const {
    return fmt::format("rotator of {} {}", b.zone.text(), b.running ? "running" : "stopped");
  }
  std::string operator()(const core::HandReading& b) const {
    Line line(b.zone ? "read by hand in " + b.zone->text() : "surface read by hand");
    return line.add_if(b.air, [this](auto t) { return "air " + core::show(t, display); })
        .add_if(b.humidity, [](auto rh) { return "humidity " + core::show(rh); })
        .add_if(b.surface, [this](auto t) { return core::show(t, display); })
        .text();
  }
  std::string operator()(const core::DefectSeen& b) const {
    std::string signs;
    for (const auto& sign : b.signs)
      signs += (signs.empty() ? "" : ", ") + sign;
    return Line("defect: " + signs)
        .add_if(b.coat, [](int coat) { return fmt::format("coat {}", coat); })
        .add_if(b.where, [](const auto& where) { return where; })
        .text();
  }
  std::string operator()(const core::PieceEnded& b) const {
    return std::string(core::word(b.ending)) + (b.anyway ? ", anyway" : "");
  }
  std::string operator()(const core::NoticeSeen& b) const { return fmt::format("notice {} seen", b.notice); }
  std::string operator()(const core::Struck& b) const {
    return fmt::format("entry {} struck", b.entry.value());
  }
};

}  // namespace

std::string entry_line(const core::Entry& entry, const core::Display& display) {
  return std::visit(EntryWords{display}, entry.body);
}

}  // namespace setwell::api
