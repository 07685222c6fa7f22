#!/usr/bin/env python3
"""Figures of the whole program, beside what they are compared to. Prints each with its unit, and the machine and
build type they were measured on.

- now_30_pieces: one `now` over the socket with 30 coated pieces (median of 50)
- published_to_event: a reading published -> its notice arrived at an MQTT subscriber, through commit, clocks, rules
  and outbox (median over the openings of 30 pieces)
- broker_round_trip: the same broker, publish -> subscriber, with nothing of ours between: the floor
- take_in_30_pieces: the daemon's own time on a core per message while those are published
- resident, idle_cpu: of the daemon with 30 pieces, the latter over 20 s without messages
- week_of_10_s_readings and what stands beside it: see engine_figures.cpp; left out where it is not built
- commits: messages kept one by one, each on disk before the next
- clean_build (with --clean-build): the programs from nothing, without a compiler cache
"""
import argparse
import datetime
import json
import os
import platform
import queue
import shutil
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))

sys.path.insert(0, os.path.join(ROOT, "tests", "system"))
import plain_settings  # noqa: E402
from plain_settings import free_port  # noqa: E402

SETTINGS = """
[[channel]]
zone = "bench"
topic = "room"
quantity = "air-temperature"
format = "json"
path = "/t"
time_path = "/at"
time_unit = "iso"
[[form]]
id = "tumbler"
area = "320 cm2"
lag = "7 min"
[[route]]
id = "mqtt"
kind = "mqtt"
topic = "workshop"
"""


class Socket:
    def __init__(self, path):
        self.link = socket.socket(socket.AF_UNIX)
        deadline = time.monotonic() + 10
        while True:
            try:
                self.link.connect(path)
                break
            except OSError:
                if time.monotonic() > deadline:
                    raise
                time.sleep(0.02)
        self.file = self.link.makefile("rwb")
        self.number = 0
        self.call("hello", {"client": "figures", "protocol": 1})

    def call(self, method, params=None):
        self.number += 1
        line = {"jsonrpc": "2.0", "id": self.number, "method": method, "params": params or {}}
        self.file.write((json.dumps(line) + "\n").encode())
        self.file.flush()
        answer = json.loads(self.file.readline())
        if "error" in answer:
            raise SystemExit(f"{method}: {answer['error']}")
        return answer["result"]


def cpu_seconds(pid):
    with open(f"/proc/{pid}/stat") as stat:
        fields = stat.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def resident_mib(pid):
    with open(f"/proc/{pid}/status") as status:
        for line in status:
            if line.startswith("VmRSS"):
                return int(line.split()[1]) / 1024


def iso(at):
    return at.strftime("%Y-%m-%dT%H:%M:%SZ")


def cpu_name():
    with open("/proc/cpuinfo") as info:
        for line in info:
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    return platform.machine()


