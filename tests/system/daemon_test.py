#!/usr/bin/env python3
"""The daemon as a program: its checks at start, what it refuses, how it stops, what it keeps."""

import json
import os
import pwd
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import PATIENCE, Workshop, end, program  # noqa: E402

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400
WRONG = 78
INVALID = 5


def check(config):
    return subprocess.run([str(workshop.BIN / "setwelld"), "--check", "--config", str(config)],
                          capture_output=True, text=True, timeout=PATIENCE)


class Check(unittest.TestCase):
    def setUp(self):
        self.dir = Path(tempfile.mkdtemp(prefix="setwell-check-"))
        self.addCleanup(shutil.rmtree, self.dir, True)
        self.config = self.dir / "setwelld.toml"
        (self.dir / "sheets").mkdir()
        (self.dir / "schedules").mkdir()

    def test_the_shipped_settings_sheets_and_schedules_have_no_faults(self):
        done = check(workshop.ROOT / "config" / "setwelld.toml")
        self.assertEqual(done.returncode, 0, done.stdout)

    def test_every_fault_is_said_at_once_with_file_and_line(self):
        self.config.write_text('[workshop]\nclock = "13h"\ncolour = "red"\n\n[broker]\nport = 70000\n')
        sheet = self.dir / "sheets" / "odd.toml"
        good = (workshop.ROOT / "config" / "sheets" / "spray-enamel.toml").read_text()
        sheet.write_text(good.replace(' C"', '"', 1))
        schedule = self.dir / "schedules" / "odd.toml"
        schedule.write_text('id = "odd"\nname = "Odd"\n\n[[item]]\ncoat = "no-such-sheet"\n')
        done = check(self.config)
        self.assertEqual(done.returncode, INVALID)
        for start in (f"{self.config}:2: ", f"{self.config}:3: ", f"{self.config}:6: ", f"{sheet}:",
                      f"{schedule}:"):
            self.assertTrue(any(line.startswith(start) for line in done.stdout.splitlines()),
                            f"{start} in\n{done.stdout}")
        line = next(l for l in done.stdout.splitlines() if l.startswith(f"{sheet}:"))
        number = int(line[len(f"{sheet}:"):].split(":")[0])
        self.assertNotEqual(good.splitlines()[number - 1], sheet.read_text().splitlines()[number - 1])
        self.assertIn("no-such-sheet", done.stdout)
        self.assertIn("right:", done.stdout)

    def test_a_file_that_is_not_there_is_said(self):
        done = check(self.dir / "nowhere.toml")
        self.assertEqual(done.returncode, INVALID)
        self.assertIn("nowhere.toml", done.stdout)

    def test_a_wrong_option_is_usage_2(self):
        done = subprocess.run([str(workshop.BIN / "setwelld"), "--no-such"], capture_output=True, timeout=PATIENCE)
        self.assertEqual(done.returncode, 2)


