"""Plan and readings of a brew day by least squares: SciPy over the sucrose table of
ICUMSA SPS-4 (1998). The plan's own figures are those that `volumes` gives for 4.5 kg
of pilsner malt and 20 L; the test holds them first. Writes brew_day.toml.
Run with the Python that tests/reference/setup prints."""

import pathlib

import numpy as np
from scipy.optimize import least_squares

HERE = pathlib.Path(__file__).parent
S0 = [385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890]


def water(t):
    n = (999.83952 + 16.952577 * t - 7.9905127e-3 * t**2 - 46.241757e-6 * t**3
         + 105.84601e-9 * t**4 - 281.03006e-12 * t**5)
    return n / (1 + 16.887236e-3 * t)


def density(plato):
    w = plato / 100
    return (water(20) + sum(s * w ** (k + 1) for k, s in enumerate(S0))) / 1000


def plato(e, w):
    return 100 * e / (e + w)


def litres(e, w):
    return (e + w) / density(plato(e, w))


PLAN = {
    "mash_extract_kg": 3.324438562,
    "mash_water_kg": 13.678242157,
    "left_share": 0.082764398,
    "kettle_water_kg": 23.002167766,
    "losses_l": 1.92,
}
STEAM, CONVERSION = 3.0, 0.97
PRIOR = np.array([0.05, 0.5, 0.06, 0.15, 0.3])


def course(x):
    c, m, w, r, l = x
    e = c * PLAN["mash_extract_kg"] * (1 - m * PLAN["left_share"])
    full = (e, PLAN["kettle_water_kg"] * w)
    after = (e, full[1] - STEAM * r)
    v = litres(*after)
    fermenter = (plato(*after), v - l * PLAN["losses_l"])
    first = plato(c * PLAN["mash_extract_kg"], PLAN["mash_water_kg"])
    return first, full, after, fermenter


def residuals(x):
    first, full, after, _ = course(x)
    return np.concatenate([(x - 1) / PRIOR, [
        (first - 18.0) / 0.3,
        (litres(*full) - 26.0) / 0.6, (plato(*full) - 10.2) / 0.25,
        (litres(*after) - 22.0) / 0.5, (plato(*after) - 11.6) / 0.2,
    ]])


fit = least_squares(residuals, np.ones(5), jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15)
covariance = np.linalg.inv(fit.jac.T @ fit.jac)


def spread(f):
    step = 1e-5
    slope = np.array([(f(fit.x + step * d) - f(fit.x - step * d)) / (2 * step) for d in np.eye(5)])
    return float(np.sqrt(slope @ covariance @ slope))


out = dict(PLAN)
out["original_plato"] = course(fit.x)[3][0]
out["original_plato_sd"] = spread(lambda x: course(x)[3][0])
out["fermenter_l"] = course(fit.x)[3][1]
out["fermenter_l_sd"] = spread(lambda x: course(x)[3][1])
out["conversion"] = CONVERSION * fit.x[0]
out["evaporation"] = STEAM * fit.x[3]
out["evaporation_sd"] = STEAM * float(np.sqrt(covariance[3, 3]))
with open(HERE / "brew_day.toml", "w") as file:
    file.write("# Made by brew_day.py; do not edit.\n")
    for key, value in out.items():
        file.write(f"{key} = {value:.9f}\n")
