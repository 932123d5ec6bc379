"""Times SciPy's LSODA on the equations of a step mash and of a boil, at tolerances from
loose to tight. Arguments: points of the mash as minute,celsius; pH; degrees Lintner; L/kg;
rate of stripping; pH of the wort. Prints for each of mash and boil the values at the end of
a very tight run, and then a line a tolerance: seconds (the shortest of some runs) and the
largest error of any value."""

import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

R = 8.314
POINTS = [tuple(map(float, point.split(","))) for point in sys.argv[1].split()]
PH, LINTNER, THICKNESS, STRIPS, WORT_PH = map(float, sys.argv[2:7])
TOLERANCES = [1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9, 1e-10]


def bell(best, width):
    return np.exp(-(((PH - best) / width) ** 2) + ((5.5 - best) / width) ** 2)


BETA_WORKS = bell(5.5, 0.9) * (LINTNER / 80) ** 0.25
ALPHA_WORKS = bell(5.7, 1.1) * (LINTNER / 80) ** 0.125
PROTECTION = (THICKNESS / 3) ** 0.3


def arrhenius(factor, energy, kelvin):
    return 60 * factor * np.exp(-energy / (R * kelvin))


def mash_rates(celsius):
    kelvin = celsius + 273.15
    return (arrhenius(*((5.7e31, 220600) if celsius < 60 else (3.1e14, 108300)), kelvin),
            arrhenius(6.9e30, 224200, kelvin),
            0.38 * PROTECTION * arrhenius(7.6e60, 410700, kelvin),
            ALPHA_WORKS * 0.0457 * np.exp(-52400 / R * (1 / kelvin - 1 / 338.15)))


def mash_slopes(y, rates):
    gel, alpha_loss, beta_loss, alpha = rates
    raw, a, b, by_beta, by_alpha, dissolved = y
    room = 0.7317 * (1 - raw) - by_beta - by_alpha
    return [-gel * raw, -alpha_loss * a, -beta_loss * b, BETA_WORKS * 0.1177 * b * room,
            alpha * a * room, ALPHA_WORKS * 0.25 * a * (1 - raw - dissolved)]


def pieces():
    """Stretches of the mash, cut at 60 C, where the rate of gelatinisation has a corner."""
    for (t0, c0), (t1, c1) in zip(POINTS, POINTS[1:]):
        if t1 <= t0:
            continue
        if (c0 - 60) * (c1 - 60) < 0:
            cut = t0 + (60 - c0) / (c1 - c0) * (t1 - t0)
            yield t0, cut, c0, 60 - 1e-9 * np.sign(c1 - c0)
            yield cut, t1, 60 + 1e-9 * np.sign(c1 - c0), c1
        else:
            yield t0, t1, c0, c1


def mash(rtol):
    y = [1.0, 1.0, 1.0, 0.0, 0.0, 0.0]
    for t0, t1, c0, c1 in pieces():
        if c0 == c1:
            held = mash_rates(c0)
            rhs = lambda t, y: mash_slopes(y, held)
        else:
            slope = (c1 - c0) / (t1 - t0)
            rhs = lambda t, y: mash_slopes(y, mash_rates(c0 + slope * (t - t0)))
        y = solve_ivp(rhs, (t0, t1), y, "LSODA", rtol=rtol, atol=rtol / 100).y[:, -1]
    return np.array([0.11 + y[3] + y[4], y[5]])


STAND_END = 20 + 80 * np.exp(-10 / 150)
CHILL = 10 * np.log((STAND_END - 12) / (18 - 12))
PER_PH = np.log(38 / 32.5) / 0.3


def boil_rates(kelvin):
    k1, k2 = 7.9e11 * np.exp(-11858 / kelvin), 4.1e12 * np.exp(-12994 / kelvin)
    heat = 131600 / 8.314462 * (1 / kelvin - 1 / 373.15)
    return k1, k2, np.log(2) / 38 * np.exp(PER_PH * (WORT_PH - 5.2) - heat)


def boil_slopes(y, rates, strips):
    k1, k2, smm = rates
    return [-k1 * y[0], k1 * y[0] - k2 * y[1], -k1 * y[2], k1 * y[2] - k2 * y[3],
            -smm * y[4], smm * y[4] - strips * y[5]]


def boil(rtol):
    """Two hops, the second at 50 min; then the precursor and dimethyl sulfide."""
    y = np.array([1.0, 0, 0, 0, 1, 0])
    at_boil = boil_rates(373.15)
    stand = lambda t: 20 + 80 * np.exp(-t / 150)
    chill = lambda t: 12 + (STAND_END - 12) * np.exp(-t / 10)
    for minutes, rhs in (
        (50, lambda t, y: boil_slopes(y, at_boil, STRIPS)),
        (10, lambda t, y: boil_slopes(y, at_boil, STRIPS)),
        (10, lambda t, y: boil_slopes(y, boil_rates(stand(t) + 273.15), 0)),
        (CHILL, lambda t, y: boil_slopes(y, boil_rates(chill(t) + 273.15), 0)),
    ):
        y = solve_ivp(rhs, (0, minutes), y, "LSODA", rtol=rtol, atol=rtol / 100).y[:, -1]
        if minutes == 50:
            y[2] = 1.0
    return y


def shortest(work, rtol):
    best = float("inf")
    for _ in range(15):
        start = time.perf_counter()
        work(rtol)
        best = min(best, time.perf_counter() - start)
    return best


for name, work in (("mash", mash), ("boil", boil)):
    tight = work(1e-12)
    print(name, *(f"{x:.12f}" for x in tight))
    for rtol in TOLERANCES:
        print(shortest(work, rtol), np.max(np.abs(work(rtol) - tight)))
