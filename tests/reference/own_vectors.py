#!/usr/bin/env python3
"""Makes the vectors in own/ by the second implementation (plain_model.py), in the form that setwell_reference reads.

    own_vectors.py            every stored vector must be what the second implementation gives (exit 1 if not)
    own_vectors.py --write    writes them anew
"""

import argparse
import json
import math
import random
import sys
from pathlib import Path
from types import SimpleNamespace

import one_minute
import plain_model as model
import plain_pot

OWN = Path(__file__).parent / "own"
PRIORS = {"colder": [47.0, 13.0, 1.5, 1.2], "warmer": [41.0, 11.0, 1.4, 0.9], "bend": 1.3}
SHEETS = {
    "three": [[10, 16, 16], [20, 8, 8], [30, 4, 4]],
    "ranges": [[8, 20, 26], [15, 11, 14], [23, 6, 8]],
    "bent": [[5, 30, 30], [12, 13, 13], [20, 9, 9], [35, 2.5, 2.5]],
    "one": [[20, 4, 6]],
}


def rounded(value):
    if isinstance(value, float):
        return float(f"{value:.12g}")
    if isinstance(value, (list, tuple)):
        return [rounded(v) for v in value]
    return {k: rounded(v) for k, v in value.items()} if isinstance(value, dict) else value


def spread_vectors():
    out = []
    for name, rows in SHEETS.items():
        for bend in (1.3, 0.8):
            priors = {**PRIORS, "bend": bend}
            at = [-3, 2, 5, 8, 10, 12, 14.5, 15, 17, 20, 22.2, 23, 27, 30, 33, 41]
            found = [model.ln_time(rows, priors, c) for c in at]
            out.append({"id": f"spread-{name}-{bend}", "inputs": {"rows_C_h": rows, "priors": priors, "t_C": at},
                        "expected": {key: [f[i] for f in found] for i, key in
                                     enumerate(("ln_low", "ln_expected", "ln_high", "shorter_ln", "longer_ln"))},
                        "rel_tol": 1e-10, "abs_tol": 1e-9})
    return out


def swing(seed, days_before, hours_after, mean, amplitude, every=1200, drop=None, heater_off=None):
    """Readings from `days_before` days before 0 on; `drop`: (from, to) unheard; `heater_off`: likewise colder."""
    rng = random.Random(seed)
    out, drift = [], 0.0
    for t in range(-days_before * model.DAY, hours_after * model.HOUR + 1, every):
        drift = 0.97 * drift + rng.uniform(-0.2, 0.2)
        value = mean + amplitude * math.sin(2 * math.pi * t / model.DAY + 0.7) + drift
        if heater_off and heater_off[0] <= t < heater_off[1]:
            value -= 6
        if not drop or not drop[0] < t < drop[1]:
            out.append([t, round(value, 2)])
    return out


def composition(name, rows, readings, **more):
    inputs = {"rows_C_h": rows, "priors": PRIORS, "k": 3.1, "scatter_ln": 0.1, "readings_s_C": readings,
              "error_K": 0.5, "silent_after_s": 1500, "widen_K_per_root_h": 1.0, "widen_long_K": 3.0, "tau_s": 400,
              "coated_s": 0, "entry_error_s": 300, "slow_floor_C": None, "expected_floor_C": None, **more}
    air = model.Air(readings, inputs["error_K"], inputs["silent_after_s"], inputs["widen_K_per_root_h"],
                    inputs["widen_long_K"])
    curve = model.Curve(rows, PRIORS, inputs["k"], inputs["scatter_ln"], inputs["slow_floor_C"],
                        inputs["expected_floor_C"])
    at = model.crossings(air, [curve], inputs["tau_s"], inputs["coated_s"], inputs["entry_error_s"],
                         damp_of(inputs))[0]
    slow, expected, fast, upper, likely = at
    return {"id": f"whole-{name}", "inputs": inputs,
            "expected": {"slow_s": slow, "expected_s": expected, "fast_s": fast, "upper_s": upper,
                         "likely_s": likely,
                         "test_from_s": None if None in (upper, likely) else max(upper, likely)}, "abs_tol": 30}


