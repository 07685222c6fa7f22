#!/usr/bin/env python3
"""kill -9 at every step between a reading that makes a notice due and its delivery: none lost, none doubled at the
receiver by id, all attempts of one notice the same bytes.

The daemon is started from one prepared state with a small library that ends it at its n-th write after the reading
was published. Without --all n grows faster and faster, which takes seconds; with it every n is tried.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import unittest
from datetime import datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import TOPIC, Workshop, end, eventually, rfc3339  # noqa: E402

try:
    from receivers import MailServer, WebServer
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(workshop.SKIPPED)

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400
KIND = "safe-to-recoat"
EVERY = False


class Killed(unittest.TestCase):
    def setUp(self):
        self.shop = Workshop(rehearsal=True)
        self.web, self.mail = WebServer(None), MailServer.open_to_all()
        secret = self.shop.dir / "secret"
        secret.write_text("what signs\n")
        secret.chmod(0o600)
        with self.shop.config.open("a") as settings:
            settings.write(f'[[route]]\nid = "hook"\nkind = "webhook"\nurl = "http://127.0.0.1:{self.web.port}/200"\n'
                           f'secret_file = "{secret}"\n[[route]]\nid = "post"\nkind = "mail"\nhost = "127.0.0.1"\n'
                           f'port = {self.mail.port}\nsecurity = "none"\nfrom = "shop@example.org"\n'
                           f'to = ["maker@example.org"]\n')
        self.trigger = self.shop.dir / "trigger"
        self.base = self.shop.dir / "base"

    def tearDown(self):
        self.web.end()
        self.mail.end()
        self.shop.__exit__()

    def opens(self):
        window = self.shop.ask("piece", "show", "fern-01")["now"]["recoat"][0]
        return int(datetime.fromisoformat(window["from"]).timestamp())

    def prepare(self):
        """Readings up to a moment before the window surely opens; answers the reading that makes it due."""
        shop = self.shop.start()
        shop.steady(22, 50, BEGIN, BEGIN + 2 * 3600)
        shop.ask("piece", "new", "fern-01", "--form", "cup")
        shop.ask("coat", "fast-coating-epoxy", "fern-01", "--zone", "bench")
        # What is foretold of a room is colder than what comes: closer by halves.
        now, opens = BEGIN + 2 * 3600, self.opens()
        while opens - now > 600:
            shop.steady(22, 50, now, now + (opens - now) // 2)
            now, opens = now + (opens - now) // 2, self.opens()
        self.assertEqual([n for n in shop.ask("notices", "--all")["notices"] if n["kind"] == KIND], [])
        end(shop.daemon)
        shutil.copytree(shop.state, self.base)
        return json.dumps({"time": rfc3339(opens + 300), "temperature": 22.03, "humidity": 50.2})

    def start_counting(self, n):
        shop = self.shop
        shutil.rmtree(shop.state)
        shutil.copytree(self.base, shop.state)
        self.trigger.unlink(missing_ok=True)
        library = workshop.BIN / "setwell_stop_at.so"
        environment = dict(os.environ, LD_PRELOAD=str(library), SETWELL_STOP_AT=str(n), SETWELL_STOP_FROM=str(self.trigger))
        with open(shop.dir / "daemon.log", "ab") as log:
            shop.daemon = subprocess.Popen(shop.command(), stdout=log, stderr=log, env=environment)
        eventually(shop._ready, "the daemon's readiness")

    def told(self):
        """The state of each delivery of the notice, or nothing."""
        done = self.shop.run("notices", "--all", "--json")
        if done.returncode != 0:
            return None
        notices = [n for n in json.loads(done.stdout)["notices"] if n["kind"] == KIND]
        return {d["route"]: d["state"] for d in notices[0]["deliveries"]} if notices else None

    def all_sent(self):
        states = self.told()
        return states is not None and len(states) == 3 and set(states.values()) == {"sent"}

    def killed_at(self, n, reading):
        """One round; answers whether the daemon was killed."""
        self.web.received.clear()
        self.mail.received.clear()
        self.start_counting(n)
        self.trigger.touch()
        self.shop.broker.publish(TOPIC, reading)
        daemon = self.shop.daemon
        eventually(lambda: daemon.poll() is not None or self.all_sent(), "the end or the delivery")
        killed = daemon.poll() is not None
        self.trigger.unlink()
        if killed:
            self.assertEqual(daemon.returncode, -9, self.shop.log()[-2000:])
            self.shop.start()
            eventually(self.all_sent, f"delivery after the end at write {n}")
        self.look(n)
        end(self.shop.daemon)
        return killed

    def look(self, n):
        for receiver in (self.web.received, self.mail.received):
            got = receiver.all()
            bodies = {}
            for name, body, _ in got:
                bodies.setdefault(name, set()).add(body)
            about = [name for name in bodies if KIND in name]
            self.assertEqual(len(about), 1, f"write {n}: {list(bodies)}")
            self.assertTrue(all(len(each) == 1 for each in bodies.values()), f"write {n}: bytes differ")

    def test_a_notice_survives_the_end_of_the_daemon_at_any_write(self):
        reading = self.prepare()
        n, kills = 1, 0
        while self.killed_at(n, reading):
            kills += 1
            n = n + 1 if EVERY else 2 * n
        print(f"killed {kills} times, up to write {n}", file=sys.stderr)
        self.assertGreater(kills, 5)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(add_help=False)
    parser.add_argument("--all", action="store_true")
    options, rest = parser.parse_known_args()
    EVERY = options.all
    sys.argv = [sys.argv[0], *rest]
    workshop.main()
