"""Reference values for the tests of tastings: scipy's laws and quadrature.

Writes tasting.csv beside itself: what, three arguments, the value.
Run with the interpreter that tests/reference/setup prints. With --time it writes
the shortest of five runs, in seconds, of each piece of work of benches/tasting.rs.
"""

import csv
import itertools
import math
import pathlib
import sys
import time

import numpy as np
from scipy import integrate, optimize, stats

N = stats.norm
GUESS = {
    "triangle": 1 / 3,
    "tetrad": 1 / 3,
    "3-afc": 1 / 3,
    "duo-trio": 1 / 2,
    "paired": 1 / 2,
}


def quad(f, low, high):
    return integrate.quad(f, low, high, epsabs=1e-14, epsrel=1e-13, limit=500)[0]


def right(protocol, d):
    if protocol == "triangle":
        shift, root3 = d * math.sqrt(2 / 3), math.sqrt(3)
        return 2 * quad(
            lambda z: (N.cdf(shift - z * root3) + N.cdf(-shift - z * root3)) * N.pdf(z), 0, 10
        )
    if protocol == "tetrad":
        return 1 - 2 * quad(
            lambda x: N.pdf(x) * (2 * N.cdf(x) * N.cdf(x - d) - N.cdf(x - d) ** 2), -10, 10
        )
    if protocol == "3-afc":
        return quad(lambda z: N.pdf(z - d) * N.cdf(z) ** 2, -10, d + 10)
    a, b = N.cdf(d / math.sqrt(2)), N.cdf(d / math.sqrt(6))
    return a if protocol == "paired" else 1 - a - b + 2 * a * b


def critical(n, p0, alpha):
    cut = next((x for x in range(n + 1) if stats.binom.sf(x - 1, n, p0) <= alpha), None)
    return "" if cut is None else cut


def alike(n, pc, beta):
    cuts = [x for x in range(n + 1) if stats.binom.cdf(x, n, pc) <= beta]
    return cuts[-1] if cuts else ""


def both(p0, pd, alpha, beta):
    pc = p0 + (1 - p0) * pd
    n = np.arange(1, 3001)
    cut = stats.binom.isf(alpha, n, p0).astype(int) + 1
    good = (stats.binom.cdf(cut - 1, n, pc) <= beta) & (cut <= n)
    first = int(np.argmax(good))
    return int(n[first]), int(cut[first])


def rows():
    for protocol in GUESS:
        for d in (0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0):
            yield "right", protocol, d, "", right(protocol, d)
        for share in (0.55, 0.6, 0.75, 0.9, 0.99):
            d = optimize.brentq(lambda d: right(protocol, d) - share, 0, 12, xtol=1e-14)
            yield "d", protocol, share, "", d
    for n in [*range(2, 61), *range(66, 109, 6), 300, 1000]:
        for alpha in (0.1, 0.05, 0.01, 0.001):
            yield "critical", "triangle", n, alpha, critical(n, 1 / 3, alpha)
            yield "critical", "duo-trio", n, alpha, critical(n, 1 / 2, alpha)
            yield "critical", "paired-either", n, alpha, critical(n, 1 / 2, alpha / 2)
    for n, pd, beta in itertools.product(range(18, 109, 6), (0.2, 0.3, 0.4), (0.05, 0.1)):
        for protocol in ("triangle", "duo-trio"):
            p0 = GUESS[protocol]
            yield f"alike-{pd}", protocol, n, beta, alike(n, p0 + (1 - p0) * pd, beta)
    for pd, alpha, beta in itertools.product(
        (0.5, 0.4, 0.3, 0.2, 0.1), (0.2, 0.1, 0.05, 0.01), (0.2, 0.1, 0.05, 0.01)
    ):
        for protocol in ("triangle", "duo-trio"):
            n, cut = both(GUESS[protocol], pd, alpha, beta)
            yield f"both-n-{pd}", protocol, alpha, beta, n
            yield f"both-cut-{pd}", protocol, alpha, beta, cut
    for protocol in GUESS:
        for n, d in itertools.product((6, 12, 24, 60, 200), (0.5, 1.0, 2.0)):
            cut = critical(n, GUESS[protocol], 0.05)
            yield "power", protocol, n, d, stats.binom.sf(cut - 1, n, right(protocol, d))
    for protocol, p0 in GUESS.items():
        n = np.arange(1, 3001)
        cut = stats.binom.isf(0.05, n, p0).astype(int) + 1
        for d, wanted in itertools.product((0.75, 1.0, 1.5, 2.0, 3.0), (0.8, 0.9)):
            enough = stats.binom.sf(cut - 1, n, right(protocol, d)) >= wanted
            yield f"first-{wanted}", protocol, d, "", int(n[enough][0])
            yield f"stable-{wanted}", protocol, d, "", int(n[~enough][-1]) + 1
    for x, n in ((0, 6), (5, 6), (6, 6), (15, 20), (20, 36), (27, 60), (300, 1000)):
        yield "p", "triangle", x, n, stats.binom.sf(x - 1, n, 1 / 3)
        interval = stats.binomtest(x, n).proportion_ci(0.95, method="exact")
        yield "interval-low", "triangle", x, n, interval.low
        yield "interval-high", "triangle", x, n, interval.high
    for a, b, c, d in ((10, 20, 3, 20), (12, 15, 12, 15), (7, 8, 0, 8), (60, 100, 41, 90)):
        _, p = stats.fisher_exact([[a, b - a], [c, d - c]], alternative="greater")
        yield "fisher", f"{a} {b} {c} {d}", "", "", p
    for n, d in itertools.product((2, 5, 10, 20, 30), (0.5, 1.0, 2.0)):
        yield "one-glass-power", "a-not-a", n, d, one_glass_power(n, d)
    for d in (0.0, 0.5, 1.0, 2.0, 4.0):
        yield "one-glass-right", "a-not-a", d, "", N.cdf(d / 2)
    for name, values in SCORES.items():
        values = np.array(values, float)
        t = stats.ttest_1samp(values, 0)
        interval = t.confidence_interval(0.95)
        yield "t", name, "", "", t.statistic
        yield "t-p", name, "", "", t.pvalue
        yield "t-low", name, "", "", interval.low
        yield "t-high", name, "", "", interval.high
        yield "wilcoxon-p", name, "", "", enumerated(values)
    for n, effect in itertools.product((2, 5, 12, 34, 100), (0.0, 0.3, 0.5, 1.0, 2.0)):
        yield "t-power", "", n, effect, t_power(n, effect)


