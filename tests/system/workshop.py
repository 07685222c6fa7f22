"""A workshop of its own for the system's tests: a broker, a daemon and the command line, on loopback alone.

Everything lies in one folder that is removed again; only processes started here are ended. Waiting goes by what
the daemon says on its socket or by a file's content, with a limit, never by a fixed time.
"""

import argparse
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest
from datetime import datetime, timezone
from pathlib import Path

from plain_settings import free_port, head

ROOT = Path(__file__).resolve().parents[2]
TOPIC = "shop/bench/climate"
SKIPPED = 77
PATIENCE = 60
BIN = None  # folder of the programs, from --build

SETTINGS = """
[[zone]]
id = "rack"
kind = "room"

[[channel]]
zone = "bench"
topic = "{topic}"
quantity = "air-temperature"
format = "json"
path = "/temperature"
time_path = "/time"
time_unit = "iso"

[[channel]]
zone = "bench"
topic = "{topic}"
quantity = "relative-humidity"
format = "json"
path = "/humidity"
time_path = "/time"
time_unit = "iso"

[[form]]
id = "cup"
area = "300 cm2"
lag = "15 min"

[[route]]
id = "journal"
kind = "log"
instant = true
{more}
"""


def program(name):
    found = shutil.which(name, path=os.environ.get("PATH", "") + ":/usr/sbin:/usr/local/sbin")
    return found


