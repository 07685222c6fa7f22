"""The pot-life clock of a mix once more, for the vectors in own/: from the description of the model alone, sharing
no code with the daemon. Units as in plain_model.py."""

import math

from plain_model import HOUR, inverse

COLDER = (90.0, 26.0, 15.0)  # slow, expected, fast
WARMER = (15.0, 55.0, None)  # fast: 65 where the warmest row is 45 min or less, else 95


def ln_pot_hours(side, rows, bend, k, celsius):
    """ln of the hours that slow (0), expected (1) or fast (2) has at the sheet's test mass."""
    known = [(inverse(c), (math.log(high), (math.log(low) + math.log(high)) / 2, math.log(low))[side])
             for c, low, high in rows]
    middles = [(math.log(low) + math.log(high)) / 2 for _, low, high in rows]
    x = inverse(celsius)
    for (cold, at_cold), (warm, at_warm) in zip(known, known[1:]):
        if warm < x < cold:
            f = (cold - x) / (cold - warm)
            line = at_cold + f * (at_warm - at_cold)
            strays = k * bend * math.sqrt(f * (1 - f) * (cold - warm))
            if side == 0:  # a mix lasts no longer than it would a little colder
                return min(line + strays, max(line, at_cold))
            return line if side == 1 else max(line - strays, min(line, at_warm))
    colder = x >= known[0][0]
    end, inner = (0, 1) if colder else (-1, -2)
    energy = (COLDER if colder else WARMER)[side]
    if energy is None:
        energy = 65.0 if rows[-1][1] <= 0.75 else 95.0
    if len(rows) > 1:
        chord = (middles[end] - middles[inner]) / (known[end][0] - known[inner][0])
        if side == 1:
            energy = max(0.0, chord)
        elif (side == 0) == colder:
            energy = max(energy, chord)
        else:
            energy = min(energy, max(0.0, chord))
    return known[end][1] + energy * (x - known[end][0])


def pot_life(rows, test_mass, mass, tray, resin, air, mixed, entry_error, bend, k):
    """Moments at which slow, expected and fast are used up, and at which the fast one is at 0.7."""
    hasten = min(1.0, max(0.5, (mass / test_mass) ** (-1 / 3)))
    lengthen = min(2.0, max(1.0, math.sqrt(test_mass / mass)))
    scale = (5.0, 1.0, 1.0) if tray else (lengthen, math.sqrt(hasten), hasten)
    starts = (mixed + entry_error, mixed, mixed - entry_error)
    progress, over, told = [0.0] * 3, [None] * 3, None
    moment = mixed - entry_error
    while moment + 1 <= air.times[-1] and None in over:
        now = air.at(moment + 0.5)
        for side in range(3):
            if over[side] is not None or moment + 1 <= starts[side]:
                continue
            mix = now[side] if resin is None else max(now[side], resin)
            share = min(1.0, moment + 1 - starts[side])
            gain = share / HOUR / (scale[side] * math.exp(ln_pot_hours(side, rows, bend, k, mix)))
            if side == 2 and told is None and progress[2] + gain >= 0.7:
                told = moment + 1
            progress[side] += gain
            if progress[side] >= 1:
                over[side] = moment + 1
        moment += 1
    return over, told