class Start(unittest.TestCase):
    def test_a_second_daemon_on_the_same_state_leaves_with_78_and_names_the_first(self):
        with Workshop() as shop:
            done = shop.failing(socket_file=shop.dir / "second.sock")
            self.assertEqual(done.returncode, WRONG, done.stderr)
            self.assertIn(f"pid {shop.daemon.pid}", done.stderr)
            self.assertIsNone(shop.daemon.poll())
            self.assertEqual(shop.run("now").returncode, 0)

    def test_a_newer_ledger_is_refused_and_left_alone(self):
        with Workshop() as shop:
            end(shop.daemon)
            for name in ("ledger.db", "inbox.db"):
                with self.subTest(name):
                    file = shop.state / name
                    base = sqlite3.connect(file)
                    version = base.execute("PRAGMA user_version").fetchone()[0]
                    base.execute(f"PRAGMA user_version = {version + 1}")
                    base.commit()
                    base.close()
                    done = shop.failing()
                    self.assertEqual(done.returncode, WRONG)
                    self.assertIn("newer setwelld", done.stderr)
                    base = sqlite3.connect(file)
                    self.assertEqual(base.execute("PRAGMA user_version").fetchone()[0], version + 1)
                    base.execute(f"PRAGMA user_version = {version}")
                    base.commit()
                    base.close()
            shop.start()

    def test_settings_with_faults_leave_with_78(self):
        with Workshop() as shop:
            end(shop.daemon)
            good = shop.config.read_text()
            shop.config.write_text(good + "\n[workshp]\n")
            done = shop.failing()
            self.assertEqual(done.returncode, WRONG)
            self.assertIn(f"{shop.config}:", done.stderr)
            shop.config.write_text(good)

    def test_live_and_rehearsal_refuse_each_others_ledger(self):
        for first in (False, True):
            with self.subTest(rehearsal_first=first), Workshop(rehearsal=first) as shop:
                end(shop.daemon)
                done = shop.failing(rehearsal=not first)
                self.assertEqual(done.returncode, WRONG, done.stderr)
                self.assertIn("rehearsal", done.stderr)

    def test_a_bad_sheet_leaves_the_daemon_up_and_is_named(self):
        with Workshop() as shop:
            end(shop.daemon)
            (shop.dir / "sheets" / "broken.toml").write_text('id = "broken"\nname = 3\n')
            shop.start()
            status = shop.ask("status")
            line = next(l for l in status["lines"] if l["part"] == "sheets")
            self.assertFalse(line["ok"], line)

    def test_a_user_without_rights_on_the_state_is_told_so(self):
        if os.geteuid() != 0 or not program("setpriv"):
            self.skipTest("needs root and setpriv")
        nobody = pwd.getpwnam("nobody")
        with Workshop() as shop:
            end(shop.daemon)
            os.chmod(shop.dir, 0o755)
            os.chmod(shop.state, 0o700)
            done = subprocess.run(
                [program("setpriv"), f"--reuid={nobody.pw_uid}", f"--regid={nobody.pw_gid}", "--clear-groups",
                 *shop.command()], capture_output=True, text=True, timeout=PATIENCE)
            self.assertEqual(done.returncode, WRONG, done.stderr)
            self.assertIn(str(shop.state), done.stderr)
            self.assertRegex(done.stderr.lower(), "permission|denied|belongs")


class Wire(unittest.TestCase):
    def answer_to(self, shop, text):
        with socket.socket(socket.AF_UNIX) as client:
            client.settimeout(PATIENCE)
            client.connect(str(shop.socket))
            heard = b""
            try:
                client.sendall(text)
                while piece := client.recv(65536):
                    heard += piece
            except (BrokenPipeError, ConnectionResetError):
                pass
            return heard.decode()

    def test_a_line_over_the_limit_is_answered_with_the_limit_and_hurts_nobody_else(self):
        hello = {"jsonrpc": "2.0", "id": 1, "method": "hello", "params": {"client": "test", "protocol": 1}}
        note = {"jsonrpc": "2.0", "id": 2, "method": "step",
                "params": {"step": "noted", "pieces": ["fern-01"], "text": "x" * (1 << 20)}}
        with Workshop() as shop:
            shop.ask("piece", "new", "fern-01", "--form", "cup")
            heard = self.answer_to(shop, b"".join(json.dumps(call).encode() + b"\n" for call in (hello, note)))
            first, last = (json.loads(line) for line in heard.splitlines())
            self.assertIn("result", first)
            self.assertEqual(last["error"]["code"], -32600)
            self.assertIn("1048576 bytes", last["error"]["message"])
            self.assertEqual(len(shop.ask("entries", "fern-01")["entries"]), 1)
            self.assertEqual(shop.run("now").returncode, 0)


