"""Times an ensemble of a whole batch in SciPy: what costs most of each draw, in plain Python
over SciPy's solvers. Input: a JSON object with the middles and spreads of one batch (see
benches/ensemble.rs), how many draws to make, and the tolerances of LSODA.

A draw is a point of SciPy's scrambled Sobol' sequence turned into normal numbers: the pH of
the mash by brentq on its balance of protons, the starch of the mash, hops and dimethyl
sulfide of boil and chiller, and the twelve states of the fermentation by LSODA. Water,
volumes, heat, colour, package and glass are left out, and so is the reading of the document:
they would only take time on top.

Prints the seconds of a draw, then for the middles and as mean and standard deviation of the
draws: pH of the mash, limit of attenuation, iso-alpha-acids over alpha-acids of the first
hop, share of the sugar left at the end."""

import json
import sys
import time
import tomllib
from math import exp, expm1, log
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.stats import norm, qmc

CRATES = Path(__file__).parents[3]
B = json.loads(sys.stdin.read())
R = 8.314


def tables(crate, name):
    return tomllib.loads((CRATES / crate / "data" / name).read_text())


# The mash. Rates as crates/wort/src/mash has them, written anew.

M = tables("wort", "mash.toml")


def mash_ph(x):
    """Malts of so many mEq/pH about their own pH, lactic acid, alkalinity less hardness."""
    def deficit(ph):
        acid = B["acid_mmol"] / (1 + 10 ** (B["acid_pk"] - ph))
        malt = sum(b * (ph - p) for b, p in B["malts"])
        return malt + acid - B["base_meq"]
    return brentq(deficit, 3, 8, xtol=1e-12) + B["ph_sd"] * x


def bell(ph, best, width):
    return exp(-(((ph - best) / width) ** 2) + ((5.5 - best) / width) ** 2)


def arrhenius(row, kelvin):
    return 60 * row["factor"] * exp(-row["energy"] / (R * kelvin))


def mash_rates(celsius):
    kelvin = celsius + 273.15
    gelatinises = M["gelatinisation"]["below" if celsius < 60 else "above"]
    alpha = M["alpha_rate"]
    return (arrhenius(gelatinises, kelvin), arrhenius(M["alpha_loss"]["rate"], kelvin),
            M["beta_in_mash"]["value"] * arrhenius(M["beta_loss"]["rate"], kelvin),
            alpha["value"] * exp(-alpha["energy"] / R * (1 / kelvin - 1 / 338.15)))


def mash(ph):
    beta_works = bell(ph, 5.5, 0.9) * (B["lintner"] / 80) ** 0.25
    alpha_works = bell(ph, 5.7, 1.1) * (B["lintner"] / 80) ** 0.125
    lost = (B["l_per_kg"] / 3) ** 0.3
    by_beta, liquefies = M["beta_rate"]["value"], M["liquefaction"]["value"]
    of_starch = M["most"]["value"] - M["at_once"]["value"]

    def slopes(t, y, celsius):
        gel, alpha_loss, beta_loss, alpha = mash_rates(celsius(t))
        raw, a, b, from_beta, from_alpha, dissolved = y
        room = of_starch * (1 - raw) - from_beta - from_alpha
        return (-gel * raw, -alpha_loss * a, -lost * beta_loss * b,
                beta_works * by_beta * b * room, alpha_works * alpha * a * room,
                alpha_works * liquefies * a * (1 - raw - dissolved))

    y = [1.0, 1.0, 1.0, 0.0, 0.0, 0.0]
    for (t0, c0), (t1, c1) in zip(B["mash"], B["mash"][1:]):
        if t1 > t0:
            line = lambda t: c0 + (c1 - c0) / (t1 - t0) * (t - t0)
            y = solve_ivp(slopes, (t0, t1), y, "LSODA", args=(line,),
                          rtol=B["rtol"], atol=B["rtol"] / 100).y[:, -1]
    return M["at_once"]["value"] + y[3] + y[4]


