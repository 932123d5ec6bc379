"""Courses of the published models by SciPy (LSODA, rtol 1e-11), as andres_toro.csv and
gee_ramirez.csv beside this script."""

import csv
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

HERE = Path(__file__).parent


def exp_law(a, b):
    return lambda t: np.exp(a - b / (t + 273.15))


MU_X, Y_EA, MU_S = exp_law(108.31, 31934.09), exp_law(89.92, 26589), exp_law(-41.92, -11654.64)
MU_L, MU_SD, MU_E = exp_law(30.72, 9501.54), exp_law(33.82, 10033.28), exp_law(3.27, 1267.24)
MU_DT, K_S = exp_law(130.16, 38313), exp_law(-119.63, -34203.95)


def lager(temperature, s0, by_uptake=False):
    def rhs(t, x):
        latent, active, dead, sugar, ethanol, _, diacetyl = x
        c = temperature(t)
        mu_x = MU_X(c) * sugar / (0.5 * s0 + ethanol)
        mu_sd = MU_SD(c) * 0.5 * s0 / (0.5 * s0 + ethanol)
        mu_s = MU_S(c) * sugar / (K_S(c) + sugar)
        mu_e = MU_E(c) * sugar / (K_S(c) + sugar)
        return [
            -MU_L(c) * latent,
            mu_x * active - MU_DT(c) * active + MU_L(c) * latent,
            MU_DT(c) * active - mu_sd * dead,
            -mu_s * active,
            (1 - ethanol / (0.5 * s0)) * mu_e * active,
            Y_EA(c) * (mu_s if by_uptake else mu_x) * active,
            1.27672e-4 * sugar * active - 1.13864e-3 * diacetyl * ethanol,
        ]

    return rhs


def pieces(rhs, x0, knots, times):
    """From knot to knot, so that no corner lies within a step."""
    out, x, corners = {}, np.array(x0, float), sorted({0.0, *knots, *times})
    for a, b in zip(corners, corners[1:]):
        x = solve_ivp(rhs, (a, b), x, "LSODA", rtol=1e-11, atol=1e-13).y[:, -1]
        out[b] = x
    return [out[float(t)] for t in times]


START, OTHER = (1.92, 0.08, 2, 130, 0, 0, 0), (2, 0, 2, 130, 0, 0, 0)
PROFILE = ([0, 24, 120, 145, 170, 200], [11, 14, 14, 16, 16, 0])


def write(name, head, rows):
    with open(HERE / name, "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(head)
        for label, values in rows:
            out.writerow([*label, *(f"{v:.6g}" for v in values)])


def andres_toro():
    rows = []
    for celsius in range(9, 17):
        times = [6, 12, 24, 36, 48, 60, 72, 96, 120, 160, 168]
        found = pieces(lager(lambda t, c=celsius: c, 130), START, [], times)
        rows += [((celsius, t), x) for t, x in zip(times, found)]
    for name, start, by_uptake in (("profile", OTHER, False), ("profile-split", START, False),
                                   ("profile-uptake", OTHER, True)):
        times = [24, 48, 72, 96, 120, 145, 160, 200]
        rhs = lager(lambda t: np.interp(t, *PROFILE), 130, by_uptake)
        rows += [((name, t), x) for t, x in zip(times, pieces(rhs, start, PROFILE[0], times))]
    head = ["course", "hours", "latent", "active", "dead", "sugar", "ethanol", "ester", "diacetyl"]
    write("andres_toro.csv", head, rows)


def arrhenius(value, celsius):
    if isinstance(value, tuple):
        return np.exp(value[0] - value[1] / (1.987e-3 * (celsius + 273.15)))
    return value


SETS = {
    "94": dict(V=(0.01348, 0.02581, 0.09881), K=(0.7464, 40.97, 250.0), R=(5.356, 13.17),
               YA=(0.07734, 0.02172, 0.02045), KA=(0.5905, 0.07191, 0.02769),
               F=(0.1607, 0.5128, 0.3840, 0.2216), E=(7.520e-4, 1.260e-4, 2.918e-2),
               D=(6.730e-5, 1.818e-5), A=(3.889e-3, 3.914e-5)),
    "07": dict(V=((35.77, 22.6), (16.40, 11.3), (10.59, 7.16)),
               K=((-121.3, -68.6), (-19.15, -14.4), (-26.78, -19.9)),
               R=((23.33, 10.2), (55.61, 26.3)),
               YA=(0.0832, 0.0363, 0.0273), KA=((10.14, 5.95), 0.365, 0.02769),
               F=(0.203, 0.557, 0.472, 0.235), E=(9.92e-4, 1.18e-4, 2.69e-2),
               D=(1.05e-4, (86.8, 54.3)), A=(0.01, (10.4, 11.1))),
}


def flavour(name, celsius, x0):
    p = {k: [arrhenius(v, celsius) for v in vs] for k, vs in SETS[name].items()}

    def rhs(t, y):
        g, m, n, x, _, leu, ile, val, *_, vdk, aldehyde = y
        m1 = p["V"][0] * g / (p["K"][0] + g)
        m2 = p["V"][1] * m / (p["K"][1] + m) * p["R"][0] / (p["R"][0] + g)
        m3 = (p["V"][2] * n / (p["K"][2] + n) * p["R"][0] / (p["R"][0] + g)
              * p["R"][1] / (p["R"][1] + m))
        grow = (0.134 * m1 + 0.268 * m2 + 0.402 * m3) * 3.65e5 / (3.65e5 + (x - x0) ** 2) * x
        lag = 1 - np.exp(-t / 23.54)
        rl, ri, rv = (grow * lag * y_ * a / (k + a)
                      for y_, k, a in zip(p["YA"], p["KA"], (leu, ile, val)))
        took = (m1 + m2 + m3) * x
        return [-m1 * x, -m2 * x, -m3 * x, grow, (1.92 * m1 + 3.84 * m2 + 5.76 * m3) * x,
                -rl, -ri, -rv, p["F"][0] * rv, p["F"][1] * rl, p["F"][2] * ri,
                p["F"][3] * (rv + ri), p["E"][0] * took, p["E"][1] * grow,
                p["E"][2] * p["F"][1] * rl, p["D"][0] * grow - p["D"][1] * vdk * x,
                p["A"][0] * took - p["A"][1] * aldehyde * x]

    return rhs


def gee_ramirez():
    rows = []
    start = [70, 220, 40, 125, 0, 1.25, 0.6, 1.0] + [0] * 9
    for name, celsius, times in (("94", 10.5, [12, 24, 48, 96, 144, 240]),
                                 ("07", 12, [24, 72, 168]), ("07", 16, [72, 168])):
        found = pieces(flavour(name, celsius, 125), start, [], times)
        rows += [((name, celsius, t), x) for t, x in zip(times, found)]
    head = "set celsius hours G M N X E L I V IB IA MB P EA EC IAc VDK AA".split()
    write("gee_ramirez.csv", head, rows)


if __name__ == "__main__":
    andres_toro()
    gee_ramirez()
