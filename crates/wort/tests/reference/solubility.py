"""Alpha-acids of which 90 mg/L dissolve, an hour at 100 C: the values that
crates/wort/src/bitterness.rs checks against. Rates: Malowicki & Shellhammer 2005."""

import numpy as np
from scipy.integrate import solve_ivp

TEMPERATURE_K = 373.15
ROOM = 90.0
TO_ISO = 7.9e11 * np.exp(-11858 / TEMPERATURE_K)
TO_LOSS = 4.1e12 * np.exp(-12994 / TEMPERATURE_K)


def rates(_time, acids):
    made = TO_ISO * min(acids[0], ROOM)
    return [-made, made - TO_LOSS * acids[1]]


for start in (80, 120, 200):
    end = solve_ivp(rates, (0, 60), [start, 0], rtol=1e-10, atol=1e-10, max_step=0.1)
    print(start, *np.round(end.y[:, -1], 2))
