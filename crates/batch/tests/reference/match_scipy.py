"""The peer of the bench `matching`: scipy's SLSQP over the stream that the bench runs.

Reads middles, tolerances, the start, the most and the scale of every amount, a line each,
and what a change by a scale weighs beside a tolerance; asks for figures by writing a line of
amounts, and reads them back; writes what it found.
"""

import sys

import numpy as np
from scipy.optimize import minimize


def line():
    return np.array([float(word) for word in sys.stdin.readline().split()])


centre, tolerance, now, most, scale = line(), line(), line(), line(), line()
change = line()[0]


def tell(word, amounts):
    print(word, " ".join(repr(float(x)) for x in amounts), flush=True)


def squares(scaled):
    tell("ask", scaled * scale)
    off = float(np.sum(((line() - centre) / tolerance) ** 2))
    return off + change * float(np.sum((scaled - now / scale) ** 2))


found = minimize(
    squares,
    now / scale,
    method="SLSQP",
    bounds=[(1e-6, m / s) for m, s in zip(most, scale)],
    options={"ftol": 1e-9, "eps": 1e-3, "maxiter": 200},
)
tell("found", found.x * scale)
