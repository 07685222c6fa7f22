#!/usr/bin/env python3
"""Replays recorded rooms through the daemon and holds its milestones against the one-minute integrator.

A broker, a daemon in rehearsal and the room's stand-in sensor run on this machine alone, each in a directory of
its own that is removed again. Every example sheet gets one coat; every moment of reaching and, at the end of each
stretch published, every verdict is compared. Leaves with 77 where rooms or broker are absent.
"""

import argparse
import json
import os
import random
import shutil
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "reference"))
import one_minute as reference  # noqa: E402
from plain_inputs import SILENT_AFTER  # noqa: E402
from replay_shop import LAG_MIN, Shop, rfc3339  # noqa: E402

MILESTONES = {"flash-off-over", "tack-free", "recoat-opens", "recoat-closes", "gap-begins", "gap-ends", "sandable",
              "handling", "packing", "full-cure", "full-strength"}
FILMS = {"spray-enamel": 75, "water-borne-glue": 80, "slow-coating-epoxy": 600, "casting-epoxy": 8000}


class Tally:
    def __init__(self):
        self.comparisons, self.failed, self.reached = 0, 0, {}

    def check(self, good, text):
        self.comparisons += 1
        if not good:
            self.failed += 1
            print(f"failed: {text}", flush=True)
        return good


def stretches(times, seconds):
    """Cuts times into neighbours of at most so long."""
    out, begin = [], 0
    for i, at in enumerate(times):
        if at - times[begin] >= seconds:
            out.append(times[begin:i])
            begin = i
    return out + [times[begin:]]


def compare_clocks(tally, label, runs, milestones, interval, until):
    """Every clock of a coat: when it was reached, or else how far it has come."""
    ours = {(run.clock.name, run.clock.top): run for run in runs}
    said = {(m["name"], m.get("top")): m for m in milestones}
    for key in sorted(ours, key=str):
        if not tally.check(key in said, f"{label}: {key} is missing"):
            continue
        for track in ("slow", "expected", "fast"):
            theirs, run = said[key][track], ours[key]
            at = reference.moment(theirs["at"]) if theirs["at"] else None
            reached = at is not None and at <= until
            name = f"{label}: {key[0]}{' for ' + key[1] if key[1] else ''}, {track}"
            if reached:
                tally.reached.setdefault(key[0], set()).add(track)
            if reached and run.at[track] is not None:
                tally.check(abs(at - run.at[track]) <= interval,
                            f"{name}: daemon {theirs['at']}, integrator {reference.shown(run.at[track])}")
            elif reached or run.at[track] is not None:
                other = at if reached else run.at[track]
                tally.check(until - other <= interval,
                            f"{name}: reached by one only, at {reference.shown(other)} "
                            f"({'daemon' if reached else 'integrator'})")
            else:
                room = run.progress[track] - run.before[track] + 0.002
                tally.check(abs(theirs["progress"] - run.progress[track]) <= room,
                            f"{name}: daemon at {theirs['progress']:.4f}, integrator at {run.progress[track]:.4f}")


def compare_verdict(tally, label, sheet, runs, piece, now, interval):
    allowed = set()
    for moment in (now - interval, now, now + interval):
        allowed |= reference.verdicts(sheet, runs, moment, bool(piece["outside_limits"]))
    tally.check(piece["verdict"] in allowed,
                f"{label} at {rfc3339(now)}: verdict {piece['verdict']}, integrator {' or '.join(sorted(allowed))}")


