#!/usr/bin/env python3
"""The real daemon on storage that fails: a full disk, one that only reads, a lock held by a stranger, files that are
damaged or from different moments, and a broker that dies.

What is acknowledged is stored; what cannot be stored is not acknowledged, and the daemon says what to do.
"""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import time
import unittest
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import TOPIC, Workshop, end, eventually, rfc3339  # noqa: E402

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400
WRONG = 78
MIB = 1024 * 1024


def payloads(shop):
    """What lies in the inbox, oldest first."""
    base = sqlite3.connect(f"file:{shop.state / 'inbox.db'}?mode=ro", uri=True, timeout=10)
    try:
        return [row[0].decode() if isinstance(row[0], bytes) else row[0]
                for row in base.execute("SELECT payload FROM message ORDER BY row")]
    finally:
        base.close()


def reading(number):
    return json.dumps({"time": rfc3339(BEGIN + 60 * number), "temperature": round(20 + 0.01 * number, 2),
                       "humidity": 50.0})


def status_line(shop, part):
    return next(line for line in shop.ask("status")["lines"] if line["part"] == part)


def fill(file):
    """Takes what room is left."""
    with open(file, "ab", buffering=0) as out:
        for size in (65536, 4096, 512):
            try:
                while True:
                    out.write(b"x" * size)
            except OSError:
                pass


class FullDisk(unittest.TestCase):
    """On a file system of its own, which only root may mount."""

    def setUp(self):
        if os.geteuid() != 0 or not shutil.which("mount"):
            self.skipTest("mounting a small file system needs root")
        self.shop = Workshop(rehearsal=True)
        self.addCleanup(self.shop.__exit__)
        self.shop.state.mkdir()

    def mount(self, *options):
        done = subprocess.run(["mount", "-t", "tmpfs", *options, "tmpfs", str(self.shop.state)], capture_output=True)
        if done.returncode != 0:
            self.skipTest("this machine does not let us mount: " + done.stderr.decode().strip())
        self.addCleanup(subprocess.run, ["umount", "-l", str(self.shop.state)], check=False)

    def test_nothing_is_lost_while_the_disk_is_full_and_all_goes_on_when_there_is_room(self):
        shop = self.shop
        self.mount("-o", "size=16m")
        shop.start()
        for number in range(5):
            shop.broker.publish(TOPIC, reading(number))
        eventually(lambda: len(payloads(shop)) == 5, "five readings kept")
        filler = shop.state / "filler"
        fill(filler)
        # The first that finds no room has the reserve let go; then even that room is taken.
        number = 5
        while (shop.state / "inbox.db.reserve").exists():
            shop.broker.publish(TOPIC, reading(number))
            number += 1
            self.assertLess(number, 400, "the reserve is never let go")
        fill(filler)
        for number in range(number, number + 400):
            shop.broker.publish(TOPIC, reading(number))
        count = number + 1
        eventually(lambda: not status_line(shop, "database")["ok"], "the disk said to refuse")
        self.assertFalse(status_line(shop, "disk")["ok"])
        self.assertEqual(shop.run("now").returncode, 0)
        self.assertLess(len(payloads(shop)), count)
        filler.unlink()
        eventually(lambda: len(set(payloads(shop))) == count, "every reading kept once there is room", 120)
        self.assertEqual(set(payloads(shop)), {reading(number) for number in range(count)})
        eventually(lambda: shop.ask("status").get("waiting") == 0, "all taken in")
        times = [row["time"] for row in shop.ask("history", "bench", "--from", rfc3339(BEGIN))["rows"]]
        self.assertEqual(len(times), len(set(times)), "no reading counts twice")
        self.assertIsNone(shop.daemon.poll(), "the daemon lived through it")

    def test_a_state_that_can_only_be_read_is_refused_in_words(self):
        self.mount("-o", "size=16m")
        subprocess.run(["mount", "-o", "remount,ro", str(self.shop.state)], check=True)
        done = self.shop.failing()
        self.assertEqual(done.returncode, WRONG, done.stderr)
        self.assertIn(str(self.shop.state), done.stderr)
        self.assertNotIn("terminate", done.stderr)


class HeldLock(unittest.TestCase):
    def test_a_stranger_who_holds_the_inbox_for_thirty_seconds_delays_and_loses_nothing(self):
        # The keepalive is far shorter than the wait, so the broker gives the connection up in between.
        with Workshop(rehearsal=True) as shop:
            text = shop.config.read_text()
            shop.config.write_text(text.replace("[broker]\n", "[broker]\nkeepalive = \"5 s\"\n"))
            shop.restart()
            shop.broker.publish(TOPIC, reading(0))
            eventually(lambda: len(payloads(shop)) == 1, "the first reading kept")
            stranger = sqlite3.connect(shop.state / "inbox.db", timeout=10, isolation_level=None)
            stranger.execute("BEGIN IMMEDIATE")
            for number in range(1, 20):
                shop.broker.publish(TOPIC, reading(number))
            begun = workshop.time.monotonic()
            eventually(lambda: workshop.time.monotonic() - begun > 30, "half a minute", 40)
            self.assertEqual(len(payloads(shop)), 1)
            stranger.execute("ROLLBACK")
            stranger.close()
            eventually(lambda: len(set(payloads(shop))) == 20, "every reading kept", 90)
            eventually(lambda: shop.ask("status").get("waiting") == 0, "all taken in")
            rows = shop.ask("history", "bench")["rows"]
            times = [row["time"] for row in rows]
            self.assertEqual(len(times), len(set(times)), "no reading counts twice")


