"""A workshop for the system's tests: a broker, a daemon in rehearsal and a room's stand-in sensor.

All of it runs on this machine alone, in a directory of its own that is removed again.
"""

import json
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from datetime import datetime, timezone
from pathlib import Path

from plain_settings import free_port, head

ROOT = Path(__file__).resolve().parents[2]
LAG_MIN = 15.0
TOPIC = "replay/bench/climate"
SETTINGS = """
[[channel]]
zone = "bench"
topic = "{topic}"
quantity = "air-temperature"
format = "json"
path = "/temperature"
time_path = "/time"
time_unit = "iso"
silent_after = "15 min"
[[channel]]
zone = "bench"
topic = "{topic}"
quantity = "relative-humidity"
format = "json"
path = "/humidity"
time_path = "/time"
time_unit = "iso"
silent_after = "15 min"
[[form]]
id = "cup"
area = "300 cm2"
lag = "{lag:g} min"
[[route]]
id = "journal"
kind = "log"
"""


def rfc3339(moment):
    return datetime.fromtimestamp(moment, timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def moment(text):
    return datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()


class Shop:
    """One broker and one daemon in a directory of their own."""

    def __init__(self, build):
        self.bin = Path(build) / "bin"
        self.dir = Path(tempfile.mkdtemp(prefix="setwell-replay-"))
        self.port = free_port()
        self.published, self.newest = 0, None
        self.taken, self.moved = 0, 0.0
        self.processes = []
        self.line, self.last_id = None, 0
        (self.dir / "state").mkdir()
        shutil.copytree(ROOT / "config" / "sheets", self.dir / "sheets")
        (self.dir / "schedules").mkdir()
        (self.dir / "setwelld.toml").write_text(head(self.port) + SETTINGS.format(topic=TOPIC, lag=LAG_MIN))
        (self.dir / "broker.conf").write_text(
            f"listener {self.port} 127.0.0.1\nallow_anonymous true\npersistence false\nmax_queued_messages 200000\n")
        self.environment = dict(os.environ, XDG_RUNTIME_DIR=str(self.dir), RUNTIME_DIRECTORY=str(self.dir),
                                STATE_DIRECTORY=str(self.dir / "state"),
                                NO_COLOR="1")
        self.socket = self.dir / "setwell.sock"

    def __enter__(self):
        self.broker = self._spawn(["mosquitto", "-c", str(self.dir / "broker.conf")], "broker")
        self._until(lambda: socket.create_connection(("127.0.0.1", self.port), 1).close() is None, "the broker")
        self.start()
        return self

    def __exit__(self, *_):
        for process in reversed(self.processes):
            if process.poll() is None:
                process.terminate()
                try:
                    process.wait(10)
                except subprocess.TimeoutExpired:
                    process.kill()
                    process.wait()
        shutil.rmtree(self.dir, ignore_errors=True)

    def _spawn(self, command, name):
        with open(self.dir / f"{name}.log", "ab") as log:
            process = subprocess.Popen(command, stdout=log, stderr=log, env=self.environment)
        self.processes.append(process)
        return process

    def _until(self, good, what, seconds=60):
        end = time.monotonic() + seconds
        while True:
            try:
                if good():
                    return
            except (OSError, RuntimeError, KeyError, ValueError):
                pass
            # A slow machine is none that stands still: as long as messages are taken there is more time.
            if time.monotonic() > max(end, self.moved + seconds):
                log = self.dir / "daemon.log"
                tail = log.read_text(errors="replace")[-2000:] if log.exists() else ""
                raise RuntimeError(f"gave up waiting for {what}\n{tail}")
            time.sleep(0.02)

    def start(self):
        self.daemon = self._spawn([str(self.bin / "setwelld"), "--config", str(self.dir / "setwelld.toml"),
                                   "--time-from-readings"], "daemon")
        self._until(lambda: self.ask("status")["subscribed"], "the daemon")

    def kill(self):
        self.line = None
        self.daemon.send_signal(signal.SIGKILL)
        self.daemon.wait()
        self.start()

    def ask(self, method, **params):
        """The daemon's answer to one call on its socket."""
        if self.line is None:
            connection = socket.socket(socket.AF_UNIX)
            connection.settimeout(120)
            connection.connect(str(self.socket))
            self.line = connection.makefile("rwb")
            connection.close()
            self._call("hello", {"client": "replay", "protocol": 1})
        return self._call(method, params)

    def _call(self, method, params):
        self.last_id += 1
        call = {"jsonrpc": "2.0", "id": self.last_id, "method": method, "params": params}
        try:
            self.line.write(json.dumps(call).encode() + b"\n")
            self.line.flush()
        except OSError:
            self.line = None
            raise
        while line := self.line.readline():
            answer = json.loads(line)
            if answer.get("id") != self.last_id:
                continue  # it tells of changes unasked
            if "error" in answer:
                raise RuntimeError(f"{method}: {answer['error']}")
            return answer["result"]
        self.line = None
        raise RuntimeError(f"{method}: the daemon hung up")

    def publish(self, room_file, times, kill_after=None):
        """The readings of `times` (neighbours in the room), and waits until they are taken in."""
        command = [str(self.bin / "setwell-room"), "--from", str(room_file), "--begin", rfc3339(times[0]),
                   "--end", rfc3339(times[-1] + 1), "--speed", "max", "--broker", f"127.0.0.1:{self.port}",
                   "--topic", TOPIC]
        sender = self._spawn(command, "room")
        if kill_after is not None:
            time.sleep(kill_after)
            self.kill()
        if sender.wait(120) != 0:
            raise RuntimeError(f"setwell-room: {(self.dir / 'room.log').read_text(errors='replace')[-500:]}")
        self.published += len(times)
        self.newest = times[-1]
        self._until(self._settled, f"{self.published} messages: taken", 60)

    def _settled(self):
        status = self.ask("status")
        if status["taken"] != self.taken:
            self.taken, self.moved = status["taken"], time.monotonic()
        return (status["taken"] >= self.published and status["waiting"] == 0
                and moment(status["time"]) >= self.newest)

    def show(self, piece):
        self._until(lambda: not self.ask("piece.show", piece=piece)["now"]["recomputing"], f"{piece} recomputed")
        return self.ask("piece.show", piece=piece)