class Replay:
    """One room with one coat of each sheet."""

    def __init__(self, options, name, interval, days=None, hole=None, kills=0):
        self.options, self.name, self.interval, self.kills = options, name, interval, kills
        self.file = options.rooms / f"{name}.csv"
        times, air, humidity = reference.read_room(self.file)
        end = times[-1] if days is None else times[0] + days * 86400
        kept = [i for i, t in enumerate(times)
                if t <= end and not (hole and times[0] + hole[0] < t < times[0] + hole[1])]
        self.times = [times[i] for i in kept]
        self.room = reference.Room(self.times, [air[i] for i in kept], [humidity[i] for i in kept])
        first = [t for t in self.times if t <= self.times[0] + 3600]
        rest, parts = self.times[len(first):], []
        cut = next((i for i in range(1, len(rest)) if rest[i] - rest[i - 1] > SILENT_AFTER), len(rest))
        for part in (rest[:cut], rest[cut:]):
            parts += stretches(part, options.stretch * 3600) if part else []
        self.first, self.parts = first, parts

    def log_coats(self, shop):
        self.coats = {}
        for path in sorted((ROOT / "config" / "sheets").glob("*.toml")):
            sheet = reference.read_sheet(path)
            piece, film = f"{sheet.id}-01", FILMS.get(sheet.id)
            shop.ask("piece.new", pieces=[piece], form="cup")
            answer = shop.ask("coat", what=sheet.id, pieces=[piece], zone="bench",
                              **({"film_um": film} if film else {}))
            logged = next(e for e in answer["logged"] if e["piece"] == piece)
            self.coats[piece] = (sheet, reference.moment(logged["at"]), logged["error_s"], film)

    def run(self, tally):
        """Answers the last state of every piece."""
        with Shop(self.options.build) as shop:
            shop.publish(self.file, self.first)
            self.log_coats(shop)
            runs = {piece: reference.Coat(sheet, self.room, at, error, LAG_MIN * 60, film).run(
                        self.times[-1], self.interval) if tally else None
                    for piece, (sheet, at, error, film) in self.coats.items()}
            chance = random.Random(11)
            killed = set(chance.sample(range(len(self.parts)), min(self.kills, len(self.parts))))
            for number, part in enumerate(self.parts):
                shop.publish(self.file, part, chance.uniform(0, 0.2) if number in killed else None)
                if not tally:
                    continue
                now = {p["piece"]: p for p in shop.ask("now")["pieces"]}
                for piece, (sheet, *_) in self.coats.items():
                    state = now[piece] if not now[piece]["recomputing"] else shop.show(piece)["now"]
                    compare_verdict(tally, f"{self.name}: {piece}", sheet, runs[piece], state, part[-1], self.interval)
            last = {piece: shop.show(piece) for piece in self.coats}
            for piece in self.coats if tally else ():
                compare_clocks(tally, f"{self.name}: {piece}", runs[piece], last[piece]["now"]["milestones"],
                               self.interval, self.times[-1])
            last["history"] = shop.ask("history", zone="bench", **{"from": rfc3339(self.times[-1] - 86400)})
            return last


def compare_batch(tally, options):
    """Six pieces of one batch, logged in one command 25 minutes late, beside one logged punctually."""
    replay = Replay(options, "room-g-5min", 300, days=2 if options.quick else 7)
    late = [t for t in replay.parts[0] if t <= replay.first[-1] + 1500]
    rest = [t for t in replay.times if t > late[-1]]
    sheet = reference.read_sheet(ROOT / "config" / "sheets" / "fast-coating-epoxy.toml")
    pieces = [f"six-{n:02}" for n in range(1, 7)]
    with Shop(options.build) as shop:
        shop.publish(replay.file, replay.first)
        shop.ask("piece.new", pieces=["punctual-01", "six-01..06"], form="cup")
        shop.ask("mixed", sheet=sheet.id, part_a_g=100, part_b_g=45, zone="bench")
        batch = shop.ask("batches")["batches"][0]
        left = batch["left_s"]
        tally.check(batch["open"] and 0 < left["fast"] <= left["expected"] <= left["slow"],
                    f"batch: just mixed, {left} left")
        shop.ask("coat", what=batch["batch"], pieces=["punctual-01"], zone="bench")
        shop.publish(replay.file, late)
        answer = shop.ask("coat", what=batch["batch"], pieces=["six-01..06"], zone="bench", at="25m")
        errors = {e["error_s"] for e in answer["logged"]}
        tally.check(len(answer["logged"]) == 6, f"batch: {len(answer['logged'])} of six pieces logged")
        for part in stretches(rest, options.stretch * 3600):
            shop.publish(replay.file, part)
        batch = shop.ask("batches")["batches"][0]
        tally.check(not batch["open"], "batch: its pot life never ended")
        punctual = shop.show("punctual-01")["now"]["milestones"]
        runs = reference.Coat(sheet, replay.room, replay.first[-1], max(errors), LAG_MIN * 60).run(
            replay.times[-1], 300)
        for piece in pieces:
            milestones = shop.show(piece)["now"]["milestones"]
            compare_clocks(tally, f"batch: {piece}", runs, milestones, 300, replay.times[-1])
            compare_late(tally, piece, milestones, punctual, replay.times[-1])


