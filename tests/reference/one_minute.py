#!/usr/bin/env python3
"""Carries the clocks of one coat through a recorded room in steps of one minute.

This is a second opinion on the daemon's mathematics: written from the description of the model alone, sharing
no code with it, and deliberately plain. Sheets and rooms are read by plain_inputs.py, verdicts come from
plain_verdicts.py. Only the figures that are a matter of agreement are the same as the daemon's: the priors of
activation energies (read from the file they are written to), the floors of families, the widths of envelopes.

Temperatures are degrees Celsius, times seconds since 1970 (UTC), stated times hours, energies kJ/mol.
"""

import argparse
import datetime
import json
import math
import pathlib
import re
import sys
from bisect import bisect_right
from dataclasses import dataclass

from plain_inputs import PLACEMENT_K, Clock, Room, clamp, moment, read_room, read_sheet
from plain_verdicts import verdict_sequence, verdicts

GAS = 8.314462618e-3  # kJ/(mol K)
K_SPREADS = 3.1
SCATTER = 0.10
LIKELY = 0.9057032851805387  # where Student's t with six degrees of freedom has 0.8 below it
STEP = 60.0
COLDEST, WARMEST, GRID = -60.0, 120.0, 0.05
KINDS = {"flash-off-over": "drying", "tack-free": "drying", "recoat-opens": "opens", "gap-ends": "opens",
         "recoat-closes": "closes", "gap-begins": "closes"}  # the others are of hardness
FLOORS = {"epoxy": 13.0, "urethane": 10.0, "moisture-cured-urethane": 5.0, "alkyd": 10.0,
          "solvent-lacquer": 5.0, "water-borne": 10.0, "light-cured": 5.0}
TRACKS = ("slow", "expected", "fast", "upper", "likely")


# ---- how long a milestone takes ----

def inverse(temperature):
    return 1.0 / (GAS * (temperature + 273.15))


def read_priors(text):
    """{(family or None, kind, colder): (energy, spread, wander, skew)} and the bend."""
    row = re.compile(r"\{(?:kAnyFamily|Family::(\w+)), Kind::(\w+), Side::(\w+), \{([-\d., ]+)\}")
    priors = {}
    for family, kind, side, figures in row.findall(text):
        priors[family.replace("_", "-") or None, kind, side == "colder"] = tuple(map(float, figures.split(",")))
    return priors, float(re.search(r"kBend = ([\d.]+);", text).group(1))


PRIORS, BEND = read_priors(
    (pathlib.Path(__file__).parents[2] / "daemon/core/data/priors.inc").read_text(encoding="utf-8"))


def prior(family, name, colder):
    kind = KINDS.get(name, "hardness")
    return PRIORS.get((family, kind, colder)) or PRIORS[None, kind, colder]


def ln_time(clock, family, temperature):
    """(ln low, ln expected, ln high, spread to longer times, to shorter ones) of the hours at a temperature."""
    rows = [(inverse(c), math.log(low), (math.log(low) + math.log(high)) / 2, math.log(high))
            for c, low, high in clock.rows]  # x falls as it gets warmer
    x = inverse(temperature)
    for cold, warm in zip(rows, rows[1:]):
        if warm[0] <= x <= cold[0]:
            width = cold[0] - warm[0]
            f = (x - warm[0]) / width
            low, expected, high = (w + f * (c - w) for c, w in zip(cold[1:], warm[1:]))
            s = BEND * math.sqrt(f * (1 - f) * width)
            return low, expected, high, s, s
    colder = x > rows[0][0]
    end, inner = (rows[0], rows[1:2]) if colder else (rows[-1], rows[-2:-1])
    energy, spread, wander, skew = prior(family, clock.name, colder)
    if inner:
        width = abs(end[0] - inner[0][0])
        chord = (end[2] - inner[0][2]) / (end[0] - inner[0][0])
        wander = BEND
        weight_prior, weight_chord = 1 / spread**2, width / wander**2
        energy = (energy * weight_prior + chord * weight_chord) / (weight_prior + weight_chord)
    away = x - end[0]
    s = math.sqrt((spread * away) ** 2 + wander**2 * abs(away))
    return end[1] + energy * away, end[2] + energy * away, end[3] + energy * away, s * skew, s / skew


