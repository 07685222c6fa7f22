#!/usr/bin/env python3
"""A coat that went wrong, through the real programs: defect, review in three forms, trace, export, accounts in files.

The page is opened in a real browser without a head, at a desk's width and on paper; without one that test is skipped.
"""

import csv
import json
import subprocess
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
ACCOUNTS = Path(__file__).resolve().parent.parent / "data" / "cases"


class Review(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.shop = Workshop(rehearsal=True)
        cls.shop.start()
        ask = cls.shop.ask
        cls.shop.steady(21, 50, BEGIN, BEGIN + 2 * HOUR)
        ask("piece", "new", "fern-01..03", "--form", "cup")
        ask("mixed", "fast-coating-epoxy", "50", "10", "--zone", "bench", "--lot-b", "L77", "--at",
            rfc3339(BEGIN + HOUR))
        cls.batch = ask("batches")["batches"][0]["batch"]
        ask("coat", cls.batch, "fern-01", "fern-02", "--at", rfc3339(BEGIN + HOUR + 300))
        cls.shop.steady(21, 50, BEGIN + 2 * HOUR, BEGIN + 50 * HOUR)
        ask("touch", "tacky", "fern-02", "--at", rfc3339(BEGIN + 48 * HOUR))
        cls.logged = ask("defect", "soft", "fern-01", "--where", "all of it", "--photo", "soft.jpg", "--saw",
                         "no-heat-in-pot", "--at", rfc3339(BEGIN + 49 * HOUR))

    @classmethod
    def tearDownClass(cls):
        cls.shop.__exit__()

    def test_a_defect_is_an_entry_that_can_be_amended_and_struck(self):
        kinds = [entry["kind"] for entry in self.logged["logged"]]
        self.assertEqual(kinds, ["step-done", "defect-seen"])
        entries = self.shop.ask("entries", "fern-01")["entries"]
        self.assertTrue(any("defect: soft" in entry["text"] for entry in entries))
        extra = self.shop.ask("defect", "dust", "craters", "fern-02", "--at", rfc3339(BEGIN + 49 * HOUR))
        number = extra["logged"][0]["entry"]
        self.shop.ask("amend", str(number), "--at", rfc3339(BEGIN + 48 * HOUR))
        newest = self.shop.ask("entries", "fern-02")["entries"][-1]
        self.assertIn("dust, craters", newest["text"])
        self.shop.ask("undo", str(newest["entry"]))
        self.assertEqual(self.shop.ask("review", "fern-02")["signs"], [])

    def test_a_review_names_the_ratio_and_clears_the_weather(self):
        answer = self.shop.ask("review", "fern-01")
        self.assertEqual(answer["version"], 1)
        self.assertEqual(answer["causes"][0]["cause"], "ratio-off")
        self.assertEqual(answer["causes"][0]["level"], 1)
        self.assertTrue(answer["settled"], answer["summary"])
        self.assertEqual(answer["weather"], "cleared")
        self.assertTrue(answer["causes"][0]["for"])
        for key in ("facts", "phases", "bounds", "absent", "next_test", "course"):
            self.assertIn(key, answer)
        told = self.shop.run("review", "fern-01").stdout
        self.assertLess(told.index("Facts"), told.index("Causes"))
        self.assertIn("ratio", told)

    def test_what_cannot_be_is_refused_with_the_right_code(self):
        for code, words in ((5, ("defect", "ugly", "fern-01")), (2, ("defect", "soft")),
                            (4, ("review", "no-such-piece")), (4, ("review", "fern-01", "--coat", "9")),
                            (1, ("review", "fern-03")), (1, ("defect", "soft", "fern-03")),
                            (5, ("defect", "soft", "fern-01", "--saw", "gremlins")), (5, ("trace",)),
                            (4, ("trace", "--lot", "nobody's")), (2, ("review",)),
                            (4, ("review", "--from", "/no/such/account.toml"))):
            done = self.shop.run(*words)
            self.assertEqual(done.returncode, code, f"{words}: {done.stdout}{done.stderr}")

    def test_a_trace_finds_all_that_share_a_batch_or_a_lot(self):
        for words in (("--batch", self.batch), ("--lot", "L77"), ("--sheet", "fast-coating-epoxy")):
            rows = [row for row in self.shop.ask("trace", *words)["rows"] if row["shares"]]
            self.assertEqual([row["piece"] for row in rows], ["fern-01", "fern-02"])
            self.assertEqual([row["outcome"] for row in rows], ["went-wrong", "went-wrong"], rows)

    def test_an_export_gives_everything_back(self):
        with tempfile.TemporaryDirectory() as folder:
            rows = self.shop.ask("export", folder)["rows"]
            tables = {name: list(csv.DictReader(open(Path(folder) / f"{name}.csv", newline=""))) for name in rows}
            for name, count in rows.items():
                self.assertEqual(len(tables[name]), count, name)
            self.assertEqual(len(tables["coats"]), 2)
            self.assertGreaterEqual(len(tables["readings"]), 2 * 50 * HOUR // 300 - 4)
            self.assertEqual(len({row["time"] + row["quantity"] for row in tables["readings"]}), len(tables["readings"]))
            bodies = [json.loads(row["body_json"]) for row in tables["entries"]]
            self.assertTrue(any(body.get("photo") == "soft.jpg" for body in bodies))
            self.assertEqual(tables["defects"][0]["where"], "all of it")

    def test_an_account_in_a_file_needs_no_daemon(self):
        for account in sorted(ACCOUNTS.glob("*.toml")):
            done = subprocess.run([str(workshop.BIN / "setwell"), "--socket", "/no/socket", "review", "--from",
                                   str(account), "--json"], capture_output=True, text=True, timeout=60)
            self.assertEqual(done.returncode, 0, account.name + done.stdout + done.stderr)
            answer = json.loads(done.stdout)
            self.assertIn(answer["weather"], ("cleared", "suspect", "unknown"))
            self.assertTrue(answer["causes"] and answer["causes"][0]["level"] == 1)

    def test_the_page_opens_in_a_browser_and_prints_on_one_sheet(self):
        browser.needed(self)
        with tempfile.TemporaryDirectory() as folder:
            folder = Path(folder)
            pages = [folder / "own.html"]
            self.assertEqual(self.shop.run("review", "fern-01", "--html", str(pages[0])).returncode, 0)
            for name in ("humid-night", "toy-in-the-gap", "cold-deck"):
                pages.append(folder / f"{name}.html")
                self.assertEqual(self.shop.run("review", "--from", str(ACCOUNTS / f"{name}.toml"), "--html",
                                               str(pages[-1])).returncode, 0)
            for page in pages:
                browser.look_at(self, folder, page, sheets=1)


if __name__ == "__main__":
    workshop.main()