def rfc3339(moment):
    return datetime.fromtimestamp(moment, timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def eventually(holds, what, seconds=PATIENCE):
    end = time.monotonic() + seconds
    while True:
        answer = holds()
        if answer:
            return answer
        if time.monotonic() > end:
            raise AssertionError(f"not within {seconds} s: {what}")
        time.sleep(0.02)


class Broker:
    def __init__(self, folder):
        self.port = free_port()
        user = "user root\n" if os.geteuid() == 0 else ""
        (folder / "broker.conf").write_text(
            f"listener {self.port} 127.0.0.1\nallow_anonymous true\npersistence false\nmax_queued_messages 100000\n{user}"
            f"{self.settings()}")
        self.log = open(folder / "broker.log", "ab")
        self.start(folder)

    def settings(self):
        return ""

    def start(self, folder=None):
        folder = self.folder = folder or self.folder
        self.process = subprocess.Popen([program("mosquitto"), "-c", str(folder / "broker.conf")],
                                        stdout=self.log, stderr=self.log)
        eventually(self._listens, "the broker")

    def _listens(self):
        try:
            socket.create_connection(("127.0.0.1", self.port), 1).close()
            return True
        except OSError:
            return False

    def publish(self, topic, payload, retain=False):
        subprocess.run([program("mosquitto_pub"), "-p", str(self.port), "-q", "1", "-t", topic, "-m", payload,
                        *(["-r"] if retain else [])], check=True, timeout=PATIENCE)

    def listen(self, topic, count):
        """A client that hears so many messages and ends; `messages` waits for it."""
        return subprocess.Popen([program("mosquitto_sub"), "-p", str(self.port), "-q", "1", "-t", topic, "-v",
                                 "-C", str(count), "-W", str(PATIENCE)], stdout=subprocess.PIPE, text=True)

    def end(self):
        end(self.process)
        self.log.close()


def end(process, seconds=10):
    """How long it took to end after SIGTERM."""
    begun = time.monotonic()
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(seconds)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
            raise AssertionError(f"did not end within {seconds} s of SIGTERM") from None
    return time.monotonic() - begun


class Workshop:
    def __init__(self, rehearsal=False, workshop="", more="", broker=None):
        self.dir = Path(tempfile.mkdtemp(prefix="setwell-system-"))
        self.own_broker = broker is None
        self.broker = broker or Broker(self.dir)
        self.rehearsal = rehearsal
        self.state = self.dir / "state"
        self.socket = self.dir / "setwell.sock"
        self.config = self.dir / "setwelld.toml"
        self.daemon = None
        self.published = 0
        shutil.copytree(ROOT / "config" / "sheets", self.dir / "sheets")
        shutil.copytree(ROOT / "config" / "schedules", self.dir / "schedules")
        self.config.write_text(head(self.broker.port, 'name = "Test workshop"\n' + workshop)
                               + SETTINGS.format(topic=TOPIC, more=more))

    def __enter__(self):
        return self.start()

    def __exit__(self, *_):
        try:
            if self.daemon is not None:
                end(self.daemon)
        finally:
            if self.own_broker:
                self.broker.end()
            shutil.rmtree(self.dir, ignore_errors=True)

    def command(self, *options, state=None, socket_file=None, rehearsal=None):
        rehearse = self.rehearsal if rehearsal is None else rehearsal
        return [str(BIN / "setwelld"), "--config", str(self.config), "--state", str(state or self.state),
                "--socket", str(socket_file or self.socket), *(["--time-from-readings"] if rehearse else []), *options]

    def start(self):
        with open(self.dir / "daemon.log", "ab") as log:
            self.daemon = subprocess.Popen(self.command(), stdout=log, stderr=log)
        eventually(self._ready, "the daemon's readiness")
        return self

    def _ready(self):
        if self.daemon.poll() is not None:
            raise AssertionError(f"the daemon left with {self.daemon.returncode}:\n{self.log()}")
        if not self.socket.exists():
            return False
        done = self.run("status", "--json")
        return done.returncode in (0, 1) and done.stdout and json.loads(done.stdout).get("subscribed")

    def restart(self, hard=False):
        if hard:
            self.daemon.send_signal(signal.SIGKILL)
            self.daemon.wait()
        else:
            end(self.daemon)
        return self.start()

    def log(self):
        return (self.dir / "daemon.log").read_text(errors="replace")

    def failing(self, *options, **places):
        """A daemon that is expected to leave by itself."""
        return subprocess.run(self.command(*options, **places), capture_output=True, text=True, timeout=PATIENCE)

    def run(self, *words, **options):
        environment = dict(os.environ, NO_COLOR="1")
        return subprocess.run([str(BIN / "setwell"), "--socket", str(self.socket), *words], capture_output=True,
                              text=True, env=environment, timeout=PATIENCE, stdin=subprocess.DEVNULL, **options)

    def ask(self, *words):
        done = self.run(*words, "--json")
        if done.returncode != 0 and words[0] != "status":
            raise AssertionError(f"setwell {' '.join(words)}: exit {done.returncode}: {done.stdout}{done.stderr}")
        return json.loads(done.stdout)

    def say(self, celsius, humidity, at):
        """One message of the bench's sensor, and waits until it is taken."""
        self.broker.publish(TOPIC, json.dumps({"time": rfc3339(at), "temperature": celsius, "humidity": humidity}))
        self.published += 1
        eventually(lambda: self.ask("status")["waiting"] == 0 and self.ask("status")["taken"] >= self.published,
                   "the message taken in")

    def steady(self, celsius, humidity, begin, end_, step=300):
        """A steady room, as a recorded one through the stand-in sensor."""
        rows = ["time,temperature_c,humidity_pct"]
        at = begin
        while at < end_:
            # A real sensor's last digit always moves a little.
            rows.append(f"{rfc3339(at)},{celsius + 0.01 * (len(rows) % 7):.2f},{humidity + 0.1 * (len(rows) % 5):.1f}")
            at += step
        room = self.dir / "room.csv"
        room.write_text("\n".join(rows) + "\n")
        subprocess.run([str(BIN / "setwell-room"), "--from", str(room), "--broker",
                        f"127.0.0.1:{self.broker.port}", "--topic", TOPIC, "--speed", "max"],
                       check=True, capture_output=True, timeout=PATIENCE)
        self.published += len(rows) - 1

        def taken():
            status = self.ask("status")
            return status["waiting"] == 0 and status["taken"] >= self.published
        eventually(taken, f"{self.published} messages taken in")
        eventually(lambda: not any(p["recomputing"] for p in self.ask("now")["pieces"]), "the recomputing")


def main():
    """Takes --build, skips where there is no broker, runs the cases of the calling file."""
    global BIN
    parser = argparse.ArgumentParser()
    parser.add_argument("--build", required=True, help="a build folder, with the programs in its bin/")
    options, rest = parser.parse_known_args()
    BIN = Path(options.build).resolve() / "bin"
    missing = [name for name in ("mosquitto", "mosquitto_pub", "mosquitto_sub") if not program(name)]
    if missing:
        print(f"skipped: {', '.join(missing)} not here")
        sys.exit(SKIPPED)
    unittest.main(module="__main__", argv=[sys.argv[0], *rest], verbosity=2)
