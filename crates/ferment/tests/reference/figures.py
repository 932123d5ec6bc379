"""Figures that tests of this crate hold and no table beside this script does: decay of
acetolactate, diacetyl after growth, self-heating of a vessel, logistic curves, and of the
model of de Andrés-Toro et al. its constants, right-hand side, events and the best of a
steered course by SciPy's SLSQP.

Prints them. Run with the interpreter that tests/reference/setup prints.
"""

import math
import sys
from pathlib import Path

import numpy as np
import scipy
from scipy.integrate import quad, solve_ivp
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).parent))
from published_models import (K_S, MU_DT, MU_E, MU_L, MU_S, MU_SD, MU_X, OTHER, PROFILE, START,
                              Y_EA, lager)

print("numpy", np.__version__, "scipy", scipy.__version__)


def decay(celsius):
    """1/h at pH 4.3: 0.05 at 20 °C, 80 kJ/mol."""
    return 0.05 * math.exp(80 / 8.314462618e-3 * (1 / 293.15 - 1 / (celsius + 273.15)))


print("\ndecay of acetolactate, 1/h")
for celsius in (2, 8, 12, 16, 18, 20, 22, 60, 65):
    print(celsius, f"{decay(celsius):.4g}")

print("\nacetolactate and diacetyl from 0.30 and 0.10 mg/L")
for celsius, kr in ((18, 0.15), (20, 0.20)):
    ka = decay(celsius)
    for t in (12, 24, 48, 72):
        a = 0.30 * math.exp(-ka * t)
        d = 0.10 * math.exp(-kr * t) + 0.30 * ka / (kr - ka) * (math.exp(-ka * t) - math.exp(-kr * t))
        print(celsius, t, f"{a:.5f} {d:.5f}")

print("\n23 L of 12 °P that ends at 4.289 °P real, 0.10/h about 48 h, 8 W/(m2 K) on 0.4524 m2")
capacity = 23 * 1.0464 * 3.95  # kJ/K
total = (12 - 4.2890) / 100 * 1.0464 * 587 * 23  # kJ
tau = capacity / (8 * 0.4524 * 3.6)


def heating(t):
    s = 1 / (1 + math.exp(0.1 * (t - 48)))
    return total * 0.1 * s * (1 - s) / capacity


print(f"{total:.2f} kJ, at most {total * 0.1 / 4 / 3.6:.3f} W, {tau:.2f} h; at 5 W/(m2 K) "
      f"{tau * 8 / 5:.2f} h")
for t in (24, 36, 48, 54, 60, 72, 96, 120):
    warmer = quad(lambda s: heating(s) * math.exp(-(t - s) / tau), 0, t, points=[48] if t > 48 else None)[0]
    print(t, f"{18 + warmer:.4f}")
for original, real in ((12, 4.2890), (15, 5.6883)):
    print("all at once:", original, f"{(original - real) / 100 * 587 / 3.95:.2f} K")

print("\nlogistic curves from 12 to 2.5 °P, B 0.095/h, M 52 h")
for s in (1.0, 0.6):
    print(s, *(f"{2.5 + 9.5 / (1 + (2 ** (1 / s) - 1) * math.exp(0.095 * (t - 52))) ** s:.6f}"
               for t in (0, 24, 48, 72, 96, 120)))

print("\nconstants: growth, ester, uptake, activation, settling, ethanol, death, saturation")
for celsius in (10, 15):
    print(celsius, *(f"{law(celsius):.6g}" for law in (MU_X, Y_EA, MU_S, MU_L, MU_SD, MU_E, MU_DT, K_S)))
print("right-hand side at 13 °C:",
      *(f"{v:.10g}" for v in lager(lambda _: 13, 130)(0, (1, 3, 1, 100, 12, 0.1, 0.3))))
for celsius in (10, 12, 13, 14, 15):
    print("ethanol at no sugar,", celsius, f"{65 * (1 - math.exp(-2 * MU_E(celsius) / MU_S(celsius))):.6f}")


def grid(temperature, start, until, step_max):
    t = np.arange(0, until + 0.05, 0.1)
    x = solve_ivp(lager(temperature, 130), (0, until), start, "LSODA", t_eval=t, rtol=1e-10,
                  atol=1e-12, max_step=step_max).y
    return t, x


print("\nevents on a grid of 0.1 h: size at time")
for name, temperature, start in (("13 °C", lambda _: 13, START),
                                 ("profile", lambda t: np.interp(t, *PROFILE), OTHER)):
    t, x = grid(temperature, start, 168 if name == "13 °C" else 200, 1.0)
    yeast = x[:3].sum(axis=0)
    # The yeast falls at first; its peak is the one after.
    rising = np.argmin(yeast[:300])
    for what, y in (("yeast", yeast[rising:]), ("active", x[1]), ("diacetyl", x[6])):
        at = int(np.argmax(y)) + (rising if what == "yeast" else 0)
        print(name, what, f"{y.max():.4f} at {t[at]:.1f} h")
    peak = int(np.argmax(x[6]))
    print(name, "sugar below 1 g/L from", f"{t[np.argmax(x[3] < 1)]:.1f} h,",
          "diacetyl below 0.1 mg/L from", f"{t[peak + np.argmax(x[6][peak:] < 0.1)]:.1f} h")

print("\nmost ethanol at 120 h, six knots from 9 to 16 °C, ester 2.0, diacetyl 0.1, five starts")


def end(knots):
    at = np.linspace(0, 120, 6)
    return solve_ivp(lager(lambda t: np.interp(t, at, knots), 130), (0, 120), START, "LSODA",
                     rtol=1e-8, atol=1e-10).y[:, -1]


for first in ((12.5,) * 6, (13.5,) * 6, (11, 12, 13, 14, 14, 13), (14, 14, 13, 13, 12, 12),
              (13, 14, 14, 14, 15, 12)):
    limits = {"type": "ineq", "fun": lambda u: [1 - end(u)[5] / 2.0, 1 - end(u)[6] / 0.1]}
    found = minimize(lambda u: -end(u)[4], first, method="SLSQP", bounds=[(9, 16)] * 6,
                     constraints=limits, options=dict(maxiter=60, eps=1e-4))
    kept = min(limits["fun"](found.x)) > -1e-4
    print(f"{-found.fun:.3f} g/L", "kept" if kept else "not kept", np.round(found.x, 2))
