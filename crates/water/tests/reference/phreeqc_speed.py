"""Times PHREEQC on the stored waters; the bench `speciation` runs it and asks by lines:

    together     all waters in one text: prints seconds
    one_by_one   one call a water: prints seconds
    figures      prints of each water inorganic carbon [mmol/kg], the saturation index
                 of calcite and log10 of the carbon dioxide pressure, then an empty line

Making the text is not counted.
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


def seconds(run):
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def main():
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

    def figures():
        phreeqc.run_string(whole)
        names, *values = phreeqc.get_selected_output_array()
        for row in values:
            found = dict(zip(names, row))
            print(found["C(4)(mol/kgw)"] * 1000, found["si_Calcite"], found["si_CO2(g)"])
        print(flush=True)

    for line in sys.stdin:
        match line.strip():
            case "together":
                print(seconds(lambda: phreeqc.run_string(whole)), flush=True)
            case "one_by_one":
                print(seconds(one_by_one), flush=True)
            case "figures":
                figures()
            case other:
                sys.exit(f"no such question: {other!r}")


if __name__ == "__main__":
    main()
