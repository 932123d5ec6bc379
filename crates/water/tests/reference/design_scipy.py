"""Reference optima for tests/design_scipy.rs, by scipy 1.17.1.

Each case is a brewing water with doses to find: two waters, six salts, two acids
and acidulated malt for one mash, random figures, aims, limits and a grist. The
misfit is that of the true, nonlinear mash pH, solved by brentq. scipy's SLSQP and
trust-constr both minimise it; the better of the two is kept after a polish.
Molar masses are summed from the abridged standard atomic weights (IUPAC), as the
crate does: with more digits of sodium the optima would differ in the sixth. Writes
one CSV line a case on standard output.

    python design_scipy.py > design_scipy.csv

With --time N it reads such lines from standard input and solves each N times with
each method, from one start; it writes for each method its name, the seconds for all
of them, the best of N for each, and the misfits reached.
"""

import re
import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, brentq, minimize

ATOMS = {"H": 1.008, "C": 12.011, "O": 15.999, "Na": 22.990, "Mg": 24.305, "S": 32.06,
         "Cl": 35.45, "Ca": 40.078}


def mass(formula):
    """Molar mass of elements, counts and brackets."""
    formula = re.sub(r"\(([^)]*)\)(\d*)", lambda m: m[1] * int(m[2] or 1), formula)
    parts = re.findall(r"([A-Z][a-z]?)(\d*)", formula)
    return sum(ATOMS[element] * int(count or 1) for element, count in parts)


RIDGE = 1e-6
IONS = ["Ca", "Mg", "Na", "Cl", "SO4"]
MASS = {f: mass(f) for f in ["Ca", "Mg", "Na", "Cl", "SO4"]}
SALTS = [  # formula, ions, alkalinity in eq/mol
    ("CaSO4(H2O)2", {"Ca": 1, "SO4": 1}, 0),
    ("CaCl2(H2O)2", {"Ca": 1, "Cl": 2}, 0),
    ("MgSO4(H2O)7", {"Mg": 1, "SO4": 1}, 0),
    ("MgCl2(H2O)6", {"Mg": 1, "Cl": 2}, 0),
    ("NaCl", {"Na": 1, "Cl": 1}, 0),
    ("NaHCO3", {"Na": 1}, 1),
]
GYPSUM_G_PER_L = 2.55
ACIDS = [[3.86], [2.15, 7.20, 12.35]]  # lactic, phosphoric
ACID_MALT_MEQ_PER_KG = 300.0


def protons(pka, ph):
    ph = min(max(ph, 0.0), 14.0)
    exponent, forms, given = 0.0, 1.0, 0.0
    for lost, k in enumerate(pka, 1):
        exponent += ph - k
        forms += 10**exponent
        given += lost * 10**exponent
    return given / forms


# Per unit of each unknown: share, share, six salts in 0.1 g/L, two acids in
# mmol/L, acidulated malt in 1 % of the grist.
SALT_ROWS = np.zeros((6, 6))  # Ca Mg Na Cl SO4 mg/L, alkalinity mEq/L
for i, (f, ions, alk) in enumerate(SALTS):
    mmol = 0.1 * 1000.0 / mass(f)
    for ion, count in ions.items():
        SALT_ROWS[i, IONS.index(ion)] = mmol * count * MASS[ion]
    SALT_ROWS[i, 5] = mmol * alk