def damp_of(inputs):
    """What humidity makes of the rates, at a moment; nothing where it does not matter."""
    if "humidity_s_pct" not in inputs:
        return None
    humidity = model.Air(inputs["humidity_s_pct"], 5.0, inputs["silent_after_s"], 2.65, 8.0)
    sheet = SimpleNamespace(family=inputs["family"], reference_rh=inputs["reference_rh_pct"])

    def factors(moment, air, surface):
        within = [min(100.0, max(0.0, h)) for h in humidity.at(moment)]
        return one_minute.humidity_factors(sheet, air, surface, within)
    return factors


def damp(readings, seed, mean, amplitude):
    """Humidity read together with the air: damper by night, with a slow drift."""
    rng, out, drift = random.Random(seed), [], 0.0
    for t, _ in readings:
        drift = 0.97 * drift + rng.uniform(-1, 1)
        out.append([t, round(mean - amplitude * math.sin(2 * math.pi * t / model.DAY + 0.7) + drift, 1)])
    return out


def damp_composition(name, family, rows, readings, seed, mean, amplitude, **more):
    return composition(name, rows, readings, family=family, reference_rh_pct=50,
                       humidity_s_pct=damp(readings, seed, mean, amplitude), **more)


def composition_vectors():
    hour = model.HOUR
    return [
        composition("swing", SHEETS["three"], swing(1, 1, 60, 19, 4)),
        composition("silence", SHEETS["three"], swing(2, 8, 60, 19, 3, drop=(3 * hour, 9 * hour))),
        composition("floor", SHEETS["three"], swing(3, 1, 90, 14, 5), slow_floor_C=12.0, expected_floor_C=12.0),
        composition("one-row-late-entry", SHEETS["one"], swing(4, 1, 40, 16, 4), tau_s=3600, entry_error_s=1800),
        composition("all", SHEETS["ranges"],
                    swing(5, 8, 110, 15, 4, drop=(5 * hour, 12 * hour), heater_off=(6 * hour, 11 * hour)),
                    error_K=1.0, tau_s=1800, entry_error_s=900, slow_floor_C=9.5, coated_s=600),
        composition("never", SHEETS["three"], swing(6, 1, 20, 11, 2), slow_floor_C=12.0, expected_floor_C=12.0),
        damp_composition("water-borne-damp", "water-borne", SHEETS["three"], swing(7, 1, 120, 18, 3), 71, 72, 12),
        damp_composition("water-borne-dry", "water-borne", SHEETS["ranges"], swing(8, 1, 60, 21, 3), 72, 28, 6),
        damp_composition("moisture-dry", "moisture-cured-urethane", SHEETS["three"], swing(9, 1, 90, 20, 3), 73, 30,
                         6, tau_s=1500),
        damp_composition("moisture-damp-silence", "moisture-cured-urethane", SHEETS["ranges"],
                         swing(10, 8, 60, 18, 3, drop=(3 * hour, 8 * hour)), 74, 70, 9, error_K=1.0,
                         entry_error_s=900),
    ]


def window_vectors():
    out = []
    tables = {"wide": ([[20, 1, 1]], [[20, 5, 5]], [[20, 20, 20]], [[20, 90, 90]]),
              "early-crosses": ([[20, 2, 2]], [[20, 3, 3]], [[20, 20, 20]], [[20, 90, 90]]),
              "late-crosses": ([[20, 1, 1]], [[20, 5, 5]], [[20, 20, 20]], [[20, 28, 28]]),
              "both-cross": ([[10, 5, 5], [20, 3, 3]], [[10, 8, 9], [20, 4, 4]], [[10, 30, 40], [20, 20, 20]],
                             [[10, 50, 60], [20, 24, 26]])}
    for i, (name, (opens, begins, ends, closes)) in enumerate(tables.items()):
        readings = swing(20 + i, 1, 240, 18, 3)
        inputs = {"opens_C_h": opens, "gap_begins_C_h": begins, "gap_ends_C_h": ends, "closes_C_h": closes,
                  "priors": PRIORS, "k": 3.1, "scatter_ln": 0.1, "readings_s_C": readings, "error_K": 0.5,
                  "silent_after_s": 1500, "tau_s": 400, "coated_s": 0, "entry_error_s": 300, "floor_C": 5.0}
        air = model.Air(readings, 0.5, 1500, 2, 3)
        curves = [model.Curve(rows, PRIORS, 3.1, 0.1, 5.0, 5.0) for rows in (opens, begins, ends, closes)]
        at = model.crossings(air, curves, 400, 0, 300)
        early, late = (at[0][0], at[1][2]), (at[2][0], at[3][2])
        out.append({"id": f"windows-{name}", "inputs": inputs,
                    "expected": {"early_s": list(early), "early_sure": early[0] < early[1], "late_s": list(late),
                                 "late_sure": late[0] < late[1]}, "abs_tol": 60})
    return out


