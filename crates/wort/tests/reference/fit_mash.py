"""Fits the rates of the mash to limits of attenuation, and writes reference courses.

Run with the interpreter that tests/reference/setup prints. Prints the fitted rates and
what they make of the data; writes mash.csv beside this file: courses of random mashes by
SciPy's LSODA (rtol 1e-10) with the rates of data/mash.toml.
"""

import csv
import pathlib

import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import least_squares

R = 8.314
HERE = pathlib.Path(__file__).parent
IN_MASH, AT_ONCE, LIQUEFIES = 0.38, 0.11, 0.25
FITTED = (0.1177, 0.0457, 52400.0, 0.8417)

# Rests as (°C, min), the apparent limit, and how closely it is to be met.
DATA = [
    ([(65, 60)], 0.82, 0.005),
    ([(70, 60)], 0.70, 0.005),
    ([(75, 60)], 0.50, 0.005),
    ([(80, 60)], 0.30, 0.005),
    ([(62.5, 60)], 0.835, 0.01),
    ([(62, 30), (72, 30)], 0.83, 0.015),
    ([(65, 45)], 0.80, 0.01),
    ([(60, 60)], 0.82, 0.02),
    ([(63, 90)], 0.86, 0.02),
]


def arrhenius(factor, energy, kelvin):
    return 60 * factor * np.exp(-energy / (R * kelvin))


def rates(celsius, p):
    beta, alpha, energy, _ = p
    kelvin = celsius + 273.15
    gel = (5.7e31, 220600) if celsius < 60 else (3.1e14, 108300)
    return (
        arrhenius(*gel, kelvin),
        arrhenius(6.9e30, 224200, kelvin),
        IN_MASH * arrhenius(7.6e60, 410700, kelvin),
        beta,
        alpha * np.exp(-energy / R * (1 / kelvin - 1 / 338.15)),
    )


def right_hand_side(celsius, p):
    gel, alpha_loss, beta_loss, beta, alpha = rates(celsius, p)
    most = p[3]

    def rhs(_, y):
        raw, a, b, by_beta, by_alpha, dissolved = y
        room = AT_ONCE + (most - AT_ONCE) * (1 - raw) - AT_ONCE - by_beta - by_alpha
        return [
            -gel * raw,
            -alpha_loss * a,
            -beta_loss * b,
            beta * b * room,
            alpha * a * room,
            LIQUEFIES * a * (1 - raw - dissolved),
        ]

    return rhs


def course(rests, p, rtol=1e-10):
    y = [1.0, 1.0, 1.0, 0.0, 0.0, 0.0]
    for celsius, minutes in rests:
        found = solve_ivp(right_hand_side(celsius, p), (0, minutes), y, "LSODA", rtol=rtol, atol=1e-13)
        y = found.y[:, -1]
    return y


def limit(rests, p):
    y = course(rests, p, 1e-8)
    return AT_ONCE + y[3] + y[4]


def main():
    def residuals(q):
        p = (q[0], q[1], q[2] * 1e3, q[3])
        return [(limit(rests, p) - wanted) / within for rests, wanted, within in DATA]

    fit = least_squares(residuals, [0.1, 0.04, 50, 0.85], x_scale=[0.1, 0.05, 50, 0.9])
    print("scipy", scipy.__version__, "fitted", fit.x)
    for rests, wanted, _ in DATA:
        print(rests, wanted, round(limit(rests, FITTED), 4))
    seeded = np.random.default_rng(41)
    with (HERE / "mash.csv").open("w", newline="") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["c1", "min1", "c2", "min2", "raw", "alpha", "beta", "by_beta", "by_alpha", "dissolved"])
        for _ in range(60):
            rests = [(round(seeded.uniform(45, 66), 1), round(seeded.uniform(5, 60))),
                     (round(seeded.uniform(60, 78), 1), round(seeded.uniform(5, 60)))]
            y = course(rests, FITTED)
            table.writerow([*rests[0], *rests[1], *(f"{max(x, 0.0):.9f}" for x in y)])


main()