class Rates:
    """The rates of one clock, 1/h, on a grid of temperatures."""

    def __init__(self, clock, sheet):
        coldest, warmest = clock.rows[0][0], clock.rows[-1][0]
        count = round((WARMEST - COLDEST) / GRID)
        self.points = sorted({round(COLDEST + i * GRID, 6) for i in range(count + 1)} | {r[0] for r in clock.rows})
        columns = {track: [] for track in TRACKS}
        cap = math.exp(-(math.log(clock.rows[-1][2]) + K_SPREADS * SCATTER))
        for point in self.points:
            low, expected, high, later, earlier = ln_time(clock, sheet.family, point)
            later, earlier = math.hypot(later, SCATTER), math.hypot(earlier, SCATTER)
            slow = math.exp(-(high + K_SPREADS * later))
            columns["slow"].append(min(slow, cap) if point >= warmest else slow)
            columns["expected"].append(math.exp(-expected))
            columns["fast"].append(math.exp(-(low - K_SPREADS * earlier)))
            columns["upper"].append(math.exp(-high))
            columns["likely"].append(math.exp(-(expected + LIKELY * later)))
        self.columns = columns
        self._make_monotone()
        if sheet.floor is not None:
            self.slow_floor, self.expected_floor = sheet.floor, sheet.floor
        else:
            self.slow_floor, self.expected_floor = min(FLOORS[sheet.family], coldest - 0.01), None
        self.last_quarter = max(self.slow_floor, coldest - 5) if clock.name == "full-cure" else None

    def _make_monotone(self):
        """A bound that holds when colder holds when warmer, and the other way round for the fast clock."""
        for track in ("slow", "expected", "upper", "likely"):
            column = self.columns[track]
            for i in range(1, len(column)):
                column[i] = max(column[i], column[i - 1])
        fast = self.columns["fast"]
        for i in range(len(fast) - 2, -1, -1):
            fast[i] = min(fast[i], fast[i + 1])

    def __call__(self, track, temperature):
        floor = {"slow": self.slow_floor, "fast": None}.get(track, self.expected_floor)
        if floor is not None and temperature < floor:
            return 0.0
        column = self.columns[track]
        i = bisect_right(self.points, temperature)
        if i == 0 or i == len(self.points):
            return column[min(i, len(column) - 1)]
        a, b = self.points[i - 1], self.points[i]
        return column[i - 1] + (column[i] - column[i - 1]) * (temperature - a) / (b - a)


# ---- humidity and film ----

def saturation(temperature):
    """Pa over water (Sonntag 1990)."""
    t = temperature + 273.15
    return math.exp(-6096.9385 / t + 21.2409642 - 2.711193e-2 * t + 1.673952e-5 * t * t + 2.433502 * math.log(t))


def dew_point(temperature, rh):
    target = math.log(saturation(temperature) * rh / 100)
    low, high = -90.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if math.log(saturation(middle)) < target else (low, middle)
    return low


def humidity_factors(sheet, air, surface, humidity):
    """Factors of slow, expected, fast; `air`, `surface` and `humidity` are triples, the slow side first."""
    if sheet.family not in ("water-borne", "moisture-cured-urethane"):
        return 1.0, 1.0, 1.0
    least, middle, most = humidity
    ref = sheet.reference_rh / 100
    if sheet.family == "water-borne":
        # The humidity was measured where the sensor is, up to half a kelvin warmer or colder than the piece.
        def force(rh, air_c, surface_c):
            return max(0.0, (1 - rh / 100 * saturation(air_c) / saturation(surface_c)) / (1 - ref))
        slow = min(1.0, force(most, air[0] + PLACEMENT_K, surface[0]))
        fast = max(force(least, air[2] - PLACEMENT_K, surface[2]), clamp((1 - least / 100) / 0.2, 0, 1))
        expected = force(middle, air[1], surface[1])
        return min(slow, expected), expected, max(fast, expected)

    # The air's vapour beside that of the row, both as dense as at the temperature where the film takes it up.
    def ratio(rh, air_c, at):
        return rh / 100 * saturation(air_c) / (ref * saturation(at))
    dry = ratio(least, air[0] - PLACEMENT_K, max(air[0], surface[0]))
    wet = ratio(most, air[2] + PLACEMENT_K, min(air[2], surface[2]))
    expected = ratio(middle, air[1], surface[1]) ** 0.75
    return min(dry, dry**0.5, expected), expected, max(wet, wet**0.5, expected)


def film_factors(sheet, film):
    if film is None or sheet.reference_film is None or film == sheet.reference_film:
        return 1.0, 1.0, 1.0
    r = film / sheet.reference_film
    if sheet.family in ("epoxy", "urethane"):
        def share(depth, scale):
            return max(0.2, 1 / (1 + (depth / 1000 / scale) ** 2))
        # How deep a layer warms itself is only known to lie between two depths: each bound covers them all.
        ratios = [share(sheet.reference_film, d / 100) / share(film, d / 100) for d in range(270, 651)]
        return (min(ratios), ratios[-1], 1.0) if r < 1 else (1.0, 1.0, max(ratios))
    r = clamp(r, 0.25, 4)
    return (r**-2, r**-1.5, 1.0) if r > 1 else (1.0, 1 / r, r**-2)


