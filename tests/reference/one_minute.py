#!/usr/bin/env python3
"""Carries the clocks of one coat through a recorded room in steps of one minute.

This is a second opinion on the daemon's mathematics: written from the description of the model alone, sharing
no code with it, and deliberately plain. Sheets and rooms are read here, too. Only the figures that are a matter
of agreement are the same as the daemon's: the priors of activation energies, the floors of families, the widths
of envelopes.

Temperatures are degrees Celsius, times seconds since 1970 (UTC), stated times hours, energies kJ/mol.
"""

import argparse
import csv
import datetime
import json
import math
import re
import sys
import tomllib
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from pathlib import Path

GAS = 8.314462618e-3  # kJ/(mol K)
K_SPREADS = 3.1
SCATTER = 0.10
SENSOR_K, PLACEMENT_K, SENSOR_PCT = 0.5, 0.5, 5.0
LIKELY = 0.9057032851805387  # where Student's t with six degrees of freedom has 0.8 below it
STEP = 60.0
SILENT_AFTER = 15 * 60.0
COLDEST, WARMEST, GRID = -60.0, 120.0, 0.05
HARD = {"sandable", "handling", "packing", "full-cure", "full-strength"}
FLOORS = {"epoxy": 13.0, "urethane": 10.0, "moisture-cured-urethane": 5.0, "alkyd": 10.0,
          "solvent-lacquer": 5.0, "water-borne": 10.0, "light-cured": 5.0}
WANDER = 1.4
TRACKS = ("slow", "expected", "fast", "upper", "likely")


# ---- sheets ----

UNITS = {"s": 1 / 3600, "min": 1 / 60, "h": 1.0, "d": 24.0}


def celsius(text):
    number, unit = re.fullmatch(r"\s*(-?[\d.]+)\s*([CF])\s*", text).groups()
    return float(number) if unit == "C" else (float(number) - 32) / 1.8


def stated_time(text):
    """(low, high) in hours; None where there is no limit."""
    if text.strip() == "no limit":
        return None
    found = re.fullmatch(r"(?:at least |at most )?([\d.]+)(?:\s*-\s*([\d.]+))?\s*(s|min|h|d)", text.strip())
    if not found:
        raise ValueError(f"no time: {text!r}")
    low, high, unit = found.groups()
    return float(low) * UNITS[unit], float(high or low) * UNITS[unit]


def table(value, reference):
    """Rows (celsius, low h, high h), the coldest first; None for a time that never comes."""
    if isinstance(value, dict):
        value = value["times"]
    if isinstance(value, str):
        value = [{"at": None, "time": value}]
    rows = []
    for row in value:
        time = stated_time(row["time"])
        if time is not None:
            rows.append((reference if row["at"] is None else celsius(row["at"]), *time))
    return sorted(rows) or None


@dataclass
class Clock:
    name: str
    top: str | None
    rows: list


@dataclass
class Sheet:
    id: str
    family: str
    reference_rh: float
    reference_film: float | None
    floor: float | None
    clocks: list
    rules: list
    application_limit: dict = field(default_factory=dict)
    cure_limit: dict = field(default_factory=dict)


def micrometres(text):
    number, unit = re.fullmatch(r"\s*([\d.]+)\s*(um|mm|mil)\s*", text).groups()
    return float(number) * {"um": 1.0, "mm": 1000.0, "mil": 25.4}[unit]


NAMES = {"flash_off": "flash-off-over", "tack_free": "tack-free", "sandable": "sandable", "handling": "handling",
         "packing": "packing", "full_cure": "full-cure", "full_strength": "full-strength"}
RULE_NAMES = {"opens": "recoat-opens", "closes": "recoat-closes", "gap_begins": "gap-begins",
              "gap_ends": "gap-ends"}


def read_sheet(path):
    text = tomllib.loads(Path(path).read_text())
    reference = text["reference"]
    at = celsius(reference["temperature"])
    clocks = [Clock(name, None, table(text["milestones"][key], at))
              for key, name in NAMES.items() if key in text["milestones"]]
    for rule in text.get("recoat", []):
        clocks += [Clock(name, rule["on_top"], table(rule[key], at))
                   for key, name in RULE_NAMES.items() if key in rule]
    cure = text.get("cure", {})
    return Sheet(text["id"], text["family"], float(reference.get("humidity", "50 %").split()[0]),
                 micrometres(reference["film"]) if "film" in reference else None,
                 celsius(cure["floor"]) if "floor" in cure else None,
                 [c for c in clocks if c.rows], text.get("recoat", []),
                 text.get("application", {}).get("limit", {}), cure.get("limit", {}))


# ---- how long a milestone takes ----

