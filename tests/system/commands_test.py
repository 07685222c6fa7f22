#!/usr/bin/env python3
"""The command line against a real daemon: exit codes, the sentences that go with them, what units it shows."""

import json
import os
import pty
import select
import subprocess
import sys
import time
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import Workshop, rfc3339  # noqa: E402

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400  # a midnight of the year 2031; rehearsal time begins there


def at_a_terminal(shop, words, prompt, typed):
    """Runs a command on a terminal of its own and types when it asks. Answers exit code and all that stood there."""
    own, theirs = pty.openpty()
    process = subprocess.Popen([str(workshop.BIN / "setwell"), "--socket", str(shop.socket), *words], stdin=theirs,
                               stdout=theirs, stderr=theirs, env=dict(os.environ, NO_COLOR="1"))
    os.close(theirs)
    shown = b""
    asked = prompt is None
    try:
        while True:
            readable, _, _ = select.select([own], [], [], workshop.PATIENCE)
            if not readable:
                process.kill()
                raise AssertionError(f"nothing more came after: {shown!r}")
            try:
                piece = os.read(own, 4096)
            except OSError:  # the other side is closed
                break
            if not piece:
                break
            shown += piece
            if not asked and shown.endswith(prompt):
                asked = True
                os.write(own, typed)
    finally:
        os.close(own)
    if not asked:
        raise AssertionError(f"it did not ask: {shown!r}")
    return process.wait(workshop.PATIENCE), shown.decode(errors="replace").replace("\r\n", "\n")


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

    def test_at_a_terminal_sanding_unwashed_epoxy_asks_and_only_a_yes_logs_it(self):
        self.shop.ask("piece", "new", "sand-02", "--form", "cup", "--at", "1h")
        self.shop.ask("coat", "fast-coating-epoxy", "sand-02", "--zone", "bench", "--at", "1h")
        before = self.shop.ask("entries", "sand-02")["entries"]
        for typed in (b"\n", b"n\n", b"\x04"):
            code, text = at_a_terminal(self.shop, ["step", "sanded", "sand-02"], b"[y/N]: ", typed)
            self.assertEqual(code, 1, text)
            self.assertIn("nothing was logged", text)
            self.assertEqual(self.shop.ask("entries", "sand-02")["entries"], before)
        code, text = at_a_terminal(self.shop, ["step", "sanded", "sand-02"], b"[y/N]: ", b"y\n")
        self.assertEqual(code, 0, text)
        self.assertEqual(len(self.shop.ask("entries", "sand-02")["entries"]), len(before) + 1)

    def test_at_a_terminal_one_of_two_open_batches_is_chosen_and_a_program_is_told_their_names(self):
        for _ in range(2):
            self.shop.ask("mixed", "fast-coating-epoxy", "60", "27", "--zone", "bench")
        batches = [batch["batch"] for batch in self.shop.ask("batches")["batches"] if batch["open"]]
        self.assertEqual(len(batches), 2)
        self.shop.ask("piece", "new", "pour-01..02", "--form", "cup", "--at", "5m")
        coat = ["coat", "@", "pour-01", "--zone", "bench"]
        self.refused(1, *coat, holding=batches)
        code, text = at_a_terminal(self.shop, coat, b"[1]: ", b"\x04")
        self.assertEqual(code, 1, text)
        self.assertEqual(len(self.shop.ask("entries", "pour-01")["entries"]), 1)
        code, text = at_a_terminal(self.shop, coat, b"[1]: ", b"2\n")
        self.assertEqual(code, 0, text)
        lines = [line.split() for line in text.splitlines() if line.startswith("  2  ")]
        chosen = self.shop.ask("piece", "show", "pour-01")["entries"][-1]["text"]
        self.assertIn(lines[0][1], batches)
        self.assertIn(lines[0][1], chosen)
        self.assertEqual(at_a_terminal(self.shop, [*coat, "--json"], None, b"")[0], 1)

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


HOOK = """
[[zone]]
id = "shelf"
kind = "room"
places = ["hook-1", "hook-2"]

[[channel]]
zone = "shelf"
topic = "shop/shelf/air"
quantity = "air-temperature"
format = "json"
path = "/temperature"
time_path = "/time"
time_unit = "iso"
silent_after = "30 min"

[[channel]]
zone = "shelf"
place = "hook-2"
topic = "shop/shelf/hook-2"
quantity = "surface-temperature"
format = "json"
path = "/temperature"
time_path = "/time"
time_unit = "iso"
silent_after = "30 min"
error = "0.3 K"
"""


