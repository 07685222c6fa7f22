#!/usr/bin/env python3
"""Kills the daemon with signal 9 again and again while readings pour in, and counts what the ledger holds.

A reading that the broker has acknowledged as taken must be there exactly once, whenever the daemon was killed.
Every message carries a number of its own; after the last restart each number is looked for among the readings
and the refused messages. The last line is one JSON object; exit 1 when a number is missing or counts twice, 77
when there is no broker to start.
"""

import argparse
import json
import os
import random
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from plain_settings import free_port, head

TOPIC = "kill/bench/air"
PER_SECOND = 250
SKIPPED = 77
# The place of `duplicate` among the reasons in daemon/ledger/codes.cpp, counted from one; a verdict holds it
# above its lowest four bits.
DUPLICATE = 14
VERDICT_REASON_SHIFT = 4
SETTINGS = """
[[channel]]
zone = "bench"
topic = "{topic}"
quantity = "air-temperature"
format = "json"
path = "/t"
seq_path = "/seq"
"""
BROKER = """
listener {port} 127.0.0.1
allow_anonymous true
persistence true
persistence_location {folder}/
autosave_interval 60
max_queued_messages 0
max_inflight_messages 20
set_tcp_nodelay true
log_dest file {folder}/broker.log
log_type subscribe
log_type notice
log_type debug
"""


def program(name, folders=("/usr/sbin", "/usr/local/sbin")):
    found = shutil.which(name)
    for folder in folders:
        if not found and os.access(f"{folder}/{name}", os.X_OK):
            found = f"{folder}/{name}"
    return found


def eventually(holds, seconds, what):
    deadline = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > deadline:
            raise RuntimeError(f"{what}: not within {seconds} s")
        time.sleep(0.02)