# Boil, stand and chiller.

def boil_rates(kelvin, ph):
    heat = 131600 / 8.314462 * (1 / kelvin - 1 / 373.15)
    per_ph = log(38 / 32.5) / 0.3
    return (7.9e11 * exp(-11858 / kelvin), 4.1e12 * exp(-12994 / kelvin),
            log(2) / 38 * exp(per_ph * (ph - 5.2) - heat))


def boil(ph):
    """Two hops; then the precursor and dimethyl sulfide. The first hop's iso-alpha-acids."""
    def slopes(t, y, celsius, strips):
        k1, k2, smm = boil_rates(celsius(t) + 273.15, ph)
        return (-k1 * y[0], k1 * y[0] - k2 * y[1], -k1 * y[2], k1 * y[2] - k2 * y[3],
                -smm * y[4], smm * y[4] - strips * y[5])

    y = np.array([0.0, 0, 0, 0, 1, 0])
    hot = B["boils_c"]
    first, second = B["hops_min"]
    stretches = [(B["boil_min"] - first, None), (first - second, 0), (second, 2)]
    for minutes, hop in stretches:
        if hop is not None:
            y[hop] = 1.0
        if minutes > 0:
            y = solve_ivp(slopes, (0, minutes), y, "LSODA", args=(lambda t: hot, B["strips"]),
                          rtol=B["rtol"], atol=B["rtol"] / 100).y[:, -1]
    for towards, tau, minutes in B["cools"]:
        start = hot
        line = lambda t: towards + (start - towards) * exp(-t / tau)
        if minutes > 0:
            y = solve_ivp(slopes, (0, minutes), y, "LSODA", args=(line, 0.0),
                          rtol=B["rtol"], atol=B["rtol"] / 100).y[:, -1]
        hot = line(minutes)
    return y[1]


# The fermentation, as crates/ferment/src/kinetics has it, written anew.

F = tables("ferment", "kinetics.toml")
C = F["common"]
K = next(row for row in F["class"] if row["name"] == B["class"])
LOW, BEST, HIGH = K["cardinal_c"]
REFERENCE_C = K["reference_c"]
ENERGY_K = C["acetolactate_energy_kj_per_mol"] / 8.314462618e-3
BY_PH = log(C["acetolactate_ph_factor"]) / 0.3
COLD_C = B["working_low"] - C["cold_margin_k"]
ATOL = [1e-4, *6 * (1e-5,), 1e-6, 1e-6, 1e-7, 1e-7, 1e-6]


def cardinal(temp, low):
    if not low < temp < HIGH:
        return 0.0
    inner = (BEST - low) * (temp - BEST) - (BEST - HIGH) * (BEST + low - 2 * temp)
    return (temp - HIGH) * (temp - low) ** 2 / ((BEST - low) * inner)


LOW_OF_UPTAKE = LOW - C["uptake_min_shift_k"]
GROWTH = cardinal(REFERENCE_C, LOW)
UPTAKE = K["uptake_g_per_l_h"] / cardinal(REFERENCE_C, LOW_OF_UPTAKE)