def run(build, folder):
    import paho.mqtt.client as mqtt

    port = free_port()
    conf = os.path.join(folder, "broker.conf")
    with open(conf, "w") as out:
        out.write(f"listener {port} 127.0.0.1\nallow_anonymous true\npersistence false\nset_tcp_nodelay true\n")
    broker = subprocess.Popen(["mosquitto", "-c", conf], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    os.makedirs(os.path.join(folder, "etc"))
    shutil.copytree(os.path.join(ROOT, "config", "sheets"), os.path.join(folder, "etc", "sheets"))
    with open(os.path.join(folder, "etc", "setwelld.toml"), "w") as out:
        out.write(plain_settings.head(port) + SETTINGS)
    path = os.path.join(folder, "s.sock")
    daemon = subprocess.Popen(
        [os.path.join(build, "bin", "setwelld"), "--config", os.path.join(folder, "etc", "setwelld.toml"),
         "--state", os.path.join(folder, "state"), "--socket", path, "--time-from-readings"],
        stderr=open(os.path.join(folder, "daemon.log"), "w"))
    try:
        return measure(mqtt, port, path, daemon.pid)
    finally:
        daemon.send_signal(signal.SIGTERM)
        daemon.wait(10)
        broker.terminate()
        broker.wait(10)


def measure(mqtt, port, path, pid):
    arrived = queue.Queue()
    client = mqtt.Client("figures")
    # Waiting to fill a packet would be measured otherwise.
    client.on_socket_open = lambda _c, _u, link: link.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    subscribed = queue.Queue()
    client.on_subscribe = lambda *_: subscribed.put(True)
    client.on_message = lambda _c, _u, message: arrived.put((time.perf_counter(), message.topic, message.payload))
    deadline = time.monotonic() + 10
    while True:
        try:
            client.connect("127.0.0.1", port)
            break
        except OSError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.02)
    client.loop_start()
    client.subscribe([("workshop/event", 1), ("echo", 1)])
    subscribed.get(timeout=10)
    daemon = Socket(path)
    deadline = time.monotonic() + 20
    while not daemon.call("status")["subscribed"]:
        if time.monotonic() > deadline:
            raise SystemExit("the daemon does not subscribe")
        time.sleep(0.05)

    floor = []
    for _ in range(50):
        start = time.perf_counter()
        client.publish("echo", b"x", qos=1)
        floor.append((arrived.get(timeout=5)[0] - start) * 1000)

    at = datetime.datetime(2031, 3, 4, 8, 0, tzinfo=datetime.timezone.utc)

    def publish(moment):
        client.publish("room", json.dumps({"t": 22.0, "at": iso(moment)}), qos=1).wait_for_publish()

    for minute in range(10):
        publish(at + datetime.timedelta(minutes=minute))
    start = at + datetime.timedelta(minutes=9)
    while daemon.call("now")["time"][:16] != iso(start)[:16].replace("Z", ""):
        time.sleep(0.02)
    for number in range(30):
        daemon.call("piece.new", {"pieces": [f"cup-{number:02}"], "form": "tumbler"})
    # Coats a quarter of an hour apart, so that their openings are messages of their own.
    logged = 0
    event_ms = []
    sent, used_before = 0, cpu_seconds(pid)
    for minute in range(10, 60 * 40):
        moment = at + datetime.timedelta(minutes=minute)
        before = time.perf_counter()
        publish(moment)
        sent += 1
        if logged < 30 and minute % 15 == 0:
            while daemon.call("status")["waiting"] > 0:
                time.sleep(0.002)
            daemon.call("coat", {"what": "fast-coating-epoxy", "pieces": [f"cup-{logged:02}"], "zone": "bench"})
            logged += 1
            continue
        try:
            while True:
                when, topic, body = arrived.get(timeout=0.05)
                event = json.loads(body) if topic == "workshop/event" else {}
                if event.get("kind") == "safe-to-recoat":
                    event_ms.append((when - before) * 1000)
        except queue.Empty:
            pass
        if len(event_ms) >= 25:
            break

    take_in_ms = (cpu_seconds(pid) - used_before) / sent * 1000
    now_ms = []
    for _ in range(50):
        begin = time.perf_counter()
        daemon.call("now")
        now_ms.append((time.perf_counter() - begin) * 1000)
    time.sleep(2)
    used = cpu_seconds(pid)
    time.sleep(20)
    idle = (cpu_seconds(pid) - used) / 20 * 100
    client.loop_stop()
    return {
        "now_30_pieces": (statistics.median(now_ms), "ms"),
        "published_to_event": (statistics.median(event_ms) if event_ms else None, "ms"),
        "published_to_event_samples": (len(event_ms), "notices"),
        "broker_round_trip": (statistics.median(floor), "ms"),
        "take_in_30_pieces": (take_in_ms, "ms of a core per message"),
        "resident": (resident_mib(pid), "MiB"),
        "idle_cpu": (idle, "% of a core"),
    }