def case(rng):
    waters = np.column_stack([
        rng.uniform(0, 120, 2), rng.uniform(0, 25, 2), rng.uniform(0, 40, 2),
        rng.uniform(0, 80, 2), rng.uniform(0, 120, 2), rng.uniform(0, 5, 2)])
    c = {
        "waters": waters.round(2),
        "volume": round(rng.uniform(8, 40), 2),
        "malts": np.array([[rng.uniform(3, 8), rng.uniform(5.5, 5.8), rng.uniform(30, 50)],
                           [rng.uniform(0.1, 1), rng.uniform(4.6, 5.3), rng.uniform(40, 60)]]).round(3),
        "targets": np.array([rng.uniform(30, 150), rng.uniform(0, 30), rng.uniform(0, 60),
                             rng.uniform(20, 150), rng.uniform(20, 250)]).round(1),
        "tolerances": rng.uniform(2, 20, 5).round(1),
        "weights": rng.choice([0.0, 0.5, 1.0, 2.0], 5, p=[0.15, 0.15, 0.55, 0.15]),
        "ph": round(rng.uniform(5.2, 5.6), 2),
        "ph_tolerance": round(rng.uniform(0.02, 0.1), 3),
        "na_most": round(rng.uniform(15, 120), 1),
        "cl_most": round(rng.uniform(30, 200), 1),
        "malt_most": round(rng.uniform(0, 0.05), 3),
    }
    # What stands in the water already must be within the limits of one blend.
    c["na_most"] = max(c["na_most"], round(waters[:, 2].min() + 1, 1))
    c["cl_most"] = max(c["cl_most"], round(waters[:, 3].min() + 1, 1))
    return c


def mash_ph(c, ions, x):
    alk = x[:2] @ c["waters"][:, 5] + x[2:8] @ SALT_ROWS[:, 5]
    ra = alk - ions[0] * 2 / MASS["Ca"] / 3.5 - ions[1] * 2 / MASS["Mg"] / 7
    kg, di, buf = c["malts"].T
    malt = 0.01 * kg.sum() * ACID_MALT_MEQ_PER_KG * x[10]

    def deficit(ph):
        acid = c["volume"] * sum(n * protons(k, ph) for n, k in zip(x[8:10], ACIDS))
        return (kg * buf) @ (ph - di) - c["volume"] * ra + malt + acid

    return brentq(deficit, -1e4, 1e4, xtol=1e-14, rtol=1e-15)


def objective(c):
    scale = np.sqrt(c["weights"]) / c["tolerances"]

    def value(x):
        ions = x[:2] @ c["waters"][:, :5] + x[2:8] @ SALT_ROWS[:, :5]
        off = scale * (ions - c["targets"])
        ph = (mash_ph(c, ions, x) - c["ph"]) / c["ph_tolerance"]
        return off @ off + ph * ph + RIDGE * (x @ x)

    def slope(x):
        ions = x[:2] @ c["waters"][:, :5] + x[2:8] @ SALT_ROWS[:, :5]
        rows = np.vstack([c["waters"][:, :5], SALT_ROWS[:, :5], np.zeros((3, 5))])
        g = 2 * rows @ (scale**2 * (ions - c["targets"])) + 2 * RIDGE * x
        ph = mash_ph(c, ions, x)
        h = 1e-6
        kg, _, buf = c["malts"].T
        s = kg @ buf + c["volume"] * sum(
            n * (protons(k, ph + h) - protons(k, ph - h)) / (2 * h) for n, k in zip(x[8:10], ACIDS))
        alk = np.concatenate([c["waters"][:, 5], SALT_ROWS[:, 5], np.zeros(3)])
        ra = alk - rows[:, 0] * 2 / MASS["Ca"] / 3.5 - rows[:, 1] * 2 / MASS["Mg"] / 7
        meq = -c["volume"] * ra
        meq[8:10] = [c["volume"] * protons(k, ph) for k in ACIDS]
        meq[10] = 0.01 * kg.sum() * ACID_MALT_MEQ_PER_KG
        return g - 2 * (ph - c["ph"]) / c["ph_tolerance"] ** 2 * meq / s

    return value, slope


