#include <string>

#include <catch2/catch.hpp>

#include "daemon/core/touch_rules.hpp"

using namespace setwell::core;
using namespace setwell::quantity;

namespace {

constexpr std::array kKinds{RuleKind::open_only, RuleKind::open_close, RuleKind::early_gap_late,
                            RuleKind::after_full_cure, RuleKind::while_tacky};
constexpr std::array kTouches{Touch::wet,  Touch::strings, Touch::tacky,  Touch::firm,
                              Touch::hard, Touch::gums,    Touch::powders};

Outlook with_tack_free(bool surely) {
  Outlook outlook;
  ClockReading clock;
  clock.milestone = Milestone::tack_free;
  clock.reached = {surely, surely, true};
  outlook.clocks.push_back(clock);
  return outlook;
}

}  // namespace

TEST_CASE("firm opens recoat only where the rule is one of firmness", "[touch]") {
  CHECK(proof_of(RuleKind::open_only, Touch::firm, Milestone::recoat_opens) == Proof::reached);
  CHECK(proof_of(RuleKind::open_close, Touch::firm, Milestone::recoat_opens) == Proof::reached);
  CHECK_FALSE(proof_of(RuleKind::early_gap_late, Touch::firm, Milestone::recoat_opens));
  CHECK_FALSE(proof_of(RuleKind::after_full_cure, Touch::firm, Milestone::recoat_opens));
  CHECK_FALSE(proof_of(RuleKind::while_tacky, Touch::firm, Milestone::recoat_opens));
}

TEST_CASE("while tacky, strings is too soon, tacky keeps it open and firm closes it", "[touch]") {
  CHECK(proof_of(RuleKind::while_tacky, Touch::strings, Milestone::recoat_opens) == Proof::not_yet);
  CHECK(proof_of(RuleKind::while_tacky, Touch::tacky, Milestone::recoat_opens) == Proof::reached);
  CHECK(proof_of(RuleKind::while_tacky, Touch::tacky, Milestone::recoat_closes) == Proof::not_yet);
  CHECK(proof_of(RuleKind::while_tacky, Touch::firm, Milestone::recoat_closes) == Proof::reached);
}

TEST_CASE("no touch says anything of gaps, flash-off, handling, packing or full cure", "[touch]") {
  for (const RuleKind kind : kKinds) {
    for (const Touch touch : kTouches) {
      for (const Milestone milestone :
           {Milestone::flash_off_over, Milestone::gap_begins, Milestone::gap_ends, Milestone::handling,
            Milestone::packing, Milestone::full_cure, Milestone::full_strength}) {
        CHECK_FALSE(proof_of(kind, touch, milestone));
      }
    }
  }
}

TEST_CASE("only a sanding trial says anything of sanding, and it opens no recoat", "[touch]") {
  for (const RuleKind kind : kKinds) {
    for (const Touch touch : kTouches) {
      CHECK(proof_of(kind, touch, Milestone::sandable).has_value() == is_sanding_trial(touch));
      if (is_sanding_trial(touch)) CHECK_FALSE(proof_of(kind, touch, Milestone::recoat_opens));
    }
  }
}

TEST_CASE("a word proves one thing of a milestone at most", "[touch]") {
  for (const RuleKind kind : kKinds) {
    for (const Touch touch : kTouches) {
      const auto proofs = proofs_of(kind, touch);
      for (std::size_t a = 0; a < proofs.size(); ++a) {
        for (std::size_t b = a + 1; b < proofs.size(); ++b)
          CHECK(proofs[a].milestone != proofs[b].milestone);
      }
      for (const TouchRule& proof : proofs)
        CHECK(proof_of(kind, touch, proof.milestone) == proof.proof);
    }
  }
}

TEST_CASE("a sanding trial is refused until the coat is surely tack-free; a touch never is", "[touch]") {
  CHECK_FALSE(may_be_logged(Touch::gums, with_tack_free(false)).has_value());
  CHECK_FALSE(may_be_logged(Touch::powders, with_tack_free(false)).has_value());
  CHECK_FALSE(may_be_logged(Touch::powders, Outlook{}).has_value());
  CHECK(may_be_logged(Touch::powders, with_tack_free(true)).has_value());
  CHECK(may_be_logged(Touch::wet, with_tack_free(false)).has_value());
  CHECK(may_be_logged(Touch::gums, with_tack_free(false)).error().kind == ErrorKind::refused);
  CHECK(std::string(dust_caution()).find("datasheet") != std::string::npos);
}
