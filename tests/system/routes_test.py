#!/usr/bin/env python3
"""Notices through real routes: a command's standard input, the broker's topics, the log."""

import json
import sys
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import PATIENCE, Workshop, eventually  # noqa: E402

BEGIN = 1_925_000_000 - 1_925_000_000 % 86400
EVENT_KEYS = {"version", "id", "kind", "withdrawal", "pieces", "title", "text", "at", "from", "until", "mix_by", "also",
              "rehearsal"}
ROUTES = """
[[route]]
id = "bell"
kind = "command"
argv = ["{bell}", "{heard}"]
instant = true

[[route]]
id = "house"
kind = "mqtt"
topic = "told"
instant = true
"""
BELL = """#!/bin/sh
set -e
cat >>"$1"
printf '\\n' >>"$1"
"""


class Routes(unittest.TestCase):
    def test_safe_to_recoat_reaches_command_broker_and_log(self):
        shop = Workshop(rehearsal=True)
        bell, heard = shop.dir / "bell.sh", shop.dir / "heard"
        bell.write_text(BELL)
        bell.chmod(0o755)
        with shop.config.open("a") as settings:
            settings.write(ROUTES.format(bell=bell, heard=heard))
        listener = shop.broker.listen("told/#", 200)
        try:
            with shop:
                shop.steady(22, 50, BEGIN, BEGIN + 2 * 3600)
                shop.ask("piece", "new", "fern-01", "--form", "cup")
                shop.ask("coat", "fast-coating-epoxy", "fern-01", "--zone", "bench")
                shop.steady(22, 50, BEGIN + 2 * 3600, BEGIN + 24 * 3600)
                self.assert_told(shop, heard)
                self.assert_retained(shop)
        finally:
            workshop.end(listener)
        messages = [line.split(" ", 1) for line in listener.communicate(timeout=PATIENCE)[0].splitlines()]
        events = [json.loads(body) for topic, body in messages if topic == "told/event"]
        safe = [e for e in events if e["kind"] == "safe-to-recoat"]
        self.assertEqual(len(safe), 1, events)
        self.assertEqual(safe[0]["pieces"], ["fern-01"])
        self.assertEqual(set(safe[0]), EVENT_KEYS)
        self.assertEqual(len({e["id"] for e in events}), len(events))

    def assert_told(self, shop, heard):
        def sent():
            told = [n for n in shop.ask("notices", "--all")["notices"] if n["kind"] == "safe-to-recoat"]
            return told and all(d["state"] == "sent" for d in told[0]["deliveries"]) and told[0]
        notice = eventually(sent, "the notice sent on all routes")
        self.assertEqual({d["route"] for d in notice["deliveries"]}, {"journal", "bell", "house"})
        events = [json.loads(line) for line in heard.read_text().splitlines() if line]
        safe = [e for e in events if e["kind"] == "safe-to-recoat"]
        self.assertEqual(len(safe), 1)
        self.assertEqual(set(safe[0]), EVENT_KEYS)
        self.assertIs(safe[0]["rehearsal"], True)
        self.assertEqual(safe[0]["title"], notice["title"])
        self.assertIn("rehears", (safe[0]["title"] + safe[0]["text"]).lower())
        self.assertIn(notice["title"], shop.log())

    def assert_retained(self, shop):
        late = shop.broker.listen("told/piece/fern-01", 1)
        topic, body = late.communicate(timeout=PATIENCE)[0].split(" ", 1)
        state = json.loads(body)
        self.assertEqual(topic, "told/piece/fern-01")
        self.assertEqual(state["piece"]["piece"], "fern-01")
        self.assertIs(state["rehearsal"], True)
        self.assertIn(state["piece"]["verdict"], ("recoat", "sand first", "sand-first", "touch-test", "wait"))

    def test_what_was_delivered_is_still_shown_after_a_restart(self):
        def states(shop):
            return [(n["kind"], d["route"], d["state"])
                    for n in shop.ask("notices", "--all")["notices"] for d in n["deliveries"]]
        with Workshop(rehearsal=True) as shop:
            shop.steady(22, 50, BEGIN, BEGIN + 2 * 3600)
            shop.ask("piece", "new", "fern-01", "--form", "cup")
            shop.ask("coat", "fast-coating-epoxy", "fern-01", "--zone", "bench")
            shop.steady(22, 50, BEGIN + 2 * 3600, BEGIN + 24 * 3600)
            sent = eventually(lambda: [s for s in states(shop) if s[0] == "safe-to-recoat" and s[2] == "sent"],
                              "the notice sent")
            workshop.end(shop.daemon)
            shop.start()
            for delivery in sent:
                self.assertIn(delivery, states(shop))

    def test_a_route_whose_program_fails_is_shown_and_holds_up_nothing(self):
        more = '[[route]]\nid = "deaf"\nkind = "command"\nargv = ["/bin/false"]\ninstant = true\n'
        with Workshop(rehearsal=True, more=more) as shop:
            shop.steady(22, 50, BEGIN, BEGIN + 2 * 3600)
            shop.ask("piece", "new", "fern-01", "--form", "cup")
            shop.ask("coat", "fast-coating-epoxy", "fern-01", "--zone", "bench")
            shop.steady(22, 50, BEGIN + 2 * 3600, BEGIN + 24 * 3600)

            def states():
                told = [n for n in shop.ask("notices", "--all")["notices"] if n["kind"] == "safe-to-recoat"]
                routes = {d["route"]: d for n in told for d in n["deliveries"]}
                return routes.get("journal", {}).get("state") == "sent" and \
                    routes.get("deaf", {}).get("attempts", 0) > 0 and routes
            routes = eventually(states, "the log told, the deaf route tried")
            self.assertNotEqual(routes["deaf"]["state"], "sent")
            line = next(l for l in shop.ask("status")["lines"] if "deaf" in l["part"])
            self.assertFalse(line["ok"])
            self.assertTrue(line["advice"])


if __name__ == "__main__":
    workshop.main()
