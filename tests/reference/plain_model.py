"""The model of one clock, of a silence and of learning once more, for the vectors in own/.

Written from the description of the model alone, sharing no code with the daemon, and deliberately plain: fine
grids and short steps where the daemon has closed forms. Temperatures are degrees Celsius, moments seconds,
stated times hours, energies kJ/mol.
"""

import math
from bisect import bisect_left, bisect_right

GAS = 8.314462618e-3
STEP = 5.0
HOUR, DAY = 3600, 86400


def inverse(celsius):
    return 1.0 / (GAS * (celsius + 273.15))


# ---- how long a milestone takes ----

def ln_time(rows, priors, celsius):
    """(ln low, ln expected, ln high, spread to shorter, to longer) of the hours.

    `priors`: colder and warmer as (mean, spread, wander, skew), and bend."""
    known = [(inverse(c), math.log(low), (math.log(low) + math.log(high)) / 2, math.log(high))
             for c, low, high in rows]
    x, bend = inverse(celsius), priors["bend"]
    for cold, warm in zip(known, known[1:]):
        if warm[0] <= x <= cold[0]:
            f = (cold[0] - x) / (cold[0] - warm[0])
            middle = [a + f * (b - a) for a, b in zip(cold[1:], warm[1:])]
            spread = math.sqrt(bend**2 * f * (1 - f) * (cold[0] - warm[0]))
            return (*middle, spread, spread)
    colder = x > known[0][0]
    mean, spread, wander, skew = priors["colder" if colder else "warmer"]
    end = known[0] if colder else known[-1]
    if len(known) > 1:
        other = known[1] if colder else known[-2]
        chord = (other[2] - end[2]) / (other[0] - end[0])
        of_prior, of_chord = spread**-2, abs(other[0] - end[0]) / bend**2
        mean = (of_prior * mean + of_chord * chord) / (of_prior + of_chord)
        wander = bend
    away = x - end[0]
    off = math.sqrt((spread * away) ** 2 + wander**2 * abs(away))
    return end[1] + mean * away, end[2] + mean * away, end[3] + mean * away, off / skew, off * skew


LIKELY = 0.9057032851805387  # where Student's t with six degrees of freedom has 0.8 below it


class Curve:
    """Rates of slow, expected and fast, 1/h, rising with warmth, on a grid of 0.01 K and every row; then, on the
    expected clock's air, those of the sheet's own upper value and of a chance of 0.8."""

    AIR = (0, 1, 2, 1, 1)  # which of the three airs each runs in

    def __init__(self, rows, priors, k, scatter, slow_floor=None, expected_floor=None):
        self.floors = (slow_floor, expected_floor, None, expected_floor, expected_floor)
        grid = sorted({round(-40 + 0.01 * i, 2) for i in range(10001)} | {row[0] for row in rows})
        if slow_floor is not None:
            grid = sorted(set(grid) | {slow_floor})
        warmest = rows[-1][0]
        slow, expected, fast, upper, likely = [], [], [], [], []
        for c in grid:
            low, middle, high, shorter, longer = ln_time(rows, priors, c)
            capped = ln_time(rows, priors, min(c, warmest))
            dead = slow_floor is not None and c < slow_floor
            slow.append(0.0 if dead else math.exp(-capped[2] - k * math.hypot(capped[4], scatter)))
            expected.append(math.exp(-middle))
            fast.append(math.exp(-low + k * math.hypot(shorter, scatter)))
            upper.append(math.exp(-high))
            likely.append(math.exp(-middle - LIKELY * math.hypot(longer, scatter)))
        for i in range(1, len(grid)):
            for rising in (slow, expected, upper, likely):
                rising[i] = max(rising[i], rising[i - 1])
        for i in reversed(range(len(grid) - 1)):
            fast[i] = min(fast[i], fast[i + 1])
        self.grid, self.columns = grid, (slow, expected, fast, upper, likely)

    def __call__(self, side, celsius):
        floor = self.floors[side]
        if floor is not None and celsius < floor:
            return 0.0
        column = self.columns[side]
        i = min(max(bisect_right(self.grid, celsius), 1), len(self.grid) - 1)
        a, b = self.grid[i - 1], self.grid[i]
        return column[i - 1] + (column[i] - column[i - 1]) * (celsius - a) / (b - a)


# ---- the air ----

