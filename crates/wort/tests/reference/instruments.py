"""Reference values for the instruments: NumPy polynomials and SciPy's brentq.

Run with the interpreter that tests/reference/setup prints; writes instruments.toml
beside this file. Densities: ICUMSA SPS-4 (1998) and OIML R 22 (1975). Beer: Balling's
masses and Tabarie's sum, solved from both gravities at once instead of step by step.
"""

import pathlib

import numpy as np
import scipy
from numpy.polynomial import polynomial as poly
from scipy.optimize import brentq, fsolve

S = [
    [385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890],
    [-46.2720, -7.1720, 1.1597, 5.1126, 17.5254],
    [59.7712, 7.2491, 12.3630, -35.4791],
    [-47.2207, -21.6977, 27.6301],
    [18.3184, 12.3081],
]
A = [998.20123, -192.9769495, 389.1238958, -1668.103923, 13522.15441, -88292.78388,
     306287.4042, -613838.1234, 747017.2998, -547846.1354, 223446.0334, -39032.85426]
B = [-2.0618513e-1, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11]
C = [
    [1.693443461530087e-1, -1.046914743455169e1, 7.196353469546523e1, -7.047478054272792e2,
     3.924090430035045e3, -1.210164659068747e4, 2.248646550400788e4, -2.605562982188164e4,
     1.852373922069467e4, -7.420201433430137e3, 1.285617841998974e3],
    [-1.193013005057010e-2, 2.517399633803461e-1, -2.170575700536993, 1.353034988843029e1,
     -5.029988758547014e1, 1.096355666577570e2, -1.422753946421155e2, 1.080435942856230e2,
     -4.414153236817392e1, 7.442971530188783],
    [-6.802995733503803e-4, 1.876837790289664e-2, -2.002561813734156e-1, 1.022992966719220,
     -2.895696483903638, 4.810060584300675, -4.672147440794683, 2.458043105903461,
     -5.411227621436812e-1],
    [4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6],
    [-2.788074354782409e-8, 1.345612883493354e-8],
]
GLASS = 25e-6
SUCROSE_INDEX = [1.33298973, 1.42770777e-3, 5.37993769e-6, 1.82268944e-8]
ETHANOL_INDEX = [1.33299, 5.648e-4, 8.57e-6]


def water(t):
    top = poly.polyval(t, [999.83952, 16.952577, -7.9905127e-3, -46.241757e-6, 105.84601e-9, -281.03006e-12])
    return top / (1 + 16.887236e-3 * t)


def sucrose(w, t):
    u = (t - 20) / 100
    return water(t) + sum(poly.polyval(w, [0, *row]) * u**i for i, row in enumerate(S))


def ethanol(p, t):
    d = t - 20
    mixed = sum(poly.polyval(p, [0, *row]) * d ** (i + 1) for i, row in enumerate(C))
    return poly.polyval(p, A) + poly.polyval(d, [0, *B]) + mixed


def plato(sg):
    return brentq(lambda p: sucrose(p / 100, 20) / water(20) - sg, -8, 40, xtol=1e-13)


def grams(density, g_per_l, t):
    """Mass fraction of the solution in water with so many grams in a litre."""
    return brentq(lambda w: w * density(w, t) - g_per_l, 0, 0.6, xtol=1e-15)


def beer_density(real, alcohol, t):
    def miss(rho):
        extract = sucrose(grams(sucrose, real / 100 * rho, t), t) / water(t)
        spirit = ethanol(grams(ethanol, alcohol / 100 * rho, t), t) / ethanol(0, t)
        return water(t) * (extract + spirit - 1) - rho
    return brentq(miss, 900, 1200, xtol=1e-11)


def alcohol_of(oe, real):
    return (oe - real) / (2.0665 - 0.010665 * oe)


def real_of(oe, sg):
    return brentq(lambda re: beer_density(re, alcohol_of(oe, re), 20) / water(20) - sg, 0, oe, xtol=1e-12)


def index(og, fg, factor):
    oe = plato(og)
    real = real_of(oe, fg)
    rho, alcohol = fg * water(20), alcohol_of(oe, real)
    extract = 100 * grams(sucrose, real / 100 * rho, 20)
    spirit = 100 * grams(ethanol, alcohol / 100 * rho, 20)
    added = factor * (poly.polyval(extract, SUCROSE_INDEX) - SUCROSE_INDEX[0])
    return SUCROSE_INDEX[0] + added + poly.polyval(spirit, ETHANOL_INDEX) - ETHANOL_INDEX[0]


def brix(n):
    return brentq(lambda b: poly.polyval(b, SUCROSE_INDEX) - n, -1, 45, xtol=1e-12)


def shown(og, fg, t, stem):
    """What a hydrometer shows in that beer."""
    oe = plato(og)
    real = real_of(oe, fg)
    rho = beer_density(real, alcohol_of(oe, real), t)
    return rho * (1 + GLASS * (t - stem)) / water(stem)


def diluted(litres, p, t, to):
    """Water [kg] and wort afterwards [L at 20 C]: three balances at once."""
    mass = litres * sucrose(p / 100, t) / 1000

    def miss(x):
        added, volume = x
        return [mass * p / 100 - (mass + added) * to / 100, (mass + added) - volume * sucrose(to / 100, 20) / 1000]

    return fsolve(miss, [1.0, litres], xtol=1e-13)


def rows():
    for og, fg, factor in [(1.048, 1.012, 1.0), (1.050, 1.010, 1.0), (1.060, 1.012, 1.04), (1.080, 1.016, 1.04)]:
        n = index(og, fg, factor)
        yield "refraction", dict(og=og, fg=fg, factor=factor, index=n, bx=brix(n))
    for og, fg, t, stem in [(1.050, 1.010, 30, 20), (1.050, 1.010, 4, 20), (1.080, 1.016, 35, 20), (1.045, 1.008, 25, 15.56)]:
        yield "hydrometer", dict(og=og, fg=fg, at_c=t, stem_c=stem, shown=shown(og, fg, t, stem))
    for litres, p, t, to in [(20, 15, 20, 11), (27, 11, 20, 12.562), (25, 12, 80, 14), (10, 20, 60, 5)]:
        added, volume = diluted(litres, p, t, to)
        yield "dilution", dict(litres=litres, plato=p, at_c=t, to_plato=to, added_kg=added, then_l=volume)


def main():
    out = [f"# Written by instruments.py with NumPy {np.__version__} and SciPy {scipy.__version__}.\n"]
    for kind, row in rows():
        out.append(f"\n[[{kind}]]\n")
        out += [f"{key} = {float(value)!r}\n" for key, value in row.items()]
    pathlib.Path(__file__).with_suffix(".toml").write_text("".join(out))


main()