def ferment(sugars, pitched, speed):
    """Share of the sugar left at the end."""
    total = sum(sugars)
    fold = C["sterols_dry_fold"] if B["dry"] else C["sterols_other_fold"]
    fed = B["fan"] / C["nitrogen_per_cells"]
    ceiling = min(pitched * fold + B["oxygen"] * C["cells_per_oxygen"],
                  1.5 * pitched + max(fed - 0.5 * pitched, 0.0))

    def rhs(t, x, celsius):
        ready, active, ever, g, m, n, _, _, _, ala, diacetyl, aldehyde = x
        temp = celsius(t)
        grow = cardinal(temp, LOW) / GROWTH
        heat = exp(min((temp - HIGH) / C["heat_death_width_k"], 5.0))
        death = heat * C["heat_death_per_h"] + C["death_per_h"]
        cold = 1 / (1 + exp((temp - COLD_C) / C["cold_width_k"]))
        esters = exp(C["ester_slope_per_k"] * (temp - REFERENCE_C))
        fusels = C["fusel_q10"] ** ((temp - REFERENCE_C) / 10)
        decaying = (C["acetolactate_decay_per_h"]
                    * exp(ENERGY_K * (1 / 293.15 - 1 / (temp + 273.15))))
        active = active * active / (active + 1e-4) if active > 0 else 0.0
        sugar = g + m + n
        gone = 1 - sugar / total
        ethanol = gone * total / 2.0665 / B["tolerance"]
        vigour = active * speed / (1 + ethanol ** C["tolerance_steepness"]) / (1 + exp(-ready))
        fed = vigour * cardinal(temp, LOW_OF_UPTAKE) * UPTAKE
        r_g = fed * g / (g + C["half_simple_g_per_l"]) * C["simple_ratio"]
        past = fed * C["repress_by_simple_g_per_l"] / (g + C["repress_by_simple_g_per_l"])
        r_m = past * m / (m + C["half_maltose_g_per_l"])
        r_n = (past * C["repress_by_maltose_g_per_l"] / (m + C["repress_by_maltose_g_per_l"])
               * n / (n + C["half_maltotriose_g_per_l"]) * C["maltotriose_ratio"])
        uptake = r_g + r_m + r_n
        growth = (vigour * sugar / (sugar + C["half_growth_g_per_l"]) * (1 - ever / ceiling)
                  * grow * K["growth_per_h"])
        stirred = 1 / (1 + uptake / C["stir_g_per_l_h"])
        clumping = active * active / (active + C["crowd_millions_per_ml"])
        settling = clumping * (gone ** 3 * stirred + cold) * K["settling_per_h"]
        early = (1 - gone) * uptake * 2 / total
        ph = B["beer_ph"] + (B["wort_ph"] - B["beer_ph"]) * exp(-C["ph_fall"] * gone)
        decay = ala * decaying * exp((ph - 4.3) * BY_PH)
        reducing = active * C["reduction_q10"] ** ((temp - 20) / 10)
        return (grow * C["readiness_per_h"], growth - settling - active * death, growth,
                -r_g, -r_m, -r_n, 0.0, early * esters, early * fusels,
                growth * C["acetolactate_mg_per_cells"] * K["diacetyl"] - decay,
                decay - diacetyl * reducing * C["diacetyl_reduction"],
                uptake * C["acetaldehyde_mg_per_g"]
                - aldehyde * reducing * C["acetaldehyde_reduction"])

    work = C["readiness_per_h"] * K["lag_h"] * B["later"]
    x = [-log(expm1(work)), pitched, pitched, *sugars, *6 * (0.0,)]
    for (h0, c0), (h1, c1) in zip(B["course"], B["course"][1:]):
        line = lambda t: c0 + (c1 - c0) / (h1 - h0) * (t - h0)
        x = solve_ivp(rhs, (h0, h1), x, "LSODA", args=(line,), rtol=1e-6, atol=ATOL).y[:, -1]
    return sum(x[3:6]) / total


def draw(x):
    ph = mash_ph(x[0])
    limit = mash(ph)
    iso = boil(ph)
    sugars = [s * (1 + B["sugar_sd"] * x[1]) for s in B["sugars"]]
    pitched = B["pitched"] * (1 + B["pitched_sd"] * x[2])
    left = ferment(sugars, pitched, exp(B["speed_ln_sd"] * x[3]))
    return ph, limit, iso, left


points = norm.ppf(qmc.Sobol(4, seed=1).random(B["draws"]).clip(1e-8, 1 - 1e-8))
middle = draw([0.0] * 4)
began = time.process_time()
drawn = np.array([draw(x) for x in points])
print((time.process_time() - began) / B["draws"])
print(*middle)
print(*drawn.mean(0))
print(*drawn.std(0, ddof=1))