def envelope(before, after, start, end, until, per_root_hour, widen_long, error=0.0):
    """(least, middle, most) over [start, end), all in one UTC hour, of a silence from before[-1] until `until`."""
    last = before[-1][0]
    widen = per_root_hour * math.sqrt(min(until - last, DAY) / HOUR)
    times = [t for t, _ in before]
    near = [v for t, v in before if t >= last - 2 * HOUR] + ([after[1]] if after else [])
    hour = start // HOUR * HOUR
    same, back = [], 1
    while hour - back * DAY > last // HOUR * HOUR:
        back += 1
    for day in range(back, back + 7):
        first = bisect_left(times, hour - day * DAY)
        same += [v for t, v in before[first:] if t < hour - day * DAY + HOUR]
    seen = near + same
    least, most = min(seen) - max(widen, error), max(seen) + max(widen, error)
    if end - last > DAY:
        long = near + [v for t, v in before if t >= last - 14 * DAY]
        least = min(least, min(long) - max(widen_long, error))
        most = max(most, max(long) + max(widen_long, error))
    edges = [before[-1][1]] + ([after[1]] if after else [])
    middle = sum(same) / len(same) if same else sum(edges) / len(edges)
    return least, min(max(middle, least), most), most


class Air:
    def __init__(self, readings, error, silent_after, per_root_hour, widen_long):
        self.readings, self.error = readings, error
        self.times = [t for t, _ in readings]
        self.silent_after, self.rule = silent_after, (per_root_hour, widen_long)
        self.memo = {}

    def at(self, moment):
        i = min(max(bisect_right(self.times, moment), 1), len(self.times) - 1)
        (ta, a), (tb, b) = self.readings[i - 1], self.readings[i]
        if tb - ta > self.silent_after:
            hour = moment // HOUR
            if (i, hour) not in self.memo:
                end = min((hour + 1) * HOUR, tb)
                self.memo[i, hour] = envelope(self.readings[:i], (tb, b), max(hour * HOUR, ta), end, tb, *self.rule,
                                              self.error)
            return self.memo[i, hour]
        value = a + (b - a) * (moment - ta) / (tb - ta)
        return value - self.error, value, value + self.error


def crossings(air, curves, tau, coated, entry_error, factors=None):
    """For each curve the moments at which slow, expected and fast reach 1, then those of the sheet's own upper
    value and of a chance of 0.8; None beyond the record. `factors(moment, air, surface)` are what humidity makes
    of the rates of slow, expected and fast."""
    starts = (coated + entry_error, coated, coated - entry_error)
    surface = list(air.at(coated - entry_error))
    tracks = range(len(Curve.AIR))
    reached = [[None for _ in tracks] for _ in curves]
    progress = [[0.0 for _ in tracks] for _ in curves]
    moment = coated - entry_error
    while moment + STEP <= air.times[-1]:
        now = air.at(moment + STEP / 2)
        lags = (tau / 2 if now[0] < surface[0] else 2 * tau, tau, tau / 2 if now[2] > surface[2] else 2 * tau)
        after = [a + (s - a) * math.exp(-STEP / lag) for s, a, lag in zip(surface, now, lags)]
        middle = [(s + a) / 2 for s, a in zip(surface, after)]
        damp = factors(moment + STEP / 2, now, middle) if factors else (1.0, 1.0, 1.0)
        for c, curve in enumerate(curves):
            for track in tracks:
                side = Curve.AIR[track]
                if reached[c][track] is not None or moment + STEP <= starts[side]:
                    continue
                share = min(1.0, (moment + STEP - starts[side]) / STEP)
                gain = curve(track, middle[side]) * damp[side] * share * STEP / HOUR
                if progress[c][track] + gain >= 1:
                    reached[c][track] = moment + STEP * (1 - share * (1 - (1 - progress[c][track]) / gain))
                progress[c][track] += gain
        surface, moment = after, moment + STEP
        if all(at is not None for clock in reached for at in clock):
            break
    return reached


# ---- learning ----

def phi(z):
    return 0.5 * math.erfc(-z / math.sqrt(2))


