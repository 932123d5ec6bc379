"""Reference values for the tests of counts, starters and oxygen: scipy's quantiles and
the fits of published tables.

Prints them in the order of the tests. Run with the interpreter that
tests/reference/setup prints.
"""

import math

import numpy as np
import scipy
from scipy import stats

print("scipy", scipy.__version__)

print("\nPoisson, 95 %: chi2.ppf(0.025, 2 N) / 2 to chi2.ppf(0.975, 2 N + 2) / 2")
for n in [0, 5, 50, 100, 187, 200, 400]:
    low = stats.chi2.ppf(0.025, 2 * n) / 2 if n else 0.0
    print(n, f"{low:.4f}", f"{stats.chi2.ppf(0.975, 2 * n + 2) / 2:.4f}")

print("\nshares, 95 %: exact (Clopper-Pearson) and wilson")
for k, n in [(180, 200), (188, 200), (95, 100), (50, 50)]:
    test = stats.binomtest(k, n)
    exact, wilson = (test.proportion_ci(0.95, method=m) for m in ("exact", "wilson"))
    print(k, n, *(f"{x:.5f}" for x in (exact.low, exact.high, wilson.low, wilson.high)))

print("\n187 cells in 5 groups, 1 in 100, million/mL")
per_ml = 25 * 1e4 * 100 / 5 * 1e-6
print([f"{x * per_ml:.1f}" for x in (187, stats.chi2.ppf(0.025, 374) / 2, stats.chi2.ppf(0.975, 376) / 2)])

# White & Zainasheff 2010: 100 billion cells in V litres of 9 °P.
litres = np.array([1, 1.5, 2, 4, 8, 20])
cells = np.array([152, 181, 205, 276, 369, 600])
slope, offset = np.polyfit(np.log(100 / litres), np.log(cells / 100), 1)
print(f"\nstill starters: N/N0 = {math.exp(offset):.2f} I^{slope:.3f}, I from 5 to 100")
print("at 1 L:", f"{100 * math.exp(offset) * 100**slope:.1f}")

# Oxygen in wort of 1.077 at 24 °C: Benson & Krause 1984 and exp(-0.02028 °P).
t = 24 + 273.15
air = math.exp(
    -139.34411 + 1.575701e5 / t - 6.642308e7 / t**2 + 1.243800e10 / t**3 - 8.621949e11 / t**4
)
wort = air * math.exp(-0.02028 * 18.67)
pure = wort / 0.20946
print(f"\nsaturation with oxygen {pure:.1f} mg/L")
for minutes, reached in [(0.5, 5.12), (1, 9.20), (2, 14.08)]:
    print(minutes, "min of oxygen: k_La", f"{-math.log(1 - reached / pure) / minutes:.3f}")
start = 0.1 * wort
print("5 min of shaking from a tenth: k_La", f"{math.log((wort - start) / (wort - 2.71)) / 5:.3f}")

print("\nchance of 144 or more of 230 known to a quarter:", f"{stats.norm.cdf(math.log(230 / 144) / 0.25):.4f}")