class Keeping(unittest.TestCase):
    def records(self, shop):
        answer = shop.ask("now")
        kept = {p["piece"]: (p["coat"], p["sheet"], p["verdict"], p["milestones"]) for p in answer["pieces"]}
        return kept, shop.ask("entries", "fern-01")["entries"], shop.ask("history", "bench")["rows"], \
            [n["notice"] for n in shop.ask("notices", "--all")["notices"]]

    def test_everything_is_there_after_a_stop_and_after_a_kill(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3 * 3600)
            shop.ask("piece", "new", "fern-01..02", "--form", "cup")
            shop.ask("mixed", "fast-coating-epoxy", "60", "27", "--zone", "bench")
            shop.ask("coat", "@", "fern-01..02", "--zone", "bench")
            shop.steady(20, 50, BEGIN + 3 * 3600, BEGIN + 20 * 3600)
            before = self.records(shop)
            self.assertEqual(before[0]["fern-01"][0], 1)
            shop.restart()
            self.assertEqual(self.records(shop), before)
            shop.restart(hard=True)
            self.assertEqual(self.records(shop), before)

    def test_sigterm_and_sigint_stop_within_five_seconds_with_0(self):
        with Workshop() as shop:
            self.assertLess(end(shop.daemon), 5)
            self.assertEqual(shop.daemon.returncode, 0)
            self.assertFalse(shop.socket.exists())
            shop.start()
            shop.daemon.send_signal(signal.SIGINT)
            self.assertEqual(shop.daemon.wait(5), 0)

    def test_sigterm_stops_within_five_seconds_while_the_broker_is_away(self):
        with Workshop() as shop:
            shop.broker.end()
            shop.broker.log = open(shop.dir / "broker.log", "ab")
            workshop.eventually(lambda: not shop.ask("status")["subscribed"], "the broker's absence noticed")
            self.assertLess(end(shop.daemon), 5)
            self.assertEqual(shop.daemon.returncode, 0)

    def test_sighup_reads_a_changed_sheet_again_and_coats_keep_their_edition(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3600)
            file = shop.dir / "sheets" / "spray-enamel.toml"
            text = file.read_text()
            edition = next(s for s in shop.ask("sheets")["sheets"] if s["sheet"] == "spray-enamel")["edition"]
            file.write_text(text.replace(f'edition = "{edition}"', f'edition = "{edition}x"'))
            shop.daemon.send_signal(signal.SIGHUP)

            def seen():
                return next(s for s in shop.ask("sheets")["sheets"]
                            if s["sheet"] == "spray-enamel")["edition"] == edition + "x"
            workshop.eventually(seen, "the new edition")

    def test_sighup_takes_new_settings_and_names_those_that_need_a_restart(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3600)
            self.assertEqual(shop.ask("now")["display"]["temperature"], "C")
            text = shop.config.read_text()
            shop.config.write_text(text.replace("[workshop]", '[workshop]\ntemperature = "F"'))
            shop.daemon.send_signal(signal.SIGHUP)
            workshop.eventually(lambda: shop.ask("now")["display"]["temperature"] == "F", "degrees Fahrenheit")
            self.assertNotIn("needs a restart", shop.log())
            shop.config.write_text(text.replace(f"port = {shop.broker.port}", "port = 1"))
            shop.daemon.send_signal(signal.SIGHUP)
            workshop.eventually(lambda: shop.ask("now")["display"]["temperature"] == "C", "degrees Celsius again")
            self.assertIn("[broker] changed: that needs a restart", shop.log())
            shop.steady(21, 50, BEGIN + 3600, BEGIN + 7200)

    def test_a_backup_is_a_sound_database_with_the_records(self):
        with Workshop() as shop:
            shop.ask("piece", "new", "fern-01..03", "--form", "cup")
            copy = shop.dir / "copy.db"
            answer = shop.ask("backup", str(copy))
            base = sqlite3.connect(copy)
            self.assertEqual(base.execute("PRAGMA integrity_check").fetchall(), [("ok",)])
            self.assertEqual(answer["entries"], base.execute("SELECT count(*) FROM entry").fetchone()[0])
            self.assertGreaterEqual(answer["entries"], 3)
            base.close()
            again = shop.run("backup", str(copy))
            self.assertEqual(again.returncode, 1, "a file that is there is not written over")
            # Restored in another place it tells the same.
            entries = shop.ask("entries", "fern-02")["entries"]
            end(shop.daemon)
            shop.state = shop.dir / "restored"
            shop.state.mkdir()
            shutil.copy(copy, shop.state / "ledger.db")
            shop.start()
            self.assertEqual(shop.ask("entries", "fern-02")["entries"], entries)


if __name__ == "__main__":
    workshop.main()
