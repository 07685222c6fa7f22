#!/usr/bin/env python3
"""The air with its forecast, drawn and as a page, and a coat that is only asked about, through the real programs."""

import json
import math
import sys
import tempfile
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import browser  # noqa: E402
import workshop  # noqa: E402
from workshop import Workshop, rfc3339  # noqa: E402

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400
HOUR = 3600
DAYS = 6
SCHEMAS = Path(__file__).resolve().parents[2] / "daemon" / "api" / "schema"


def valid(case, answer, schema):
    try:
        import jsonschema
    except ImportError:
        case.skipTest("there is no jsonschema")
    jsonschema.Draft202012Validator(json.loads((SCHEMAS / schema).read_text())).validate(answer)


class Air(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.shop = Workshop(rehearsal=True)
        cls.shop.start()
        for begin in range(BEGIN, BEGIN + DAYS * 24 * HOUR, HOUR):
            clock = begin // HOUR % 24
            cls.shop.steady(20 - 3 * math.cos((clock - 5) * 2 * math.pi / 24), 50, begin, begin + HOUR)
        cls.shop.ask("piece", "new", "fern-01..02", "--form", "cup")
        cls.shop.ask("coat", "fast-coating-epoxy", "fern-01", "--zone", "bench", "--at", "20m")

    @classmethod
    def tearDownClass(cls):
        cls.shop.__exit__()

    def test_the_drawing_fits_80_columns_and_tells_limits_and_bands(self):
        text = self.shop.run("air", "bench").stdout
        self.assertTrue(all(len(line) <= 80 for line in text.splitlines()), text)
        self.assertIn("cure stops below 10.0 °C: fern-01", text)
        self.assertIn("9 in 10", text)
        self.assertNotIn("\x1b", text)
        drawn = [line for line in text.splitlines() if "━" in line and "│" in line]
        self.assertTrue(drawn, text)

    def test_json_is_as_its_schema_says_and_bands_are_in_order(self):
        answer = self.shop.ask("air", "bench")
        valid(self, answer, "air_answer.json")
        steps = answer["zones"][0]["forecast"]["steps"]
        self.assertEqual(len(steps), 49)
        for step in steps:
            band = step["air_c"]
            self.assertEqual([band[k] for k in ("p5", "p25", "median", "p75", "p95")], sorted(band.values()))
        coldest = min(steps, key=lambda step: step["air_c"]["median"])
        self.assertAlmostEqual(coldest["air_c"]["median"], 17, delta=1)

    def test_the_page_opens_in_a_browser(self):
        browser.needed(self)
        with tempfile.TemporaryDirectory() as folder:
            page = Path(folder) / "air.html"
            done = self.shop.run("air", "--html", str(page))
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertNotIn("<script", page.read_text())
            browser.look_at(self, Path(folder), page)

    def test_a_page_that_cannot_be_written_is_refused_with_its_name(self):
        done = self.shop.run("air", "--html", "/nowhere/at/all.html")
        self.assertEqual(done.returncode, 1)
        self.assertIn("/nowhere/at/all.html", done.stderr)

    def test_a_dry_run_logs_nothing_and_names_the_best_start(self):
        before = self.shop.ask("entries", "fern-02")["entries"]
        answer = self.shop.ask("coat", "fast-coating-epoxy", "fern-02", "--zone", "bench", "--dry-run")
        valid(self, answer, "dry_run_answer.json")
        self.assertEqual(self.shop.ask("entries", "fern-02")["entries"], before)
        tried = answer["pieces"][0]
        self.assertIn(tried["advice"], ("go", "wait"))
        self.assertEqual(tried["advice"] == "go", tried["starts"][0]["fits"])
        self.assertGreaterEqual(len(tried["starts"]), 48)
        self.assertTrue(tried["best"] is None or tried["best"]["fits"])
        text = self.shop.run("coat", "fast-coating-epoxy", "fern-02", "--zone", "bench", "--dry-run").stdout
        self.assertIn("Nothing was logged", text)
        self.assertTrue(all(len(line) <= 80 for line in text.splitlines()), text)

    def test_over_a_fresh_coat_the_dry_run_says_wait_and_from_when(self):
        tried = self.shop.ask("coat", "fast-coating-epoxy", "fern-01", "--dry-run")["pieces"][0]
        self.assertEqual(tried["advice"], "wait")
        self.assertIn("surely open", tried["why"])

    def test_a_dry_run_may_lie_ahead_and_the_coat_itself_not(self):
        ahead = rfc3339(BEGIN + DAYS * 24 * HOUR + 30 * HOUR)
        words = ["coat", "fast-coating-epoxy", "fern-02", "--zone", "bench", "--at", ahead]
        tried = self.shop.ask(*words, "--dry-run")["pieces"][0]
        self.assertTrue(tried["starts"][0]["at"].startswith(ahead[:16]), tried["starts"][0]["at"])
        self.assertEqual(self.shop.run(*words).returncode, 1)


if __name__ == "__main__":
    workshop.main()