def inverse(temperature):
    return 1.0 / (GAS * (temperature + 273.15))


def prior(family, name, colder):
    if name in HARD:
        return (82.5, 22.0) if colder else (44.0, 12.0)
    return (38.0, 12.0) if family == "solvent-lacquer" else (44.0, 12.0)


def ln_time(clock, family, temperature):
    """(ln low, ln expected, ln high, spread) of the hours at a temperature."""
    rows = [(inverse(c), math.log(low), (math.log(low) + math.log(high)) / 2, math.log(high))
            for c, low, high in clock.rows]  # x falls as it gets warmer
    x = inverse(temperature)
    for cold, warm in zip(rows, rows[1:]):
        if warm[0] <= x <= cold[0]:
            width = cold[0] - warm[0]
            f = (x - warm[0]) / width
            low, expected, high = (w + f * (c - w) for c, w in zip(cold[1:], warm[1:]))
            return low, expected, high, WANDER * math.sqrt(f * (1 - f) * width)
    colder = x > rows[0][0]
    end, inner = (rows[0], rows[1:2]) if colder else (rows[-1], rows[-2:-1])
    energy, spread = prior(family, clock.name, colder)
    if inner:
        width = abs(end[0] - inner[0][0])
        chord = (end[2] - inner[0][2]) / (end[0] - inner[0][0])
        weight_prior, weight_chord = 1 / spread**2, width / WANDER**2
        energy = (energy * weight_prior + chord * weight_chord) / (weight_prior + weight_chord)
    away = x - end[0]
    s = math.sqrt((spread * away) ** 2 + WANDER**2 * abs(away))
    return end[1] + energy * away, end[2] + energy * away, end[3] + energy * away, s


class Rates:
    """The rates of one clock, 1/h, on a grid of temperatures."""

    def __init__(self, clock, sheet):
        coldest, warmest = clock.rows[0][0], clock.rows[-1][0]
        count = round((WARMEST - COLDEST) / GRID)
        self.points = sorted({round(COLDEST + i * GRID, 6) for i in range(count + 1)} | {r[0] for r in clock.rows})
        columns = {track: [] for track in TRACKS}
        cap = math.exp(-(math.log(clock.rows[-1][2]) + K_SPREADS * SCATTER))
        for point in self.points:
            low, expected, high, s = ln_time(clock, sheet.family, point)
            joined = math.hypot(s, SCATTER)
            slow = math.exp(-(high + K_SPREADS * joined))
            columns["slow"].append(min(slow, cap) if point >= warmest else slow)
            columns["expected"].append(math.exp(-expected))
            columns["fast"].append(math.exp(-(low - K_SPREADS * joined)))
            columns["upper"].append(math.exp(-high))
            columns["likely"].append(math.exp(-(expected + LIKELY * joined)))
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


def clamp(value, least, most):
    return max(least, min(most, value))


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
        return slow, clamp(force(middle, air[1], surface[1]), slow, fast), fast

    def ratio(rh, air_c, at):
        return rh / 100 * saturation(air_c) / (air_c + 273.15) / (ref * saturation(at) / (at + 273.15))
    dry = ratio(least, air[0] - PLACEMENT_K, max(air[0], surface[0]))
    wet = ratio(most, air[2] + PLACEMENT_K, min(air[2], surface[2]))
    return (min(dry, dry**0.5), ratio(middle, air[1], surface[1]) ** 0.75, max(wet, wet**0.5))


def film_factors(sheet, film):
    if film is None or sheet.reference_film is None or film == sheet.reference_film:
        return 1.0, 1.0, 1.0
    r = film / sheet.reference_film
    if sheet.family in ("epoxy", "urethane"):
        def share(depth, scale):
            return max(0.2, 1 / (1 + (depth / 1000 / scale) ** 2))
        quick = share(sheet.reference_film, 2.7) / share(film, 2.7)
        usual = share(sheet.reference_film, 6.5) / share(film, 6.5)
        return (quick, usual, 1.0) if r < 1 else (1.0, usual, quick)
    r = clamp(r, 0.25, 4)
    return (r**-2, r**-1.5, 1.0) if r > 1 else (1.0, 1 / r, r**-2)


# ---- the air ----

def moment(text):
    at = datetime.datetime.fromisoformat(text.replace("Z", "+00:00"))
    return (at if at.tzinfo else at.replace(tzinfo=datetime.timezone.utc)).timestamp()


def read_room(path):
    """Lists of times, temperatures and humidities."""
    times, air, humidity = [], [], []
    with open(path, newline="") as file:
        for row in csv.DictReader(file):
            times.append(moment(row["time"]))
            air.append(float(row["temperature_c"]))
            humidity.append(float(row["humidity_pct"]))
    return times, air, humidity


