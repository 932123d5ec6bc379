"""Specific conductance at 25 °C of four charge-balanced waters, by PHREEQC.

    python phreeqc_conductance.py > phreeqc_conductance.csv

phreeqpython 1.6.2 with phreeqc.dat; concentrations in mmol/L, alkalinity in mEq/L,
conductance in µS/cm.
"""

from phreeqpython import PhreeqPython

WATERS = {
    "soft": (0.20, 0.10, 0.30, 0.03, 0.28, 0.10, 0.45, 7.6),
    "hard": (2.75, 0.75, 0.60, 0.10, 1.00, 0.50, 5.70, 7.3),
    "gypsum": (7.00, 1.50, 1.00, 0.10, 1.50, 6.30, 4.00, 7.2),
    "soda": (0.50, 0.25, 6.00, 0.10, 1.50, 0.40, 5.30, 8.0),
}

pp = PhreeqPython(database="phreeqc.dat")
print("water,Ca,Mg,Na,K,Cl,SO4,alkalinity,uS/cm")
for name, (ca, mg, na, k, cl, so4, alk, ph) in WATERS.items():
    solution = pp.add_solution({
        "units": "mmol/kgw", "pH": ph, "temp": 25, "Ca": ca, "Mg": mg, "Na": na, "K": k,
        "Cl": cl, "S(6)": so4, "Alkalinity": alk,
    })
    print(f"{name},{ca},{mg},{na},{k},{cl},{so4},{alk},{solution.sc:.1f}")
