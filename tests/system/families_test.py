#!/usr/bin/env python3
"""Each family of material through the real programs: in which air, how thick and how loaded it opens and closes
earlier or later, what is said of damp, of the lamp and of the pot; and every bad sheet with its message."""

import sys
import tempfile
import unittest
from datetime import datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import Broker, Workshop, end  # noqa: E402

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400  # a midnight of the year 2031; rehearsal time begins there
HOUR = 3600


def moment(text):
    return datetime.fromisoformat(text).timestamp() if text else None


class Air:
    """A workshop whose air stands still: what is still ahead of a coat goes by that air."""

    def __init__(self, celsius, humidity, broker, length=HOUR):
        self.shop = Workshop(rehearsal=True)
        self.shop.start()
        self.shop.steady(celsius, humidity, BEGIN, BEGIN + length)
        self.count = 0

    def close(self):
        self.shop.__exit__()

    def piece(self):
        self.count += 1
        name = f"cup-{self.count:02}"
        self.shop.ask("piece", "new", name, "--form", "cup")
        return name

    def coat(self, sheet, *options, grams=None):
        """The answer to `coat`, and the piece in it."""
        name = self.piece()
        what = f"{name}={grams}" if grams else name
        answer = self.shop.ask("coat", sheet, what, "--zone", "bench", *options)
        return answer, answer["pieces"][0]

    def at(self, sheet, milestone, track, *options, top="self", grams=None):
        _, piece = self.coat(sheet, *options, grams=grams)
        return moment(one(piece, milestone, top)[track]["at"])


def one(piece, milestone, top="self"):
    found = [m for m in piece["milestones"] if m["name"] == milestone and m["top"] in (None, top)]
    assert len(found) == 1, (milestone, piece["milestones"])
    return found[0]


def said(answer):
    return " ".join(answer["said"])


