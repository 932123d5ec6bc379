"""Times SciPy's LSODA on the course model of one batch, neutral ale in 12 °P, over a course
that turns: all twelve states, written anew from data/kinetics.toml in plain Python. Argument:
a JSON object with sugars [g/L] (simple, maltose, maltotriose), cells pitched [10⁶/mL], oxygen
[mg/L], free amino nitrogen [mg/L], tolerance [g/L of ethanol], lag [h], pH of wort and beer,
the lower working temperature [°C], knots ([h, °C]), times [h] and relative tolerances.

Prints a line for each tolerance: the seconds of one course, the shortest of some, and its worst
errors in the extract left [g/L], diacetyl [mg/L] and active cells [10⁶/mL]. Then a line for
each time with those three and a nought, of a solution at 1e-12 started afresh at each turn."""

import json
import sys
import time
import tomllib
from math import exp, expm1, log
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

DATA = tomllib.loads((Path(__file__).parents[2] / "data" / "kinetics.toml").read_text())
C = DATA["common"]
K = next(row for row in DATA["class"] if row["name"] == "neutral ale")
B = json.loads(sys.argv[1])
KNOTS = np.array(B["knots"]).T.copy()
TIMES = np.array(B["times"])
TOTAL = sum(B["sugars"])
FED = B["fan"] / C["nitrogen_per_cells"]
CEILING = min(B["pitched"] * C["sterols_other_fold"] + B["oxygen"] * C["cells_per_oxygen"],
              1.5 * B["pitched"] + max(FED - 0.5 * B["pitched"], 0.0))
REFERENCE_C = K["reference_c"]
LOW, BEST, HIGH = K["cardinal_c"]
ENERGY_K = C["acetolactate_energy_kj_per_mol"] / 8.314462618e-3
BY_PH = log(C["acetolactate_ph_factor"]) / 0.3
COLD_C = B["working_low"] - C["cold_margin_k"]


def cardinal(temp, low):
    if not low < temp < HIGH:
        return 0.0
    inner = (BEST - low) * (temp - BEST) - (BEST - HIGH) * (BEST + low - 2 * temp)
    return (temp - HIGH) * (temp - low) ** 2 / ((BEST - low) * inner)


LOW_OF_UPTAKE = LOW - C["uptake_min_shift_k"]
GROWTH = K["growth_per_h"] / cardinal(REFERENCE_C, LOW)
UPTAKE = K["uptake_g_per_l_h"] / cardinal(REFERENCE_C, LOW_OF_UPTAKE)


def rhs(t, x):
    ready, active, ever, g, m, n, _, _, _, ala, diacetyl, aldehyde = x
    temp = np.interp(t, *KNOTS)
    grow = cardinal(temp, LOW) / cardinal(REFERENCE_C, LOW)
    heat = exp(min((temp - HIGH) / C["heat_death_width_k"], 5.0))
    death = heat * C["heat_death_per_h"] + C["death_per_h"]
    cold = 1 / (1 + exp((temp - COLD_C) / C["cold_width_k"]))
    esters = exp(C["ester_slope_per_k"] * (temp - REFERENCE_C))
    fusels = C["fusel_q10"] ** ((temp - REFERENCE_C) / 10)
    decaying = C["acetolactate_decay_per_h"] * exp(ENERGY_K * (1 / 293.15 - 1 / (temp + 273.15)))
    active = active * active / (active + 1e-4) if active > 0 else 0.0
    sugar = g + m + n
    gone = 1 - sugar / TOTAL
    ethanol = gone * TOTAL / 2.0665 / B["tolerance"]
    vigour = active / (1 + ethanol ** C["tolerance_steepness"]) / (1 + exp(-ready))
    fed = vigour * cardinal(temp, LOW_OF_UPTAKE) * UPTAKE
    r_g = fed * g / (g + C["half_simple_g_per_l"]) * C["simple_ratio"]
    past = fed * C["repress_by_simple_g_per_l"] / (g + C["repress_by_simple_g_per_l"])
    r_m = past * m / (m + C["half_maltose_g_per_l"])
    r_n = (past * C["repress_by_maltose_g_per_l"] / (m + C["repress_by_maltose_g_per_l"])
           * n / (n + C["half_maltotriose_g_per_l"]) * C["maltotriose_ratio"])
    uptake = r_g + r_m + r_n
    growth = (vigour * sugar / (sugar + C["half_growth_g_per_l"]) * (1 - ever / CEILING)
              * grow * K["growth_per_h"])
    stirred = 1 / (1 + uptake / C["stir_g_per_l_h"])
    clumping = active * active / (active + C["crowd_millions_per_ml"])
    settling = clumping * (gone ** 3 * stirred + cold) * K["settling_per_h"]
    early = (1 - gone) * uptake * 2 / TOTAL
    ph = B["beer_ph"] + (B["wort_ph"] - B["beer_ph"]) * exp(-C["ph_fall"] * gone)
    decay = ala * decaying * exp((ph - 4.3) * BY_PH)
    reducing = active * C["reduction_q10"] ** ((temp - 20) / 10)
    return (grow * C["readiness_per_h"], growth - settling - active * death, growth,
            -r_g, -r_m, -r_n, 0.0, early * esters, early * fusels,
            growth * C["acetolactate_mg_per_cells"] * K["diacetyl"] - decay,
            decay - diacetyl * reducing * C["diacetyl_reduction"],
            uptake * C["acetaldehyde_mg_per_g"] - aldehyde * reducing * C["acetaldehyde_reduction"])


def start():
    work = C["readiness_per_h"] * B["lag"]
    return (-log(expm1(work)), B["pitched"], B["pitched"], *B["sugars"], *6 * (0.0,))


def course(rtol, atol, stretches):
    x, out = start(), []
    for low, high in stretches:
        wanted = TIMES[(TIMES > low) & (TIMES <= high)]
        found = solve_ivp(rhs, (low, high), x, "LSODA", t_eval=np.union1d(wanted, high),
                          rtol=rtol, atol=atol)
        x = found.y[:, -1]
        out.append(found.y[:, :len(wanted)])
    return np.concatenate(out, axis=1)


def three(y):
    return np.array([y[3:6].sum(0), y[10], y[1]])


turns = [h for h, _ in B["knots"] if 0 < h < TIMES[-1]]
edges = [0.0, *turns, TIMES[-1]]
exact = three(course(1e-12, 1e-13, list(zip(edges, edges[1:]))))
for rtol in B["tolerances"]:
    shortest = np.inf
    for _ in range(9):
        began = time.perf_counter()
        found = course(rtol, rtol, [(0.0, TIMES[-1])])
        shortest = min(shortest, time.perf_counter() - began)
    worst = np.abs(three(found) - exact).max(axis=1)
    print(shortest, *worst)
for row in exact.T:
    print(*row, 0)
