"""The gas and the pressure of every case of bottle_cases.toml.

Kaiser's solubility of CO2 in beer, the ideal gas over it, Balling's share of real
extract, the stoichiometry of sucrose and maltose; written here by itself. Prints for
each case the most gas [vol], the pressure of it [bar] and the pressure with two
standard deviations of what is not known [bar], to be kept in bottle_cases.toml:

    $(../../../../tests/reference/setup) bottle_cases.py
"""
import math
import pathlib
import tomllib

R, M = 0.0831446, 44.009
VOLUME = 1.9768  # g/L
MALTOSE = 4 * M / 342.297
YIELDS = {"sucrose": (0.5143, 0.5143), "dry-malt-extract": (0.29, 0.33)}
RESIDUAL_SD = 0.08 * VOLUME


def k(c):
    return 10 * math.exp(-10.73797 + 2617.25 / (c + 273.15))


def vapour(c):
    return 6.1094e-3 * math.exp(17.625 * c / (c + 243.04))


def plato(sg):
    """ASBC's cubic."""
    return -616.868 + 1111.14 * sg - 630.272 * sg**2 + 135.997 * sg**3


def reading(text):
    value, _, sd = text.partition("±")
    return float(value), float(sd or 0)


def left(case):
    """Apparent extract [degrees Plato] that may still ferment, at most."""
    if "forced" not in case:
        return case["left"]
    (g, ug), (f, uf) = reading(case["gravity"]), reading(case["forced"])
    fall = plato(g) - plato(f)
    if case["diastatic"] and case["days"] < 21 or fall < -0.3:
        return case["left"] + max(0, plato(g) - 2.5)
    u = 2 * math.hypot(ug, uf) / 0.001 * 0.256
    return fall + (u or 0.5 * 0.256)


def outcome(case):
    outside = 1.01325 * (1 - 2.25577e-5 * case["altitude_m"]) ** 5.25588
    start = k(20) * outside
    dose, high = YIELDS[case["sugar"]]
    primed = start + (case["target"] * VOLUME - start) * high / dose
    gas = primed + left(case) * 0.8192 * 10 * 1.0098 * 0.9982 * MALTOSE
    c, beer, head = case["warmest"], 0.330, case["head_ml"] / 1000
    p_gas = gas * beer / (k(c) * beer + M / (R * (c + 273.15)) * head)
    air = (outside - vapour(20)) * (c + 273.15) / 293.15
    p = p_gas + air + vapour(c) - outside
    model = 0.02 if c <= 20 else 0.04
    return gas / VOLUME, p, p + 2 * p_gas * math.hypot(model, RESIDUAL_SD / gas)


def main():
    place = pathlib.Path(__file__).with_suffix(".toml")
    for case in tomllib.loads(place.read_text())["case"]:
        gas, p, high = outcome(case)
        print(f"{case['name']}: worst_vol = {gas:.2f}, worst_bar = {p:.2f}, high_bar = {high:.2f}")


if __name__ == "__main__":
    main()