def engine_figures(build, folder):
    program = os.path.join(build, "bin", "setwell_engine_figures")
    if not os.path.exists(program):
        print("skipped: setwell_engine_figures is not built", file=sys.stderr)
        return {}
    said = json.loads(subprocess.run([program, folder], check=True, capture_output=True, text=True).stdout)
    return {
        "week_of_10_s_readings": (said["week_of_10_s_readings_ms"], "ms of a core"),
        "left_rectangle": (said["left_rectangle_ms"], "ms of a core"),
        "second_day": (said["second_day_ms"], "ms of a core"),
        "seventh_day": (said["seventh_day_ms"], "ms of a core"),
        "clocks": (said["clocks"], "clocks, three bounds each"),
        "readings": (said["readings"], "readings"),
        "commits": (said["commits_per_second"], "per second"),
    }


def keeper_figures(build, folder):
    program = os.path.join(build, "bin", "setwell_keeper_figures")
    if not os.path.exists(program):
        print("skipped: setwell_keeper_figures is not built", file=sys.stderr)
        return {}
    said = json.loads(subprocess.run([program, folder], check=True, capture_output=True, text=True).stdout)
    return {
        "keeper_alone": (said["alone_per_second"], "commits per second"),
        "keeper_alone_p50": (said["alone_p50_ms"], "ms"),
        "keeper_alone_p99": (said["alone_p99_ms"], "ms"),
        "keeper_beside": (said["beside_per_second"], "commits per second, while the loop drains a backlog"),
        "keeper_beside_p50": (said["beside_p50_ms"], "ms"),
        "keeper_beside_p99": (said["beside_p99_ms"], "ms"),
        "keeper_share": (said["share"], "of the lone writer's rate"),
        "rows_drained_meanwhile": (said["rows_taken_meanwhile"], "rows"),
    }


def clean_build(folder):
    """From nothing, without a compiler cache: configuring and building what is installed."""
    environment = dict(os.environ, CCACHE_DISABLE="1")
    quiet = {"check": True, "env": environment, "stdout": subprocess.DEVNULL}
    begin = time.monotonic()
    subprocess.run(["cmake", "-S", ROOT, "-B", folder, "-G", "Ninja", "-C",
                    os.path.join(ROOT, ".cmake", "release.cmake")], **quiet)
    subprocess.run(["ninja", "-C", folder, "setwelld", "setwell", "setwell-room"], **quiet)
    return {"clean_build": ((time.monotonic() - begin) / 60, f"minutes on {os.cpu_count()} cores")}


def build_type(build):
    with open(os.path.join(build, "CMakeCache.txt")) as cache:
        for line in cache:
            if line.startswith("CMAKE_BUILD_TYPE:"):
                return line.split("=", 1)[1].strip() or os.path.basename(build)
    return os.path.basename(build)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--build", required=True)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--clean-build", action="store_true")
    options = parser.parse_args()
    if shutil.which("mosquitto") is None:
        print("skipped: there is no mosquitto", file=sys.stderr)
        return 77
    folder = tempfile.mkdtemp(prefix="setwell-figures-")
    try:
        measured = run(options.build, folder)
        measured.update(engine_figures(options.build, folder))
        keeper = os.path.join(folder, "keeper")
        os.makedirs(keeper)
        measured.update(keeper_figures(options.build, keeper))
        if options.clean_build:
            measured.update(clean_build(os.path.join(folder, "build")))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    figures = {name: {"value": None if value is None else round(value, 2), "unit": unit}
               for name, (value, unit) in measured.items()}
    whole = {"machine": f"{cpu_name()}, {os.cpu_count()} cores", "build": build_type(options.build),
             "load": round(os.getloadavg()[0], 1), "figures": figures}
    if options.json:
        print(json.dumps(whole))
        return 0
    print(f"{whole['machine']}; build {whole['build']}; load {whole['load']}")
    for name, figure in figures.items():
        print(f"{name:28} {figure['value']} {figure['unit']}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