SCORES = {
    "maize": [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48],
    "shoes": [0.8, 0.6, 0.3, -0.1, 1.1, -0.2, 0.3, 0.5, 0.5, 0.3],
    "ties": [1, 1, 2, -1, 0, 3, -2, 1, 0, 2, 1],
}


def enumerated(values):
    """Both tails of Wilcoxon's signed ranks over all ways of signs."""
    values = values[np.abs(values) > 1e-12]
    ranks = stats.rankdata(np.round(np.abs(values), 9))
    above = ranks[values > 0].sum()
    sums = np.zeros(1)
    for rank in ranks:
        sums = np.concatenate([sums, sums + rank])
    low = min(above, ranks.sum() - above)
    return min(1.0, 2 * np.mean(sums <= low + 1e-9))


def one_glass_power(n, d):
    """Every table of n glasses of each beer that Fisher's exact test shows at 0.05."""
    hits, alarms = stats.binom(n, N.cdf(d / 2)), stats.binom(n, N.cdf(-d / 2))
    total = 0.0
    for h, f in itertools.product(range(n + 1), repeat=2):
        _, p = stats.fisher_exact([[h, n - h], [f, n - f]], alternative="greater")
        if p <= 0.05 * (1 + 1e-9):
            total += hits.pmf(h) * alarms.pmf(f)
    return total


def t_power(n, effect):
    cut, shift = stats.t.isf(0.025, n - 1), effect * math.sqrt(n)
    # The mean of the normal tails over the law of the deviation.
    law = stats.chi(n - 1)
    part = lambda q: (
        N.cdf(shift - cut * law.ppf(q) / math.sqrt(n - 1))
        + N.cdf(-shift - cut * law.ppf(q) / math.sqrt(n - 1))
    )
    return quad(part, 0, 1)


def sizes():
    for share in np.linspace(0.35, 0.95, 61):
        optimize.brentq(lambda d: right("triangle", d) - share, 0, 12, xtol=1e-12)


def panel():
    n = np.arange(1, 701)
    cut = stats.binom.isf(0.05, n, 1 / 3).astype(int) + 1
    power = stats.binom.sf(cut - 1, n, right("triangle", 1.0))
    assert int(n[power < 0.8][-1]) + 1 == 220


def shortest(work):
    times = []
    for _ in range(5):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main():
    if "--time" in sys.argv:
        print(shortest(sizes), shortest(panel))
        return
    path = pathlib.Path(__file__).with_suffix(".csv")
    with path.open("w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["what", "of", "first", "second", "value"])
        for *head, value in rows():
            exact = isinstance(value, (int, str))
            out.writerow([*head, value if exact else repr(float(value))])


if __name__ == "__main__":
    main()
