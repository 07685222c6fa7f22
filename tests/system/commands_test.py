#!/usr/bin/env python3
"""The command line against a real daemon: exit codes, the sentences that go with them, what units it shows."""

import subprocess
import sys
import time
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import Workshop, rfc3339  # noqa: E402

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400  # a midnight of the year 2031; rehearsal time begins there


class Commands(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.shop = Workshop(rehearsal=True)
        cls.shop.start()
        cls.shop.steady(20, 50, BEGIN, BEGIN + 2 * 3600)
        cls.shop.ask("piece", "new", "fern-01..04", "--form", "cup")

    @classmethod
    def tearDownClass(cls):
        cls.shop.__exit__()

    def refused(self, code, *words, holding=()):
        done = self.shop.run(*words)
        text = done.stderr
        self.assertEqual(done.returncode, code, f"{words}: {done.stdout}{text}")
        self.assertTrue(text.startswith("setwell: ") and len(text) > 25, text)
        self.assertEqual(text.count("\n"), 1, f"one sentence on one line: {text}")
        for part in holding:
            self.assertIn(part, text)
        as_json = self.shop.run(*words, "--json")
        self.assertEqual(as_json.returncode, code)
        self.assertIn('"version":1', as_json.stdout)
        return text

    def test_a_time_to_come_is_refused_with_1(self):
        self.refused(1, "coat", "fast-coating-epoxy", "fern-01", "--zone", "bench", "--at",
                     rfc3339(BEGIN + 40 * 86400))

    def test_a_wrong_command_line_is_usage_2(self):
        self.refused(2, "coat", holding=["--help"])
        self.refused(2, "piece", "new", "fern-09", "--no-such-option")

    def test_an_unknown_piece_sheet_or_zone_is_not_found_4(self):
        self.refused(4, "piece", "show", "no-such-piece", holding=["no-such-piece"])
        self.refused(4, "coat", "no-such-sheet", "fern-01", "--zone", "bench", holding=["no-such-sheet"])
        self.refused(4, "air", "attic", holding=["attic"])

    def test_an_impossible_time_is_invalid_5(self):
        for text in ("25:61", "half past", "yesterday 24:30"):
            self.refused(5, "coat", "fast-coating-epoxy", "fern-01", "--zone", "bench", "--at", text,
                         holding=[text.rsplit(" ", 1)[-1]])

    def test_a_daemon_that_is_away_is_unreachable_3(self):
        done = subprocess.run([str(workshop.BIN / "setwell"), "--socket", str(self.shop.dir / "nobody.sock"), "now"],
                              capture_output=True, text=True, timeout=workshop.PATIENCE)
        self.assertEqual(done.returncode, 3)
        self.assertIn("nobody.sock", done.stderr)
        self.assertEqual(done.stderr.count("\n"), 1)

    def test_a_piece_that_is_gone_takes_no_coat(self):
        self.shop.ask("piece", "new", "gone-01", "--form", "cup")
        self.shop.ask("scrap", "gone-01")
        done = self.shop.run("coat", "fast-coating-epoxy", "gone-01", "--zone", "bench")
        self.assertIn(done.returncode, (1, 4), done.stdout + done.stderr)
        self.assertIn("gone-01", done.stderr)

    def test_all_pieces_of_a_command_are_logged_or_none(self):
        before = self.shop.ask("entries", "fern-03")["entries"]
        self.refused(4, "coat", "fast-coating-epoxy", "fern-03", "nobody-01", "--zone", "bench")
        self.assertEqual(self.shop.ask("entries", "fern-03")["entries"], before)

    def test_sanded_epoxy_without_washing_asks_a_person_and_refuses_a_program(self):
        self.shop.ask("piece", "new", "sand-01", "--form", "cup", "--at", "1h")
        self.shop.ask("coat", "fast-coating-epoxy", "sand-01", "--zone", "bench", "--at", "1h")
        self.refused(1, "step", "sanded", "sand-01", holding=["--unwashed"])

    def test_undo_strikes_and_keeps(self):
        logged = self.shop.ask("coat", "spray-enamel", "fern-04", "--zone", "bench", "--at", "10m")["logged"]
        number = logged[0]["entry"]
        self.shop.ask("undo", str(number))
        entry = next(e for e in self.shop.ask("entries", "fern-04")["entries"] if e["entry"] == number)
        self.assertTrue(entry["struck"])

    def test_rehearsal_is_marked_in_every_output(self):
        for words in (["now"], ["air"], ["pieces"], ["piece", "show", "fern-01"], ["status"], ["notices"],
                      ["sensors"], ["batches"], ["entries", "fern-01"], ["sheets"], ["schedules"],
                      ["history", "bench"], ["sheet", "show", "spray-enamel"],
                      ["step", "noted", "fern-02", "--text", "in rehearsal"]):
            done = self.shop.run(*words)
            self.assertIn("rehears", (done.stdout + done.stderr).lower(), f"setwell {' '.join(words)}")
            as_json = self.shop.ask(*words)
            self.assertIs(as_json.get("rehearsal"), True, f"setwell {' '.join(words)} --json")


class Fahrenheit(unittest.TestCase):
    def test_degrees_f_and_twelve_hours_by_setting(self):
        with Workshop(rehearsal=True, workshop='temperature = "F"\nclock = "12h"') as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 15 * 3600)
            shop.ask("piece", "new", "fern-01", "--form", "cup")
            shop.ask("coat", "fast-coating-epoxy", "fern-01", "--zone", "bench", "--at", "30m")
            text = shop.run("now").stdout
            self.assertIn("68", text)
            self.assertIn("°F", text)
            self.assertNotIn("°C", text)
            self.assertRegex(text.lower(), r"\d ?[ap]m")
            shop.ask("read", "bench", "--air", "68F", "--rh", "50")
            answer = shop.ask("now")
            self.assertEqual(answer["display"]["temperature"], "F")
            self.assertAlmostEqual(answer["zones"][0]["air_c"], 20, delta=1)


if __name__ == "__main__":
    workshop.main()