def compare_late(tally, piece, late, punctual, until):
    """Logged late, the expected clock is the same and the bounds lie no closer."""
    def at(milestone, track):
        when = milestone[track]["at"]
        return reference.moment(when) if when and reference.moment(when) <= until else None
    for a, b in zip(late, punctual):
        for track, side in (("slow", 1), ("expected", 0), ("fast", -1)):
            x, y = at(a, track), at(b, track)
            if x is None or y is None:
                continue
            tally.check(abs(x - y) < 1 if side == 0 else side * (x - y) >= -1,
                        f"batch: {piece}, {a['name']}, {track}: late {rfc3339(x)}, punctual {rfc3339(y)}")


def as_reached(value, until):
    """Without the times still ahead: those are kept for a quarter of an hour and rest on when they were asked."""
    if isinstance(value, dict):
        return {key: as_reached(item, until) for key, item in value.items()}
    if isinstance(value, list):
        return [as_reached(item, until) for item in value]
    if isinstance(value, str) and value[:2] == "20" and "T" in value and reference.moment(value) > until:
        return "ahead"
    return value


def compare_runs(tally, label, one, other, until):
    for key, value in one.items():
        tally.check(as_reached(other[key], until) == as_reached(value, until), f"{label}: {key} differs")


def compare_kills(tally, options):
    """Killed and started again on the way, the daemon ends where it ends undisturbed."""
    days = 2 if options.quick else 5
    undisturbed = Replay(options, "room-g-5min", 300, days=days)
    killed = Replay(options, "room-g-5min", 300, days=days, kills=options.kills)
    compare_runs(tally, "kills", undisturbed.run(None), killed.run(None), undisturbed.times[-1])


def compare_order(tally, options):
    """An hour within a long night unheard that arrives after the day that follows leaves everything as if it had
    come in time: also what was made of the hours before it, on either side of midnight."""
    told = []
    for in_time in (True, False):
        replay = Replay(options, "room-g-5min", 300, days=1.75, hole=(27.4 * 3600, 32.4 * 3600))
        rest, ends = replay.times[len(replay.first):], replay.times[0] + 32.4 * 3600
        night = [t for t in rest if t < ends]
        hour = [t for t in rest if ends <= t < ends + 3600]
        day = [t for t in rest if t >= ends + 3600]
        replay.parts = [night, hour, day] if in_time else [night, day, hour]
        told.append(replay.run(None))
    compare_runs(tally, "order", *told, replay.times[-1])


def parse():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--build", type=Path, default=ROOT / "build", help="holds bin/setwelld and the others")
    parser.add_argument("--rooms", type=Path,
                        default=Path(os.environ.get("SETWELL_ROOMS") or ROOT.parent / "shared" / "climate"))
    parser.add_argument("--quick", action="store_true", help="a few days of each room")
    parser.add_argument("--kills", type=int, default=0, help="kill the daemon so often on the way")
    parser.add_argument("--stretch", type=float, default=6.0, help="hours published at a time")
    parser.add_argument("--json", action="store_true", help="the last line is one JSON object")
    return parser.parse_args()


def main():
    options = parse()
    rooms = ["room-a-10min", "room-g-5min"]
    absent = [str(options.rooms / f"{r}.csv") for r in rooms if not (options.rooms / f"{r}.csv").exists()]
    if not shutil.which("mosquitto"):
        os.environ["PATH"] += os.pathsep + "/usr/sbin"
        absent += [] if shutil.which("mosquitto") else ["mosquitto"]
    if absent:
        print(f"skipped: {', '.join(absent)} not here")
        return 77
    tally = Tally()
    Replay(options, "room-a-10min", 600, days=2 if options.quick else 14).run(tally)
    Replay(options, "room-g-5min", 300, days=3 if options.quick else None).run(tally)
    if not options.quick:  # the same room with four hours of the sixth night unheard
        Replay(options, "room-g-5min", 300, days=10, hole=(126 * 3600, 130 * 3600)).run(tally)
    if not options.quick:
        for name in sorted(MILESTONES):
            tally.check(name in tally.reached, f"no coat reached {name}")
    compare_batch(tally, options)
    if not options.quick:
        compare_order(tally, options)
    if options.kills:
        compare_kills(tally, options)
    if options.json:
        print(json.dumps({"comparisons": tally.comparisons, "failed": tally.failed}))
    else:
        print(f"{tally.comparisons} comparisons, {tally.failed} failed")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