class FilesOfDifferentMoments(unittest.TestCase):
    def stop(self, shop):
        end(shop.daemon)

    def test_a_ledger_restored_from_a_backup_takes_the_inbox_again_from_where_it_stood(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3600)
            shop.ask("piece", "new", "fern-01", "--form", "cup")
            copy = shop.dir / "copy.db"
            shop.ask("backup", str(copy))
            shop.steady(20, 50, BEGIN + 3600, BEGIN + 3 * 3600)
            whole = [row["time"] for row in shop.ask("history", "bench")["rows"]]
            self.stop(shop)
            for name in ("ledger.db-wal", "ledger.db-shm"):
                (shop.state / name).unlink(missing_ok=True)
            shutil.copy(copy, shop.state / "ledger.db")
            shop.start()
            eventually(lambda: shop.ask("status").get("waiting") == 0, "the inbox taken in again")
            again = [row["time"] for row in shop.ask("history", "bench")["rows"]]
            self.assertEqual(again, whole)

    def test_a_lost_inbox_is_said_and_readings_go_on(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3600)
            before = len(shop.ask("history", "bench")["rows"])
            self.stop(shop)
            for name in ("inbox.db", "inbox.db-wal", "inbox.db-shm"):
                (shop.state / name).unlink(missing_ok=True)
            shop.start()
            shop.broker.publish(TOPIC, reading(61))
            eventually(lambda: len(shop.ask("history", "bench")["rows"]) == before + 1, "the reading counts")
            line = status_line(shop, "database")
            self.assertFalse(line["ok"])
            self.assertIn("inbox", line["state"])

    def test_a_log_cut_short_leaves_whole_entries(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 1800)
            shop.ask("piece", "new", "fern-01", "--form", "cup")
            shop.daemon.kill()
            shop.daemon.wait()
            log = shop.state / "ledger.db-wal"
            self.assertTrue(log.exists(), "a kill leaves the log behind")
            size = log.stat().st_size
            with open(log, "r+b") as cut:
                cut.truncate(max(0, size - size // 3))
            shop.start()
            base = sqlite3.connect(f"file:{shop.state / 'ledger.db'}?mode=ro", uri=True)
            self.assertEqual(base.execute("PRAGMA integrity_check").fetchone()[0], "ok")
            base.close()
            shop.ask("piece", "new", "moss-01", "--form", "cup")
            self.assertTrue(any(p["piece"] == "moss-01" for p in shop.ask("now")["pieces"]))

    def test_a_damaged_page_is_refused_at_start_or_said_by_status_and_never_ends_in_a_crash(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 6 * 3600)
            shop.ask("piece", "new", "fern-01..09", "--form", "cup")
            self.stop(shop)
            ledger = shop.state / "ledger.db"
            base = sqlite3.connect(ledger)
            base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            base.close()
            with open(ledger, "r+b") as page:
                page.write(b"\0" * 4096)
            done = shop.failing()
            self.assertEqual(done.returncode, WRONG, done.stderr)
            self.assertIn("backup", done.stderr)
            self.assertNotIn("terminate", done.stderr)


def add_old_readings(shop, count):
    """Readings of the bench from years ago, a minute apart, straight into the stopped daemon's ledger."""
    base = sqlite3.connect(shop.state / "ledger.db")
    channel = base.execute("SELECT number FROM channel WHERE id LIKE '%temperature%'").fetchone()[0]
    row = base.execute("SELECT facts, verdict, topic FROM reading WHERE channel = ? ORDER BY measured_ms LIMIT 1",
                       (channel,)).fetchone()
    begin = (BEGIN - 5 * 365 * 86400) * 1000
    with base:
        base.executemany("INSERT INTO reading VALUES (?, ?, 0, 0, ?, NULL, ?, ?, ?, NULL, NULL, 1)",
                         ((channel, begin + 60000 * i, 15.0 + i % 100 / 50, *row) for i in range(count)))
    base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    base.close()
    return begin // 1000


class LargeLedger(unittest.TestCase):
    def test_readings_flow_and_questions_are_answered_while_a_backup_and_a_history_run(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3600)
            end(shop.daemon)
            begin = add_old_readings(shop, 1_500_000)
            shop.start()
            copy = shop.dir / "copy.db"
            done = {}
            commands = {"backup": ["backup", str(copy)],
                        "history": ["history", "bench", "--from", rfc3339(begin), "--to", rfc3339(begin + 90 * 86400)]}
            running = {name: subprocess.Popen([str(workshop.BIN / "setwell"), "--socket", str(shop.socket), "--json",
                                               *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
                       for name, words in commands.items()}
            outs = {name: ThreadPoolExecutor(1).submit(process.communicate) for name, process in running.items()}
            answered, longest, number = 0, 0.0, 61
            taken = shop.ask("status")["taken"]
            while running["backup"].poll() is None:
                shop.broker.publish(TOPIC, reading(number))
                number += 1
                begun = time.monotonic()
                shop.ask("now")
                longest = max(longest, time.monotonic() - begun)
                answered += running["backup"].poll() is None
                flowed = shop.ask("status")["taken"] - taken
            # On the loop the backup would have let at most one of each through.
            self.assertGreater(answered, 2)
            self.assertGreater(flowed, 1)
            print(f"{answered} answers and {flowed} readings during the backup, the longest answer {longest:.3f} s")
            for name, process in running.items():
                out, err = outs[name].result()
                self.assertEqual(process.returncode, 0, err)
                done[name] = json.loads(out)
            self.assertGreaterEqual(done["backup"]["readings"], 1_500_000)
            times = [row["time"] for row in done["history"]["rows"]]
            self.assertEqual(len(times), 90 * 1440 + 1)
            self.assertEqual(times, sorted(set(times)))

    def test_a_stop_does_not_wait_for_a_backup_and_leaves_nothing_half_done(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3600)
            end(shop.daemon)
            add_old_readings(shop, 1_500_000)
            shop.start()
            copy = shop.dir / "copy.db"
            backup = subprocess.Popen([str(workshop.BIN / "setwell"), "--socket", str(shop.socket), "backup", str(copy)],
                                      stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
            eventually(lambda: Path(f"{copy}.part").exists() or backup.poll() is not None, "the copy begun")
            self.assertIsNone(backup.poll(), "the copy is long enough to be stopped")
            self.assertLess(end(shop.daemon), 5)
            said = backup.communicate(timeout=10)[1]
            self.assertNotEqual(backup.returncode, 0)
            self.assertIn("stopping", said)
            self.assertFalse(copy.exists())
            self.assertFalse(Path(f"{copy}.part").exists())
            shop.start()
            self.assertGreaterEqual(shop.ask("backup", str(copy))["readings"], 1_500_000)

    def test_damage_that_no_start_meets_is_said_by_status_and_after_a_kill_refused_at_the_start(self):
        with Workshop(rehearsal=True) as shop:
            shop.steady(20, 50, BEGIN, BEGIN + 3600)
            end(shop.daemon)
            add_old_readings(shop, 200_000)
            ledger = shop.state / "ledger.db"
            with open(ledger, "r+b") as page:
                page.seek(ledger.stat().st_size // 2 // 4096 * 4096)
                page.write(b"\0" * 4096)
            shop.start()
            line = eventually(lambda: (found := status_line(shop, "database")) and not found["ok"] and found,
                              "the damage said")
            self.assertEqual(line["state"], "damaged")
            self.assertIn("backup", line["advice"])
            self.assertIn("damaged", shop.log())
            shop.daemon.kill()
            shop.daemon.wait()
            left = shop.failing()
            self.assertEqual(left.returncode, WRONG, left.stderr)
            self.assertIn("damaged", left.stderr)
            shop.daemon = None


class BrokerDies(unittest.TestCase):
    def test_a_broker_that_dies_is_said_at_once_and_what_it_forgot_is_a_silence_not_a_guess(self):
        with Workshop() as shop:
            shop.broker.publish(TOPIC, json.dumps({"temperature": 20.0, "humidity": 50.0}))
            eventually(lambda: len(payloads(shop)) == 1, "the first reading kept")
            shop.broker.process.kill()
            shop.broker.process.wait()
            line = eventually(lambda: (found := status_line(shop, "broker")) and not found["ok"] and found,
                              "the broker said to be away")
            self.assertIn("not connected", line["state"])
            self.assertEqual(shop.run("status").returncode, 1)
            shop.broker.process = subprocess.Popen(
                [workshop.program("mosquitto"), "-c", str(shop.dir / "broker.conf")],
                stdout=shop.broker.log, stderr=shop.broker.log)
            eventually(lambda: status_line(shop, "broker")["ok"] and shop.ask("status")["subscribed"],
                       "heard again", 90)
            shop.broker.publish(TOPIC, json.dumps({"temperature": 20.1, "humidity": 50.1}))
            eventually(lambda: len(payloads(shop)) == 2, "the next reading kept")


if __name__ == "__main__":
    workshop.main()
