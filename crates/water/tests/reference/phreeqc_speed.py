"""Times PHREEQC on the stored waters; run by the bench `speciation`.

Prints microseconds a water for all waters in one text, the same for one call a
water, and then inorganic carbon [mmol/kg] and the saturation index of calcite of
each water. Making the text is not counted.
"""

import csv
import os
import sys
import time

import phreeqc_waters as waters

OUTPUT = """
SELECTED_OUTPUT 1
    -reset false
    -high_precision true
    -pH true
    -totals C(4)
    -saturation_indices Calcite CO2(g)
END
"""


def fastest(rounds, count, run):
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        run()
        best = min(best, time.perf_counter() - start)
    return 1e6 * best / count


def main():
    rounds = int(sys.argv[1])
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "phreeqc_waters.csv"), encoding="utf-8") as file:
        rows = [
            {key: value if key == "acid" else float(value) for key, value in row.items()}
            for row in csv.DictReader(file)
        ]
    phreeqc = waters.engine()
    phreeqc.run_string(OUTPUT)
    texts = [waters.solution(row) + "END\n" for row in rows]
    whole = "".join(texts)

    def one_by_one():
        for text in texts:
            phreeqc.run_string(text)

    print(fastest(rounds, len(rows), lambda: phreeqc.run_string(whole)))
    print(fastest(rounds, len(rows), one_by_one))
    phreeqc.run_string(whole)
    names, *values = phreeqc.get_selected_output_array()
    for row in values:
        found = dict(zip(names, row))
        print(found["C(4)(mol/kgw)"] * 1000, found["si_Calcite"])


if __name__ == "__main__":
    main()