class Broker:
    def __init__(self, folder):
        self.port = free_port()
        self.log = folder / "broker.log"
        self.read_upto = 0
        self.seen_subscribed = False
        self.seen_connections = 0
        text = BROKER.format(port=self.port, folder=folder)
        if os.geteuid() == 0:
            text += "user root\n"
        (folder / "broker.conf").write_text(text)
        self.process = subprocess.Popen([program("mosquitto"), "-c", str(folder / "broker.conf")],
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        eventually(self.accepts, 5, "the broker comes up")

    def accepts(self):
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def read_on(self):
        if not self.log.exists():
            return
        with open(self.log, errors="replace") as log:
            log.seek(self.read_upto)
            for line in iter(log.readline, ""):
                if not line.endswith("\n"):
                    break
                self.read_upto = log.tell()
                self.seen_subscribed |= "Sending SUBACK to setwelld" in line
                self.seen_connections += "as setwelld (" in line

    def subscribed(self):
        """Whether the broker has confirmed a subscription of the daemon's."""
        self.read_on()
        return self.seen_subscribed

    def connections(self):
        """How often the daemon has connected."""
        self.read_on()
        return self.seen_connections

    def end(self):
        self.process.terminate()
        self.process.wait(10)


class Daemon:
    def __init__(self, build, folder, port):
        self.folder = folder
        (folder / "setwelld.toml").write_text(head(port) + SETTINGS.format(topic=TOPIC))
        self.command = [str(build / "bin" / "setwelld"), "--config", str(folder / "setwelld.toml"), "--state",
                        str(folder / "state"), "--socket", str(folder / "setwell.sock")]
        self.process = None

    def start(self):
        with open(self.folder / "daemon.log", "ab") as log:
            self.process = subprocess.Popen(self.command, stdout=log, stderr=log)

    def kill(self):
        gone = self.process.poll()
        if gone is not None:
            raise RuntimeError(f"the daemon ended by itself with {gone}:\n" + self.last_words())
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def last_words(self):
        return "".join((self.folder / "daemon.log").read_text(errors="replace").splitlines(True)[-10:])

    def end(self):
        self.process.terminate()
        self.process.wait(15)


class Sensor(threading.Thread):
    """Publishes numbered messages at QoS 1 until told to stop."""

    def __init__(self, port):
        super().__init__()
        self.client = subprocess.Popen(
            [program("mosquitto_pub"), "-h", "127.0.0.1", "-p", str(port), "-i", "kill-sensor", "-t", TOPIC,
             "-q", "1", "-l"], stdin=subprocess.PIPE, text=True)
        self.published = 0
        self.done = threading.Event()

    def run(self):
        began = time.monotonic()
        while not self.done.is_set():
            due = int((time.monotonic() - began) * PER_SECOND)
            while self.published < due:
                self.published += 1
                # A slow ramp of distinct values, so that the number and the value both tell a repeat.
                value = 20.0 + self.published % 2000 * 0.0005
                print(json.dumps({"seq": self.published, "t": round(value, 4)}), file=self.client.stdin, flush=True)
            time.sleep(0.002)

    def finish(self):
        """Returns once the broker has acknowledged every message."""
        self.done.set()
        self.join()
        self.client.stdin.close()
        if self.client.wait(120) != 0:
            raise RuntimeError("the broker did not take every message")


def read_only(path):
    return sqlite3.connect(f"file:{path}?mode=ro", uri=True, timeout=10)


def numbers_in_ledger(path):
    """Number → how many readings that are no repeats; 0 for one that is only among the refused."""
    counts = {}
    with read_only(path) as ledger:
        for number, verdict in ledger.execute("SELECT seq, verdict FROM reading WHERE seq IS NOT NULL"):
            repeat = verdict >> VERDICT_REASON_SHIFT == DUPLICATE
            counts[number] = counts.get(number, 0) + (0 if repeat else 1)
        for (payload,) in ledger.execute("SELECT payload FROM refused WHERE topic = ?", (TOPIC,)):
            counts.setdefault(json.loads(payload)["seq"], 0)
    return counts


def inbox_rows(path):
    with read_only(path) as inbox:
        table = inbox.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND sql LIKE '%payload%'").fetchone()
        return inbox.execute(f"SELECT count(*) FROM {table[0]} WHERE topic = ?", (TOPIC,)).fetchone()[0]


def whole(path):
    with read_only(path) as database:
        return database.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def drain(ledger, published, seconds_without_progress):
    have, since = -1, time.monotonic()
    while have < published and time.monotonic() - since < seconds_without_progress:
        time.sleep(0.5)
        now = len(numbers_in_ledger(ledger))
        if now > have:
            have, since = now, time.monotonic()


def run(kills, build, seed, folder):
    chance = random.Random(seed)
    broker = Broker(folder)
    daemon = Daemon(build, folder, broker.port)
    listening = 0
    seen = 0
    try:
        daemon.start()
        eventually(broker.subscribed, 20, "the first subscription is confirmed")
        sensor = Sensor(broker.port)
        sensor.start()
        for kill in range(kills):
            # Every fifth may fall into the start itself, the others into a daemon that is listening.
            if kill % 5 != 4:
                eventually(lambda: broker.connections() > seen, 30, "the daemon listens again")
                listening += 1
            time.sleep(chance.uniform(0.25, 0.95))
            daemon.kill()
            seen = broker.connections()
            daemon.start()
        sensor.finish()
        ledger = folder / "state" / "ledger.db"
        eventually(ledger.exists, 20, "the ledger is there")
        drain(ledger, sensor.published, 30)
        daemon.end()
        counts = numbers_in_ledger(ledger)
        wanted = range(1, sensor.published + 1)
        result = {
            "published": sensor.published,
            "kills": kills,
            "stored": sum(1 for number in wanted if number in counts),
            "lost": sum(1 for number in wanted if number not in counts),
            "twice": sum(1 for count in counts.values() if count > 1),
            "kills_while_listening": listening,
            "inbox_rows": inbox_rows(folder / "state" / "inbox.db"),
            "only_refused": sum(1 for count in counts.values() if count == 0),
            "integrity": whole(ledger) and whole(folder / "state" / "inbox.db"),
        }
    finally:
        if daemon.process and daemon.process.poll() is None:
            daemon.process.kill()
            daemon.process.wait()
        broker.end()
    return result


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=46)
    parser.add_argument("--build", type=Path, required=True, help="build folder, with bin/setwelld in it")
    parser.add_argument("--seed", type=int, default=1, help="of the moments of the kills")
    parser.add_argument("--json", action="store_true", help="print the object alone")
    parser.add_argument("--keep", action="store_true", help="leave the folder with databases and logs")
    options = parser.parse_args()
    if not program("mosquitto") or not program("mosquitto_pub"):
        print("skipped: no broker to start")
        return SKIPPED
    if not os.access(options.build / "bin" / "setwelld", os.X_OK):
        parser.error(f"there is no bin/setwelld in {options.build}")
    folder = Path(tempfile.mkdtemp(prefix="setwell-kill-"))
    try:
        result = run(options.kills, options.build.resolve(), options.seed, folder)
    finally:
        if options.keep:
            print(folder, file=sys.stderr)
        else:
            shutil.rmtree(folder, ignore_errors=True)
    if not options.json:
        print(f"{result['published']} readings published, the daemon killed {result['kills']} times: "
              f"{result['lost']} lost, {result['twice']} counted twice")
    print(json.dumps(result))
    return 0 if result["lost"] == 0 and result["twice"] == 0 and result["integrity"] else 1


if __name__ == "__main__":
    sys.exit(main())