def pot_vectors():
    out = []
    three = [[10, 1.8, 2.2], [20, 0.9, 1.1], [30, 0.5, 0.5]]
    flat = [[15, 0.8, 0.8], [25, 0.7, 0.7], [32, 0.25, 0.3]]
    cases = [("at-test-mass", [[23, 0.5, 0.5]], 100, 100, "cup", None, 18, 2),
             ("heavy", [[23, 1.5, 1.5]], 100, 400, "cup", None, 21, 3),
             ("heaviest", [[20, 5, 6]], 200, 2500, "cup", None, 24, 3),
             ("warm-resin", [[23, 0.6, 0.7]], 100, 150, "cup", 29.0, 16, 4),
             ("little", [[23, 0.6, 0.7]], 100, 40, "cup", None, 25, 2),
             ("tray", [[23, 0.6, 0.7]], 100, 800, "tray", None, 22, 3),
             ("three-rows-between", three, 100, 100, "cup", None, 17, 4),
             ("three-rows-colder", three, 100, 250, "cup", None, 7, 2),
             ("three-rows-warmer", three, 100, 700, "cup", None, 34, 2),
             ("three-rows-resin-falls-behind", three, 100, 120, "cup", 21.0, 22, 6),
             ("flat-then-steep-between", flat, 100, 200, "cup", None, 28, 5),
             ("flat-then-steep-colder", flat, 100, 200, "cup", None, 12, 2),
             ("three-rows-tray", three, 100, 1500, "tray", None, 26, 6)]
    for i, (name, rows, test, mass, pot, resin, mean, amplitude) in enumerate(cases):
        readings = swing(40 + i, 1, 60, mean, amplitude, every=600)
        air = model.Air(readings, 0.5, 1500, 2, 3)
        over, told = plain_pot.pot_life(rows, test, mass, pot == "tray", resin, air, 0, 120, one_minute.BEND, 3.1)
        out.append({"id": f"pot-{name}",
                    "inputs": {"rows_C_h": rows, "test_mass_g": test, "mass_g": mass, "pot": pot, "resin_C": resin,
                               "readings_s_C": readings, "error_K": 0.5, "mixed_s": 0, "entry_error_s": 120},
                    "expected": {"slow_s": over[0], "expected_s": over[1], "fast_s": over[2], "told_s": told},
                    "abs_tol": 30})
    return out


def drying_vectors():
    out, rng = [], random.Random(60)
    for i in range(40):
        family = ("water-borne", "moisture-cured-urethane")[i % 2]
        air = rng.uniform(6, 32)
        surface = air + rng.uniform(-6, 1)
        rh = rng.uniform(5, 99)
        inputs = {"family": family, "reference_rh_pct": rng.choice([50, 60, 65]),
                  "surface_C": [surface - rng.uniform(0, 2), surface, surface + rng.uniform(0, 2)],
                  "air_C": [air - 0.5, air, air + 0.5], "rh_pct": [max(0, rh - 5), rh, min(100, rh + 5)]}
        inputs = rounded(inputs)
        sheet = SimpleNamespace(family=family, reference_rh=inputs["reference_rh_pct"])
        found = one_minute.humidity_factors(sheet, inputs["air_C"], inputs["surface_C"], inputs["rh_pct"])
        out.append({"id": f"drying-{i:02}", "inputs": inputs,
                    "expected": dict(zip(("slow", "expected", "fast"), found)),
                    "rel_tol": 1e-9, "abs_tol": 1e-12})
    return out


