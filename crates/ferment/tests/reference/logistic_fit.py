"""Logistic curves of three free numbers through pilot batches, by scipy.

Writes logistic_fit.csv beside this file: batch, hour up to which is read, original
extract (mean of the first six readings), end and its standard deviation, rms [degP].
The data is tests/data/pilot_fermentations.csv (E. Lwele 2025).
"""

import csv
import pathlib

import numpy as np
import scipy.optimize

HERE = pathlib.Path(__file__).parent
UNTIL = {"B14": 142, "B15": 123, "B17": 124, "B20": 127, "B23": 166, "B26": 129, "B29": 120}


def main():
    with open(HERE.parent / "data" / "pilot_fermentations.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    with open(HERE / "logistic_fit.csv", "w", newline="") as out:
        out.write("batch,until_h,start,end,end_sd,rms\n")
        for batch, until in UNTIL.items():
            own = [(float(r["hours"]), float(r["plato"])) for r in rows if r["batch"] == batch]
            start = np.mean([p for _, p in own[:6]])
            t, p = np.array([(h, x) for h, x in own if h < until]).T

            def off(z):
                return z[0] + (start - z[0]) / (1 + np.exp(np.exp(z[1]) * (t - z[2]))) - p

            fit = scipy.optimize.least_squares(off, [p.min(), np.log(0.1), 50.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
            squares = float(fit.fun @ fit.fun)
            covariance = np.linalg.inv(fit.jac.T @ fit.jac) * squares / (len(t) - 3)
            sd, rms = covariance[0, 0] ** 0.5, (squares / len(t)) ** 0.5
            out.write(f"{batch},{until},{start:.9f},{fit.x[0]:.6f},{sd:.6f},{rms:.6f}\n")


main()
