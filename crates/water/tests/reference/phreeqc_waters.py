"""Draws waters at random and lets PHREEQC speciate and treat them.

    phreeqc_waters.py --count 500 --seed 1 > phreeqc_waters.csv

Engine 3.7.3-15968 with phreeqc.dat, both as shipped in phreeqpython 1.6.2.
Nitrate, ammonium and lactate are entered as elements of their own, with the
constants of phreeqc.dat, so that they neither oxidise nor reduce each other;
brucite and portlandite have the constants of wateq4f_PWN.dat. Amounts are in
mmol per kilogram of water, alkalinity in mEq.
"""

import argparse
import csv
import math
import os
import random
import sys

import phreeqpython
from phreeqpython.viphreeqc import VIPhreeqc

ADDED = """
SOLUTION_MASTER_SPECIES
Nit Nit- 0 62.0 62.0
Amm AmmH+ 0 17.0 17.0
Lac Lac- 0 89.0 89.0
SOLUTION_SPECIES
Nit- = Nit-
    -gamma 3.0 0
AmmH+ = AmmH+
    -gamma 2.5 0
AmmH+ = Amm + H+
    -analytic 0.6322 -0.001225 -2835.76
AmmH+ + SO4-2 = AmmHSO4-
    log_k 1.11
Lac- = Lac-
Lac- + H+ = HLac
    log_k 3.858
PHASES
Brucite
    Mg(OH)2 + 2H+ = Mg+2 + 2H2O
    log_k 16.84
    delta_h -27.1 kcal
Portlandite
    Ca(OH)2 + 2H+ = Ca+2 + 2H2O
    log_k 22.8
    delta_h -31.0 kcal
END
"""

IONS = ["Ca", "Mg", "Na", "K", "Amm", "Cl", "S(6)", "Nit"]
INPUTS = ["ca", "mg", "na", "k", "nh4", "cl", "so4", "no3", "alkalinity", "ph", "t0", "t1", "log_p"]
INPUTS += ["acid", "acid_mmol", "lime_mmol", "chalk_mmol"]
ACIDS = ["HCl", "H2SO4", "H3PO4", "HLac"]

TASKS = {
    "at_ph": ["ph", "dic", "co2", "hco3", "co3", "caso4", "strength", "si_calcite", "si_gypsum", "log_p"],
    "heated": ["ph", "dic", "si_calcite", "log_p"],
    "open": ["ph", "dic", "alkalinity", "si_calcite"],
    "forming": ["ph", "alkalinity", "calcite"],
    "settled": ["ph", "alkalinity", "calcite", "gypsum", "brucite"],
    "acid": ["ph", "alkalinity", "dic", "si_calcite", "si_apatite"],
    "lime": ["ph", "alkalinity", "calcite", "brucite"],
    "chalk": ["ph", "alkalinity", "calcite"],
    "phosphate": ["ph", "alkalinity", "calcite", "apatite"],
}

COMMON = [
    ("ph", '-LA("H+")'),
    ("dic", 'TOT("C(4)")*1000'),
    ("co2", 'MOL("CO2")*1000'),
    ("hco3", 'MOL("HCO3-")*1000'),
    ("co3", 'MOL("CO3-2")*1000'),
    ("caso4", 'MOL("CaSO4")*1000'),
    ("strength", "MU"),
    ("alkalinity", "ALK*1000"),
    ("si_calcite", 'SI("Calcite")'),
    ("si_gypsum", 'SI("Gypsum")'),
    ("si_apatite", 'SI("Hydroxyapatite")'),
    ("log_p", 'SI("CO2(g)")'),
    ("calcite", 'EQUI("Calcite")*1000'),
    ("gypsum", 'EQUI("Gypsum")*1000'),
    ("brucite", 'EQUI("Brucite")*1000'),
    ("apatite", 'EQUI("Hydroxyapatite")*1000'),
]


def log_uniform(rng, low, high):
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def draw(rng):
    """A water of one of five kinds, its charges within 3 % of balance."""
    kind = rng.choice(["soft", "hard", "sulfate", "saturated", "sodic"])
    ca, mg, na = {
        "soft": ((0.02, 0.6), (0.01, 0.3), (0.05, 0.8)),
        "hard": ((1.0, 5.0), (0.1, 2.0), (0.1, 3.0)),
        "sulfate": ((2.0, 14.0), (0.5, 6.0), (0.3, 8.0)),
        "saturated": ((12.0, 22.0), (0.5, 6.0), (0.3, 8.0)),
        "sodic": ((0.05, 1.0), (0.03, 0.5), (3.0, 30.0)),
    }[kind]
    water = {
        "ca": log_uniform(rng, *ca),
        "mg": log_uniform(rng, *mg),
        "na": log_uniform(rng, *na),
        "k": log_uniform(rng, 0.01, 0.5),
        "nh4": rng.choice([0.0, 0.0, log_uniform(rng, 0.001, 0.05)]),
    }
    cations = 2 * (water["ca"] + water["mg"]) + water["na"] + water["k"] + water["nh4"]
    alkalinity = min(cations * rng.uniform(0.1, 0.98), 9.0)
    rest = (cations - alkalinity) * rng.uniform(0.97, 1.03)
    nitrate = min(rng.uniform(0.0, 0.2) * rest, 0.8)
    sulfate_share = rng.uniform(0.6, 0.95) if kind in ("sulfate", "saturated") else rng.uniform(0.05, 0.6)
    sulfate = sulfate_share * (rest - nitrate)
    water |= {
        "cl": rest - nitrate - sulfate,
        "so4": sulfate / 2,
        "no3": nitrate,
        "alkalinity": alkalinity,
        "t0": rng.choice([rng.uniform(0.0, 30.0), rng.uniform(0.0, 100.0)]),
        "t1": rng.uniform(0.0, 100.0),
        "log_p": rng.uniform(-4.0, -1.0),
        "acid": rng.choice(ACIDS),
    }
    # Hydroxide alone must not carry the alkalinity.
    neutral = 14.94 - 0.0414 * water["t0"] + 1.5e-4 * water["t0"] ** 2
    highest = min(9.6, neutral + math.log10(0.2e-3 * alkalinity))
    water["ph"] = rng.uniform(6.0, max(6.2, highest))
    protons = 2 if water["acid"] == "H2SO4" else 1
    water["acid_mmol"] = alkalinity * rng.uniform(0.0, 1.25) / protons
    water["chalk_mmol"] = rng.uniform(0.05, 3.0)
    water["lime_mmol"] = alkalinity * rng.uniform(0.0, 0.8)
    return water