class Families(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory(prefix="setwell-families-")
        cls.broker = Broker(Path(cls.folder.name))
        cls.fair = Air(21, 50, cls.broker)
        cls.cold = Air(14, 50, cls.broker)
        cls.damp = Air(21, 78, cls.broker)
        cls.dry = Air(21, 20, cls.broker)
        # Drier than the sheets' 50 % by more than the sensor's error.
        cls.drier = Air(21, 42, cls.broker)

    @classmethod
    def tearDownClass(cls):
        for air in (cls.fair, cls.cold, cls.damp, cls.dry, cls.drier):
            air.close()
        cls.broker.end()
        cls.folder.cleanup()

    def later(self, sheet, milestone, track, *, than=None, air=None, options=(), other_options=(), top="self"):
        first = (than or self.fair).at(sheet, milestone, track, *other_options, top=top)
        second = (air or self.fair).at(sheet, milestone, track, *options, top=top)
        self.assertIsNotNone(first)
        self.assertIsNotNone(second)
        self.assertGreater(second, first + 30, f"{sheet} {milestone} {track}")

    def not_earlier(self, sheet, milestone, track, air, than):
        self.assertGreaterEqual(air.at(sheet, milestone, track) + 30, than.at(sheet, milestone, track))

    def test_an_amine_epoxy_opens_and_closes_later_in_the_cold(self):
        self.later("fast-coating-epoxy", "recoat-opens", "slow", air=self.cold)
        self.later("fast-coating-epoxy", "recoat-closes", "fast", air=self.cold)

    def test_an_epoxy_coat_thinner_than_the_sheets_pour_is_slower(self):
        self.later("casting-epoxy", "recoat-opens", "slow", options=("--film", "400"))
        by_film = self.fair.at("casting-epoxy", "recoat-opens", "slow", "--film", "440")
        # 13.2 g of it on 300 cm2 are 0.4 mm: grams tell the film as well.
        by_grams = self.fair.at("casting-epoxy", "recoat-opens", "slow", grams=14)
        self.assertAlmostEqual(by_grams, by_film, delta=120)

    def test_flake_keeps_an_epoxy_closed_longer_and_the_sheets_words_are_said(self):
        self.later("fast-coating-epoxy", "recoat-opens", "slow", options=("--load", "flake"))
        answer, _ = self.fair.coat("fast-coating-epoxy", "--load", "flake")
        self.assertIn("not before 6 h", said(answer))

    def test_a_two_part_urethane_opens_and_closes_later_in_the_cold(self):
        self.later("clear-urethane", "recoat-opens", "slow", air=self.cold)
        self.later("clear-urethane", "recoat-closes", "fast", air=self.cold)
        self.later("clear-urethane", "flash-off-over", "slow", air=self.cold)

    def test_an_alkyds_gap_moves_with_the_air_and_a_thick_film_lengthens_it(self):
        self.later("spray-enamel", "gap-begins", "fast", air=self.cold)
        self.later("spray-enamel", "gap-ends", "slow", air=self.cold)
        self.later("spray-enamel", "gap-ends", "slow", options=("--film", "120"))
        thick = self.fair.at("spray-enamel", "gap-begins", "fast", "--film", "120")
        self.assertLessEqual(thick, self.fair.at("spray-enamel", "gap-begins", "fast") + 30)

    def test_several_passes_count_surely_from_the_last_and_at_the_earliest_from_the_first(self):
        span = ("--passes", "3", "--at", "40m..10m")
        end_at = self.fair.at("spray-enamel", "gap-ends", "slow", "--at", "10m")
        first_at = self.fair.at("spray-enamel", "gap-begins", "fast", "--at", "40m")
        self.assertAlmostEqual(self.fair.at("spray-enamel", "gap-ends", "slow", *span), end_at, delta=60)
        self.assertAlmostEqual(self.fair.at("spray-enamel", "gap-begins", "fast", *span), first_at, delta=60)

    def test_a_lacquer_is_slower_in_the_cold_and_when_thick(self):
        self.later("clear-sealer", "recoat-opens", "slow", air=self.cold)
        self.later("clear-sealer", "recoat-opens", "slow", options=("--film", "80"))
        self.later("clear-sealer", "flash-off-over", "slow", air=self.cold)

    def test_a_lacquers_wide_dew_margin_is_a_limit_that_fair_air_breaks_and_dry_air_keeps(self):
        _, fair = self.fair.coat("clear-sealer")
        _, dry = self.dry.coat("clear-sealer")
        broken = [c for c in fair["outside_limits"] if c["what"] == "dew margin below the limit"]
        self.assertEqual(len(broken), 1)
        self.assertEqual(broken[0]["limit"], 11)
        self.assertIsNotNone(broken[0]["since"])
        self.assertNotEqual(fair["verdict"], "recoat")
        self.assertEqual(dry["outside_limits"], [])
        flashing = [c["what"] for c in fair["outside_advised"]]
        self.assertIn("dew margin below the advised least while it flashes off", flashing)

    def test_a_water_borne_film_is_slower_in_damp_and_cold_and_no_faster_in_dry_air(self):
        self.later("water-borne-glue", "recoat-opens", "slow", air=self.damp)
        self.later("water-borne-glue", "recoat-opens", "slow", air=self.cold)
        self.not_earlier("water-borne-glue", "recoat-opens", "slow", self.dry, self.drier)
        self.assertLess(self.dry.at("water-borne-glue", "recoat-opens", "expected"),
                        self.fair.at("water-borne-glue", "recoat-opens", "expected"))

    def test_a_moisture_curing_urethane_is_slower_in_dry_air_and_closes_sooner_in_damp(self):
        self.later("moisture-clear", "recoat-opens", "slow", air=self.dry)
        self.later("moisture-clear", "recoat-closes", "fast", than=self.damp, air=self.fair)
        self.later("moisture-clear", "recoat-opens", "slow", air=self.cold)
        answer, dry = self.dry.coat("moisture-clear")
        self.assertIn("humidity below the limit", [c["what"] for c in dry["outside_limits"]])
        self.assertIn("too dry for a film that cures with the air's water", said(answer))
        _, damp = self.damp.coat("moisture-clear")
        # So near to saturation the dew margin is not sure to hold, and is told as the least it may be.
        self.assertEqual([c["what"] for c in damp["outside_limits"]], ["dew margin below the limit"])
        self.assertLess(damp["outside_limits"][0]["value"], damp["outside_limits"][0]["limit"])
        self.assertIn("humidity above the advised range", [c["what"] for c in damp["outside_advised"]])

    def test_a_light_cured_film_waits_for_its_lamp_and_counts_nothing_else(self):
        answer, dark = self.fair.coat("lamp-gel", "--at", "30m")
        self.assertIn("No minutes under the lamp are logged", said(answer))
        opens = one(dark, "recoat-opens")
        self.assertEqual(opens["fast"]["progress"], 0)
        self.assertIsNone(opens["slow"]["at"])
        self.assertTrue(opens["not_known"].startswith("waits for the lamp: none logged"))
        self.assertIn("more minutes under the lamp", dark["next"])
        self.assertIn("waits for the lamp", self.fair.shop.run("now").stdout)
        entry = answer["logged"][0]["entry"]
        amended = self.fair.shop.ask("amend", str(entry), "--lamp", "5")["pieces"][0]
        self.assertEqual(amended["verdict"], "recoat")
        self.assertIsNotNone(one(amended, "recoat-opens")["slow"]["at"])
        _, some = self.fair.coat("lamp-gel", "--at", "30m", "--lamp", "3")
        self.assertIn("3 of at least", one(some, "recoat-opens")["not_known"])

    def test_lamp_minutes_for_anything_else_are_refused(self):
        done = self.fair.shop.run("coat", "clear-sealer", self.fair.piece(), "--zone", "bench", "--lamp", "5")
        self.assertEqual(done.returncode, 5)
        self.assertIn("not light-cured", done.stderr)

    def test_a_cup_brought_in_cold_is_told_how_long_until_it_may_be_coated(self):
        answer, piece = self.fair.coat("fast-coating-epoxy", "--piece-from", "4C")
        text = said(answer)
        self.assertIn("so water condenses on it", text)
        self.assertRegex(text, r"likely \d+ min, surely \d+ min after it came in")
        self.assertLess(piece["dew_margin_k"], 0)
        self.assertGreater(piece["dew_margin_error_k"], 0.5)
        self.assertIn("dew margin below the limit", [c["what"] for c in piece["outside_limits"]])
        _, warm = self.fair.coat("fast-coating-epoxy")
        self.assertEqual(warm["outside_limits"], [])

    def test_the_pot_goes_by_mass_and_the_warmer_of_resin_and_air(self):
        def left(*options, a="40", b="18", sheet="fast-coating-epoxy"):
            answer = self.fair.shop.ask("mixed", sheet, a, b, "--zone", "bench", *options)
            name = answer["said"][0].split(" ")[1].rstrip(":")
            batch = [x for x in self.fair.shop.ask("batches")["batches"] if x["batch"] == name][0]
            return batch["left_s"], said(answer)
        small, _ = left()
        big, _ = left(a="400", b="180")
        warm, _ = left("--resin-temp", "30C")
        cool, _ = left("--resin-temp", "10C")
        self.assertLess(big["fast"], 0.7 * small["fast"])
        self.assertLess(warm["fast"], small["fast"] - 60)
        self.assertAlmostEqual(cool["fast"], small["fast"], delta=5)
        self.assertLessEqual(small["fast"], small["expected"])
        _, deep = left(a="450", b="200")
        self.assertIn("exotherm", deep)
        for options, a in ((("--pot", "insulated"), "40"), ((), "2500")):
            none, text = left(*options, a=a, b="18" if a == "40" else "1125")
            self.assertIsNone(none["fast"])
            self.assertIn("exotherm", text)
            self.assertIn("no pot life can be given", text.replace("  ", " "))

    def test_a_mix_is_to_stand_and_a_coat_before_that_is_warned_of(self):
        mixed = self.fair.shop.ask("mixed", "clear-urethane", "60", "21", "--zone", "bench", "--at", "5m")
        self.assertIn("Let it stand 10 min", said(mixed))
        name = mixed["said"][0].split(" ")[1].rstrip(":")
        answer, _ = self.fair.coat(name)
        self.assertIn("stand 10 min after mixing", said(answer))


class FullCure(unittest.TestCase):
    def test_full_cure_too_cool_to_come_gets_words_instead_of_a_date(self):
        with tempfile.TemporaryDirectory(prefix="setwell-families-") as folder:
            broker = Broker(Path(folder))
            try:
                air = Air(8, 50, broker, length=26 * HOUR)
                try:
                    _, piece = air.coat("fast-coating-epoxy", "--at", "2h")
                    cure = one(piece, "full-cure")
                    self.assertEqual(cure["not_known"], "not reached at this temperature")
                    self.assertIsNone(cure["slow"]["at"])
                    self.assertIsNone(cure["expected"]["at"])
                    shown = air.shop.run("piece", "show", piece["piece"]).stdout
                    self.assertIn("not reached at this temperature", " ".join(shown.split()))
                finally:
                    air.close()
            finally:
                broker.end()


class PresentAir(unittest.TestCase):
    def test_an_open_coat_waits_for_air_in_which_the_next_one_may_go_on(self):
        with tempfile.TemporaryDirectory(prefix="setwell-families-") as folder:
            broker = Broker(Path(folder))
            air = Air(21, 50, broker)
            try:
                _, piece = air.coat("fast-coating-epoxy")
                name = piece["piece"]

                def present():
                    return [p for p in air.shop.ask("now")["pieces"] if p["piece"] == name][0]
                air.shop.steady(21, 50, BEGIN + HOUR, BEGIN + 11 * HOUR)
                self.assertEqual(present()["verdict"], "recoat")
                air.shop.steady(13, 50, BEGIN + 11 * HOUR, BEGIN + 12 * HOUR)
                cold = present()
                self.assertEqual(cold["verdict"], "wait")
                self.assertIn("wait for air within the sheet's limits", cold["next"])
                told, = cold["outside_limits"]
                self.assertEqual((told["what"], told["limit"], told["next_coat"], told["until"]),
                                 ("air below the limit for the next coat", 15, True, None))
                self.assertAlmostEqual(moment(told["since"]), BEGIN + 11 * HOUR, delta=600)
                self.assertNotIn("safe to recoat", air.shop.run("piece", "show", name).stdout)
                air.shop.steady(20, 50, BEGIN + 12 * HOUR, BEGIN + 13 * HOUR)
                self.assertEqual(present()["verdict"], "recoat")
            finally:
                air.close()
                broker.end()


class BadSheets(unittest.TestCase):
    def test_each_bad_sheet_is_told_by_the_command_line_line_for_line(self):
        bad = sorted((workshop.ROOT / "tests/data/sheets/bad").glob("*.toml"))
        self.assertGreaterEqual(len(bad), 70)
        with tempfile.TemporaryDirectory(prefix="setwell-sheet-") as folder:
            alone = Path(folder) / "sheet.toml"
            for path in bad:
                with self.subTest(path.name):
                    text = path.read_bytes()
                    alone.write_bytes(text)
                    lines = text.decode(errors="replace").splitlines()
                    faults = [line[10:] for line in lines if line.startswith("# expect: ")]
                    told = [line[8:] for line in lines if line.startswith("# warn: ")]
                    done = workshop.subprocess.run([str(workshop.BIN / "setwell"), "sheet", "check", str(alone)],
                                                   capture_output=True, text=True, timeout=workshop.PATIENCE)
                    self.assertEqual(done.returncode, 5 if faults else 0)
                    for line in faults + told:
                        self.assertIn(f"sheet.toml:{line}", done.stdout + done.stderr)

    def test_a_daemon_keeps_the_last_good_edition_when_a_sheet_goes_bad(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(21, 50, BEGIN, BEGIN + HOUR)
            shop.ask("piece", "new", "cup-01", "--form", "cup")
            shop.ask("coat", "clear-sealer", "cup-01", "--zone", "bench")
            sheet = shop.dir / "sheets" / "clear-sealer.toml"
            sheet.write_text(sheet.read_text().replace('handling = "1 h"', 'handling = "nan h"'))
            end(shop.daemon)
            shop.start()
            line = [s for s in shop.ask("sheets")["sheets"] if s["sheet"] == "clear-sealer"][0]
            self.assertTrue(any('"nan h" is not understood' in fault for fault in line["faults"]), line)
            piece = shop.ask("piece", "show", "cup-01")["now"]
            self.assertIsNotNone(one(piece, "handling")["slow"]["at"])


if __name__ == "__main__":
    workshop.main()