def envelope_vectors():
    out, hour = [], model.HOUR
    cases = [("week", 9, 3, 6, True), ("young", 1, 3, 6, True), ("open", 9, 3, 40, False), ("long", 20, 3, 50, True),
             ("first-hour", 0, 1, 2, True)]
    for i, (name, days, start, length, closed) in enumerate(cases):
        readings = swing(80 + i, days, start + length, 17, 4)
        before = [r for r in readings if r[0] <= start * hour]
        after = readings[-1] if closed else None
        hours, found = [], []
        for h in range(start, start + length):
            hours.append([h * hour, (h + 1) * hour])
            found.append(model.envelope(before, after, h * hour, (h + 1) * hour, (start + length) * hour, 0.9, 2.6))
        out.append({"id": f"silence-{name}",
                    "inputs": {"before_s_C": before, "after_s_C": after, "hours_s": hours, "widen_K_per_root_h": 0.9,
                               "widen_long_K": 2.6},
                    "expected": {key: [f[j] for f in found] for j, key in enumerate(("least_C", "middle_C", "most_C"))},
                    "abs_tol": 1e-9})
    return out


def learning_vectors():
    out = []
    for i, (count, factor, scatter) in enumerate([(2, 0.9, 0.05), (3, 1.2, 0.05), (4, 0.8, 0.1), (5, 0.8, 0.1),
                                                  (8, 0.9, 0.3), (19, 1.0, 0.03), (20, 1.0, 0.03), (26, 0.85, 0.08)]):
        rng = random.Random(100 + i)
        coats = []
        for c in range(count):
            ln = math.log(factor) + rng.gauss(0, scatter)
            tests = []
            for t in range(rng.choice((1, 2, 2, 3))):
                ratio = math.exp(ln + rng.uniform(-0.35, 0.35))
                tests.append([math.log(ratio) + rng.gauss(0, 0.05) > ln, ratio, rng.uniform(0.02, 0.12),
                              rng.uniform(0, 0.08)])
            if c == 1:
                tests.append([False, 5.0, 0.05, 0.0])  # contradicts everything
            if c == 0:
                tests.append([True, 0.1, 0.6, 0.0])  # at an age hardly known
            coats.append({"piece": c + 1, "tested": int(c * 6.5 * model.DAY), "lot": ("A", "B", "")[c // 5 % 3],
                          "tests": tests})
        when = int(count * 6.5 * model.DAY + 20 * model.DAY)
        inputs = rounded({"coats": coats, "scatter_ln": 0.1, "when_s": when, "lot": "C" if i % 2 else "A"})
        out.append({"id": f"learning-{count}", "inputs": inputs,
                    "expected": model.lesson(inputs["coats"], 0.1, when, inputs["lot"]), "abs_tol": 2e-3})
    return out


KINDS = {"time_spread": spread_vectors, "whole_clock": composition_vectors, "two_windows": window_vectors,
         "pot_life_clock": pot_vectors, "drying_bounds": drying_vectors, "silence_envelope": envelope_vectors,
         "learning": learning_vectors}


def text_of(kind, vectors):
    body = ",\n".join(json.dumps(rounded(v), separators=(", ", ": ")) for v in vectors)
    return f'{{"kind": "{kind}", "format": 1, "vectors": [\n{body}\n]}}\n'


def close(a, b):
    if isinstance(a, float) or isinstance(b, float):
        return a is not None and b is not None and abs(a - b) <= 1e-7 + 1e-9 * abs(b)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(close, a, b))
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(close(a[k], b[k]) for k in a)
    return a == b


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    OWN.mkdir(exist_ok=True)
    wrong = []
    for kind, make in KINDS.items():
        file, vectors = OWN / f"{kind}.json", make()
        if options.write:
            file.write_text(text_of(kind, vectors))
        elif not file.is_file() or not close(json.loads(file.read_text())["vectors"],
                                             json.loads(text_of(kind, vectors))["vectors"]):
            wrong.append(kind)
    for kind in wrong:
        print(f"own/{kind}.json is not what the second implementation gives; look at the difference before --write")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