class Places(unittest.TestCase):
    def clocks(self, shop):
        """How far each clock is, to the last bit; times ahead are worked out anew now and then."""
        return {p["piece"]: (p["place"], [[m[bound]["progress"] for bound in ("slow", "expected", "fast")]
                                          for m in p["milestones"]]) for p in shop.ask("now")["pieces"]}

    def test_a_piece_moved_to_a_place_takes_the_surface_that_is_measured_there(self):
        with Workshop(rehearsal=True, more=HOOK) as shop:
            def tell(begin, until, hook=True):
                for number, at in enumerate(range(begin, until, 600)):
                    shop.broker.publish("shop/shelf/air", json.dumps(
                        {"time": rfc3339(at), "temperature": 20 + 0.01 * (number % 7)}))
                    if hook:
                        shop.broker.publish("shop/shelf/hook-2", json.dumps(
                            {"time": rfc3339(at), "temperature": 12 + 0.01 * (number % 5)}))
                    shop.published += 1 + hook
                workshop.eventually(lambda: (found := shop.ask("status"))["waiting"] == 0
                                    and found["taken"] >= shop.published, "all taken in")
                workshop.eventually(lambda: not any(p["recomputing"] for p in shop.ask("now")["pieces"]), "the clocks")

            tell(BEGIN, BEGIN + 2 * 3600)
            shop.ask("piece", "new", "fern-01..02", "--form", "cup", "--at", "10m")
            refused = shop.run("move", "fern-01", "shelf/hook-9")
            self.assertEqual(refused.returncode, 4)
            self.assertIn("its places: hook-1, hook-2", refused.stderr)
            shop.ask("move", "fern-01", "shelf/hook-2")
            shop.ask("coat", "fast-coating-epoxy", "fern-01..02", "--zone", "shelf")
            tell(BEGIN + 2 * 3600, BEGIN + 6 * 3600)
            pieces = {p["piece"]: p for p in shop.ask("now")["pieces"]}
            self.assertAlmostEqual(pieces["fern-01"]["surface_c"], 12, delta=0.2)
            self.assertAlmostEqual(pieces["fern-02"]["surface_c"], 20, delta=0.5)
            self.assertEqual(pieces["fern-01"]["place"], "hook-2")
            slow = {name: p["milestones"][0]["slow"]["progress"] for name, p in pieces.items()}
            self.assertLess(slow["fern-01"], 0.8 * slow["fern-02"])
            self.assertIn("shelf/hook-2", shop.run("piece", "show", "fern-01").stdout)
            # The channel falls silent: the lag behind the air again.
            tell(BEGIN + 6 * 3600, BEGIN + 9 * 3600, hook=False)
            pieces = {p["piece"]: p for p in shop.ask("now")["pieces"]}
            self.assertAlmostEqual(pieces["fern-01"]["surface_c"], 20, delta=0.5)
            # What it told meanwhile comes late: the clocks are as if it had been heard in time.
            for number, at in enumerate(range(BEGIN + 6 * 3600, BEGIN + 9 * 3600, 600)):
                shop.broker.publish("shop/shelf/hook-2", json.dumps(
                    {"time": rfc3339(at), "temperature": 12 + 0.01 * (number % 5)}))
                shop.published += 1
            workshop.eventually(lambda: (found := shop.ask("status"))["waiting"] == 0
                                and found["taken"] >= shop.published, "the late ones taken in")
            workshop.eventually(lambda: not any(p["recomputing"] for p in shop.ask("now")["pieces"]), "the clocks")
            late = {p["piece"]: p for p in shop.ask("now")["pieces"]}["fern-01"]
            self.assertAlmostEqual(late["surface_c"], 12, delta=0.2)
            self.assertLess(late["milestones"][0]["slow"]["progress"],
                            pieces["fern-01"]["milestones"][0]["slow"]["progress"])
            before = self.clocks(shop)
            shop.restart()
            self.assertEqual(self.clocks(shop), before)


if __name__ == "__main__":
    workshop.main()
