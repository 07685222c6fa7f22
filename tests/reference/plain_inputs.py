"""Sheets and recorded rooms as the one-minute integrator reads them, sharing no code with the daemon.

Temperatures are degrees Celsius, moments seconds since 1970 (UTC), stated times hours.
"""

import csv
import datetime
import math
import re
import tomllib
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from pathlib import Path

SENSOR_K, PLACEMENT_K, SENSOR_PCT = 0.5, 0.5, 5.0
SILENT_AFTER = 15 * 60.0


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


# ---- the air ----

def clamp(value, least, most):
    return max(least, min(most, value))



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

    def _hours(self, values, last, hour):
        """What the same hour (UTC) of the seven days before has shown; days without a record do not count."""
        found = []
        first = max(1, math.ceil((hour - self.times[last]) / 86400))
        for day in range(first, first + 7):
            a = bisect_left(self.times, hour - 86400 * day, 0, last + 1)
            b = bisect_left(self.times, hour - 86400 * day + 3600, 0, last + 1)
            found += values[a:b]
        return found

    def _silence(self, values, last, at, error, per_root_hour, widen_long):
        """The envelope of the hour that `at` lies in, which holds the sensor's error already."""
        hour = int(at // 3600) * 3600
        key = (id(values), last, hour)
        if key in self._memo:
            return self._memo[key]
        before = bisect_left(self.times, self.times[last] - 7200)
        same = self._hours(values, last, hour)
        near = values[before:last + 1] + values[last + 1:last + 2]
        lasted = self.times[last + 1] - self.times[last] if last + 1 < len(self.times) else 86400
        widen = max(error, per_root_hour * math.sqrt(min(lasted, 86400) / 3600))
        least, most = min(near + same) - widen, max(near + same) + widen
        if hour + 3600 - self.times[last] > 86400:
            long = near + values[bisect_left(self.times, self.times[last] - 14 * 86400):last + 1]
            least = min(least, min(long) - max(error, widen_long))
            most = max(most, max(long) + max(error, widen_long))
        edges = [values[last]] + values[last + 1:last + 2]
        middle = sum(same) / len(same) if same else sum(edges) / len(edges)
        self._memo[key] = least, middle, most
        return self._memo[key]

    def at(self, moment_s):
        """((least, middle, most) air, the same of humidity)."""
        i = min(max(bisect_right(self.times, moment_s) - 1, 0), len(self.times) - 2)
        a, b = self.times[i], self.times[i + 1]
        if b - a > SILENT_AFTER and a < moment_s < b:
            low, middle, high = self._silence(self.humidity, i, moment_s, SENSOR_PCT, 2.65, 8.0)
            return (self._silence(self.air, i, moment_s, SENSOR_K + PLACEMENT_K, 1.0, 3.0),
                    (clamp(low, 0, 100), middle, clamp(high, 0, 100)))
        share = clamp((moment_s - a) / (b - a), 0, 1)
        air = self.air[i] + share * (self.air[i + 1] - self.air[i])
        rh = self.humidity[i] + share * (self.humidity[i + 1] - self.humidity[i])
        error = SENSOR_K + PLACEMENT_K
        return ((air - error, air, air + error),
                (clamp(rh - SENSOR_PCT, 0, 100), rh, clamp(rh + SENSOR_PCT, 0, 100)))