class Problem:
    """What scipy is given of a case."""

    def __init__(self, c):
        self.value, self.slope = objective(c)
        ions = np.vstack([c["waters"][:, :5], SALT_ROWS[:, :5], np.zeros((3, 5))])
        self.upper = np.full(11, np.inf)
        self.upper[2] = GYPSUM_G_PER_L / 0.1
        self.upper[10] = c["malt_most"] / 0.01
        self.bounds = Bounds(np.zeros(11), self.upper)
        self.rows = np.vstack([np.r_[1, 1, np.zeros(9)], ions[:, 2], ions[:, 3]])
        self.high = np.array([1, c["na_most"], c["cl_most"]])
        self.linear = LinearConstraint(self.rows, [1, -np.inf, -np.inf], self.high)
        self.slsqp_rows = [
            {"type": "eq", "fun": lambda x: self.rows[0] @ x - 1, "jac": lambda x: self.rows[0]},
            {"type": "ineq", "fun": lambda x: self.high[1:] - self.rows[1:] @ x,
             "jac": lambda x: -self.rows[1:]},
        ]

    def start(self, share, dose):
        return np.clip(np.r_[share, 1 - share, np.full(9, dose)], 0, self.upper)

    def by_slsqp(self, start, ftol):
        return minimize(self.value, start, jac=self.slope, method="SLSQP", bounds=self.bounds,
                        constraints=self.slsqp_rows, options={"ftol": ftol, "maxiter": 2000}).x

    def by_trust_constr(self, start):
        return minimize(self.value, start, jac=self.slope, method="trust-constr",
                        bounds=self.bounds, constraints=self.linear,
                        options={"gtol": 1e-10, "xtol": 1e-12, "barrier_tol": 1e-10,
                                 "maxiter": 3000}).x


def solve(c):
    p = Problem(c)
    best = None

    def offer(x):
        nonlocal best
        x = np.clip(x, 0, p.upper)
        miss = max(abs(p.rows[0] @ x - 1), (p.rows[1:] @ x - p.high[1:]).max(), 0)
        if miss < 1e-7 and (best is None or p.value(x) < best[0]):
            best = (p.value(x), x)

    for start in [p.start(0.5, 0.1), p.start(1.0, 1.0), p.start(0.0, 0.0)]:
        offer(p.by_slsqp(start, 1e-15))
    offer(p.by_trust_constr(best[1] if best else p.start(0.5, 0.1)))
    for _ in range(3):
        offer(p.by_slsqp(best[1], 1e-16))
    return best[0], best[1]


def numbers(c):
    parts = [c["waters"].ravel(), [c["volume"]], c["malts"].ravel(), c["targets"], c["tolerances"],
             c["weights"], [c["ph"], c["ph_tolerance"], c["na_most"], c["cl_most"], c["malt_most"]]]
    return np.concatenate([np.asarray(p, float) for p in parts])


def of_numbers(n):
    return {"waters": n[:12].reshape(2, 6), "volume": n[12], "malts": n[13:19].reshape(2, 3),
            "targets": n[19:24], "tolerances": n[24:29], "weights": n[29:34], "ph": n[34],
            "ph_tolerance": n[35], "na_most": n[36], "cl_most": n[37], "malt_most": n[38]}


def timed(runs):
    lines = [line for line in sys.stdin if line.strip()]
    problems = [Problem(of_numbers(np.array(line.split(","), float))) for line in lines]
    for name, run in [("SLSQP", lambda p: p.by_slsqp(p.start(0.5, 0.1), 1e-12)),
                      ("trust-constr", lambda p: p.by_trust_constr(p.start(0.5, 0.1)))]:
        seconds, found = 0.0, []
        for p in problems:
            best = np.inf
            for _ in range(runs):
                begin = time.perf_counter()
                x = run(p)
                best = min(best, time.perf_counter() - begin)
            seconds += best
            found.append(x)
        print(name, f"{seconds:.6f}", *(f"{p.value(x):.12g}" for p, x in zip(problems, found)))


def main():
    if "--time" in sys.argv:
        timed(int(sys.argv[-1]))
        return
    rng = np.random.default_rng(20240611)
    for _ in range(200):
        c = case(rng)
        least, _ = solve(c)
        print(",".join(f"{x:.6g}" for x in numbers(c)) + f",{least:.12g}", flush=True)


if __name__ == "__main__":
    main()