def solution(water):
    values = [water[key] for key in INPUTS[:8]]
    amounts = "".join(f"    {ion} {value!r}\n" for ion, value in zip(IONS, values) if value > 0)
    return (
        f"SOLUTION 1\n    temp {water['t0']!r}\n    units mmol/kgw\n    pH {water['ph']!r}\n"
        f"{amounts}    Alkalinity {water['alkalinity']!r}\n"
    )


def blocks(water):
    """The input of every task, in the order of TASKS."""
    reaction = lambda what, mmol: f"REACTION 1\n    {what} 1\n    {mmol * 1e-3!r} moles\n"
    at = lambda t: f"REACTION_TEMPERATURE 1\n    {t!r}\n"
    phases = lambda *lines: "EQUILIBRIUM_PHASES 1\n" + "".join(f"    {line}\n" for line in lines)
    gas = f"CO2(g) {water['log_p']!r} 10"
    use = "USE solution 1\n"
    return [
        solution(water) + "END\n",
        use + at(water["t1"]) + "END\n",
        use + at(water["t1"]) + phases(gas) + "END\n",
        use + at(water["t1"]) + phases("Calcite 0 0") + "END\n",
        use + at(water["t1"]) + phases(gas, "Calcite 0 0", "Gypsum 0 0", "Brucite 0 0") + "END\n",
        use + at(water["t0"]) + reaction(water["acid"], water["acid_mmol"]) + "END\n",
        use
        + at(water["t0"])
        + reaction("Ca(OH)2", water["lime_mmol"])
        + phases("Calcite 0 0", "Brucite 0 0")
        + "END\n",
        use + at(water["t1"]) + phases(gas, f"Calcite 0 {water['chalk_mmol'] * 1e-3!r}") + "END\n",
        use
        + at(water["t1"])
        + reaction("H3PO4", water["acid_mmol"])
        + phases("Calcite 0 0", "Hydroxyapatite 0 0")
        + "END\n",
    ]


def engine():
    folder = os.path.join(os.path.dirname(phreeqpython.__file__), "database")
    phreeqc = VIPhreeqc()
    phreeqc.load_database(os.path.join(folder, "phreeqc.dat"))
    phreeqc.run_string(ADDED)
    return phreeqc


def selected():
    names = " ".join(name for name, _ in COMMON)
    values = ", ".join(value for _, value in COMMON)
    return (
        "SELECTED_OUTPUT 1\n    -reset false\n    -high_precision true\n"
        f"USER_PUNCH 1\n    -headings {names}\n    -start\n10 PUNCH {values}\n    -end\n"
        "KNOBS\n    -convergence_tolerance 1e-12\nEND\n"
    )


def figures(phreeqc, water):
    """All tasks of one water, as one row."""
    phreeqc.run_string("".join(blocks(water)))
    rows = phreeqc.get_selected_output_array()
    names, rows = rows[0], rows[1:]
    if len(rows) != len(TASKS):
        raise RuntimeError(f"{len(rows)} results for {len(TASKS)} tasks")
    found = {}
    for (task, columns), row in zip(TASKS.items(), rows):
        values = dict(zip(names, row))
        found |= {f"{task}_{column}": values[column] for column in columns}
    return found


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, required=True)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    phreeqc = engine()
    phreeqc.run_string(selected())
    columns = INPUTS + [f"{task}_{column}" for task, all_of in TASKS.items() for column in all_of]
    out = csv.DictWriter(sys.stdout, columns, lineterminator="\n")
    out.writeheader()
    skipped = 0
    for _ in range(options.count):
        water = {key: value if isinstance(value, str) else float(f"{value:.6g}") for key, value in draw(rng).items()}
        try:
            row = water | figures(phreeqc, water)
        except Exception as error:  # the engine raises a bare Exception
            skipped += 1
            print(f"PHREEQC gave no answer: {error}", file=sys.stderr)
            continue
        out.writerow({k: v if isinstance(v, str) else f"{v:.8g}" for k, v in row.items()})
    if skipped:
        print(f"{skipped} of {options.count} waters left out", file=sys.stderr)


if __name__ == "__main__":
    main()