class Room:
    """The air at any moment up to the last reading, as (least, middle, most)."""

    def __init__(self, times, air, humidity):
        self.times, self.air, self.humidity = times, air, humidity
        self._memo = {}

    def _hours(self, values, last, at):
        """What the same hour (UTC) of the seven days before has shown."""
        hour = int(at // 3600) * 3600
        found = []
        for day in range(1, 8):
            a = bisect_left(self.times, hour - 86400 * day, 0, last + 1)
            b = bisect_left(self.times, hour - 86400 * day + 3600, 0, last + 1)
            found += values[a:b]
        return found

    def _silence(self, values, last, at, error, widen, widen_long):
        key = (id(values), last, int(at // 3600), at - self.times[last] > 86400)
        if key in self._memo:
            return self._memo[key]
        before = bisect_left(self.times, self.times[last] - 7200)
        same = self._hours(values, last, at)
        seen = values[before:last + 1] + values[last + 1:last + 2] + same
        if key[3]:
            seen += values[bisect_left(self.times, self.times[last] - 14 * 86400):last + 1]
            widen = widen_long
        edges = [values[last]] + values[last + 1:last + 2]
        middle = sum(same) / len(same) if same else sum(edges) / len(edges)
        self._memo[key] = min(seen) - error - widen, middle, max(seen) + error + widen
        return self._memo[key]

    def at(self, moment_s):
        """((least, middle, most) air, the same of humidity)."""
        i = min(max(bisect_right(self.times, moment_s) - 1, 0), len(self.times) - 2)
        a, b = self.times[i], self.times[i + 1]
        if b - a > SILENT_AFTER and a < moment_s < b:
            low, middle, high = self._silence(self.humidity, i, moment_s, SENSOR_PCT, 5.0, 8.0)
            return (self._silence(self.air, i, moment_s, SENSOR_K + PLACEMENT_K, 2.0, 3.0),
                    (clamp(low, 0, 100), middle, clamp(high, 0, 100)))
        share = clamp((moment_s - a) / (b - a), 0, 1)
        air = self.air[i] + share * (self.air[i + 1] - self.air[i])
        rh = self.humidity[i] + share * (self.humidity[i + 1] - self.humidity[i])
        error = SENSOR_K + PLACEMENT_K
        return ((air - error, air, air + error),
                (clamp(rh - SENSOR_PCT, 0, 100), rh, clamp(rh + SENSOR_PCT, 0, 100)))


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


# ---- verdicts ----

def rule_for(sheet):
    """The rule for a coat of the same sheet on top."""
    for top in (sheet.id, "self", sheet.family, "any"):
        for rule in sheet.rules:
            if rule["on_top"] == top:
                return rule
    return None


def moments_of(sheet, runs):
    """name -> track -> moment, of the clocks that decide about a coat of the same sheet on top."""
    rule = rule_for(sheet)
    top = rule["on_top"] if rule else None
    return {run.clock.name: run.at for run in runs if run.clock.top in (None, top)}


def verdicts(sheet, runs, now, limit_broken=False):
    """The verdicts that may stand at `now`, of a coat that nobody has touched or sanded. With a limit broken an
    open coat is anything but `recoat`."""
    rule, at = rule_for(sheet), moments_of(sheet, runs)

    def passed(name, track):
        when = at.get(name, {}).get(track)
        return when is not None and when <= now
    cured = passed("full-cure", "slow")
    open_words = {"wait", "touch-test", "sand-first", "cured"} if limit_broken else {"recoat"}
    if rule is None:
        return {"cured" if cured else "wait"}
    if rule["kind"] == "after-full-cure":
        return open_words if cured else {"wait"}
    touch = (rule.get("touch_opens", True) and passed("recoat-opens", "likely")
             and passed("recoat-opens", "upper"))
    before = {"touch-test"} if touch else {"wait"}
    if rule["kind"] == "early-gap-late":
        if passed("gap-ends", "slow"):
            return open_words
        if passed("gap-begins", "fast"):
            return {"do-not-coat"}
    elif passed("recoat-closes", "fast"):
        return {"cured"} if cured else {"sand-first"} if passed("sandable", "slow") else {"wait"}
    if "opens" not in rule or passed("recoat-opens", "slow"):
        return open_words
    return before


def verdict_sequence(sheet, runs):
    """[(moment, verdict)] as long as no limit is broken."""
    edges = sorted({t for run in runs for t in run.at.values() if t is not None})
    sequence = []
    for edge in edges:
        word = next(iter(verdicts(sheet, runs, edge)))
        if not sequence or sequence[-1][1] != word:
            sequence.append((edge, word))
    return sequence


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