class Belief:
    """A density of ln M on a fine grid."""

    STEP = 0.005

    def __init__(self, spread=0.25):
        half = round(7 * spread / self.STEP)
        self.nodes = [i * self.STEP for i in range(-half, half + 1)]
        self.density = [math.exp(-0.5 * (m / spread) ** 2) for m in self.nodes]
        self.evidence = 0.0
        self._normalise()
        self.evidence = 0.0

    def _normalise(self):
        total = sum(self.density) * self.STEP
        self.evidence += math.log(total)
        self.density = [d / total for d in self.density]

    def drift(self, variance):
        if variance <= 0:
            return
        reach = math.ceil(5 * math.sqrt(variance) / self.STEP)
        kernel = [math.exp(-0.5 * (k * self.STEP) ** 2 / variance) for k in range(-reach, reach + 1)]
        count, before = len(self.density), self.density
        self.density = [sum(before[j] * kernel[i - j + reach]
                            for j in range(max(0, i - reach), min(count, i + reach + 1))) for i in range(count)]
        evidence = self.evidence
        self._normalise()
        self.evidence = evidence

    def see(self, low, high, sigma):
        def likelihood(mu):
            above = 1.0 if high is None else phi((math.log(high) - mu) / sigma)
            below = 0.0 if low is None else phi((math.log(low) - mu) / sigma)
            return 0.98 * (above - below) + 0.02
        self.density = [d * likelihood(m) for d, m in zip(self.density, self.nodes)]
        self._normalise()

    def moments(self):
        mean = sum(m * d for m, d in zip(self.nodes, self.density)) * self.STEP
        return mean, sum((m - mean) ** 2 * d for m, d in zip(self.nodes, self.density)) * self.STEP


def lesson(coats, scatter, when, lot):
    """`coats`: piece, tested, lot, tests of (reached, ratio, doubt, curve)."""
    coats = [{**c, "tests": [t for t in c["tests"] if t[2] <= 0.35]} for c in coats if c["tested"] < when]
    coats = sorted((c for c in coats if c["tests"]), key=lambda c: (c["tested"], c["piece"]))
    tests = [t for c in coats for t in c["tests"]]
    found = {"pieces": len({c["piece"] for c in coats}), "tests": len(tests),
             "sooner": sum(1 for t in tests if t[0] and t[1] < 1),
             "later": sum(1 for t in tests if not t[0] and t[1] > 1)}
    curve = math.sqrt(sum(t[3] ** 2 for t in tests) / len(tests))

    def between(a, b, lot_a, lot_b):
        return 0.05**2 * ((b - a) / (182 * DAY) + (1 if lot_a and lot_b and lot_a != lot_b else 0))

    grid = []
    for i in range(-4, 5):
        belief, last, last_lot, pending = Belief(), coats[0]["tested"], "", 0.0
        sigma = scatter * 2 ** (i / 2)
        for coat in coats:
            pending += between(last, coat["tested"], last_lot, coat["lot"])
            last, last_lot = coat["tested"], coat["lot"] or last_lot
            lows = [t for t in coat["tests"] if not t[0]]
            highs = [t for t in coat["tests"] if t[0]]
            low = max(lows, key=lambda t: t[1]) if lows else None
            high = min(highs, key=lambda t: t[1]) if highs else None

            def width(*tests):
                return math.sqrt(sigma**2 + max(t[2] ** 2 + t[3] ** 2 + 0.05**2 for t in tests))
            belief.drift(pending)
            pending = 0.0
            if low and high and low[1] < high[1]:
                belief.see(low[1], high[1], width(low, high))
            else:
                if low:
                    belief.see(low[1], None, width(low))
                if high:
                    belief.see(None, high[1], width(high))
        mean, variance = belief.moments()
        off = i * math.log(2) / 2
        grid.append((belief.evidence - 0.5 * (off / 0.5) ** 2, off, mean, variance))
    most = max(g[0] for g in grid)
    weights = [math.exp(g[0] - most) for g in grid]
    total = sum(weights)
    mean = sum(w * g[2] for w, g in zip(weights, grid)) / total
    square = sum(w * (g[3] + g[2] ** 2) for w, g in zip(weights, grid)) / total
    spread = math.sqrt(square - mean**2 + between(last, when, last_lot, lot))
    sigma = scatter * math.exp(sum(w * g[1] for w, g in zip(weights, grid)) / total)
    pieces = found["pieces"]
    own = max(sigma, 0.5 * scatter) if pieces >= 20 else max(sigma, scatter)
    found.update(mean_ln=mean, spread_ln=spread, scatter_ln=sigma, delays=pieces >= 3, closes=pieces >= 5,
                 replaces=pieces >= 20)
    found["acting_scatter_ln"] = math.sqrt(own**2 + spread**2 + curve**2) if pieces >= 3 else None
    found["closing_mean_ln"] = 0.7 * mean if pieces >= 5 else None
    found["closing_scatter_ln"] = math.sqrt(own**2 + 0.49 * (spread**2 + curve**2)) if pieces >= 5 else None
    return found