# ---- the coat ----

def follow(surface, air, lag):
    """One step of the surface's triple towards the air's; bounds hold for any lag from half to twice."""
    def step(s, a, tau):
        return a + (s - a) * math.exp(-STEP / tau)
    return (step(surface[0], air[0], lag / 2 if air[0] < surface[0] else lag * 2),
            step(surface[1], air[1], lag),
            step(surface[2], air[2], lag / 2 if air[2] > surface[2] else lag * 2))


@dataclass
class Run:
    """Progress and moments of reaching of one clock, by track; `before` is the progress `margin` ahead of the
    end."""
    clock: Clock
    progress: dict
    at: dict
    before: dict


# Of a light-cured film only these pass with the hours.
BY_THE_WALL = ("pot-life-over", "flash-off-over", "recoat-closes", "gap-begins")
SIDE = {"slow": 0, "expected": 1, "fast": 2, "upper": 1, "likely": 1}


class Coat:
    """One coat in one room. `happened` with its `error` (s), `lag` of the piece (s), `film` in um."""

    def __init__(self, sheet, room, happened, error, lag, film=None, rates=None):
        self.sheet, self.room = sheet, room
        self.starts = {"slow": happened + error, "fast": happened - error}
        self.happened, self.lag = happened, lag
        self.film = film_factors(sheet, film)
        self.rates = rates or [Rates(clock, sheet) for clock in sheet.clocks]

    def run(self, until, margin=0.0):
        runs = [Run(c, dict.fromkeys(TRACKS, 0.0), dict.fromkeys(TRACKS), dict.fromkeys(TRACKS, 0.0))
                for c in self.sheet.clocks]
        start = self.starts["fast"]
        surface = self.room.at(start)[0]
        at = start
        while at < until:
            step = min(STEP, until - at)
            air, humidity = self.room.at(at + step / 2)
            after = follow(surface, air, self.lag)
            middle = tuple((a + b) / 2 for a, b in zip(surface, after))
            factors = humidity_factors(self.sheet, air, middle, humidity)
            for run, rates in zip(runs, self.rates):
                self._carry(run, rates, at, step, middle, factors)
            if at < until - margin <= at + step:
                for run in runs:
                    run.before = dict(run.progress)
            surface, at = after, at + step
        return runs

    def _carry(self, run, rates, at, step, surface, factors):
        if self.sheet.family == "light-cured" and run.clock.name not in BY_THE_WALL:
            return  # counts minutes under the lamp, of which nobody logged any
        for track in TRACKS:
            if run.progress[track] >= 1.0:
                continue
            share = clamp((at + step - self.starts.get(track, self.happened)) / step, 0, 1)
            side = SIDE[track]
            if share == 0 or (track == "slow" and rates.last_quarter is not None
                              and run.progress["slow"] >= 0.75 and surface[0] < rates.last_quarter):
                continue
            gain = rates(track, surface[side]) * factors[side] * self.film[side] * step * share / 3600
            if gain > 0 and run.progress[track] + gain >= 1.0:
                run.at[track] = at + step * (1 - share) + step * share * (1 - run.progress[track]) / gain
                run.progress[track] = 1.0
            else:
                run.progress[track] += gain


def shown(when):
    if when is None:
        return None
    return datetime.datetime.fromtimestamp(round(when), datetime.timezone.utc).isoformat()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("room", help="CSV with the header time,temperature_c,humidity_pct")
    parser.add_argument("sheet", help="a sheet's TOML file")
    parser.add_argument("--at", required=True, help="when the coat was made, RFC 3339")
    parser.add_argument("--error", type=float, default=60.0, help="seconds that --at may be off")
    parser.add_argument("--lag", type=float, default=6.0, help="minutes of thermal lag")
    parser.add_argument("--film", type=float, help="um")
    parser.add_argument("--end", help="RFC 3339; else the end of the room")
    options = parser.parse_args()
    room = Room(*read_room(options.room))
    sheet = read_sheet(options.sheet)
    coat = Coat(sheet, room, moment(options.at), options.error, options.lag * 60, options.film)
    runs = coat.run(moment(options.end) if options.end else room.times[-1])
    json.dump({"sheet": sheet.id,
               "milestones": [{"name": r.clock.name, "top": r.clock.top,
                               **{t: {"progress": round(r.progress[t], 6), "at": shown(r.at[t])}
                                  for t in ("slow", "expected", "fast")}} for r in runs],
               "verdicts": [{"at": shown(t), "verdict": word} for t, word in verdict_sequence(sheet, runs)]},
              sys.stdout, indent=1)
    print()


if __name__ == "__main__":
    main()
