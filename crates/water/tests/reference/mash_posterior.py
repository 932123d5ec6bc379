"""Exact posteriors of a mash of one malt, for tests/mash_reading.rs.

One malt and strong acid make the balance linear given ln of buffering, so that all
but that one unknown is integrated in closed form and the rest by quadrature. Writes
mash_posterior.csv beside this file. numpy and scipy; no random numbers.

    python mash_posterior.py
"""

import csv
import pathlib

import numpy as np
from scipy.integrate import simpson

KG, PH_DI, PH_DI_SD, B, B_SD = 4.5, 5.75, 0.08, 40.0, 6.0
MODEL_SD, COMMON_SD, SAMPLE_SD = 0.05, 0.20, 0.02
BASE_MEQ = 16.0 * 1.5  # volume times residual alkalinity

# meter sd; readings as (pH shown by a cooled sample, acid in the mash by then, mEq)
CASES = {
    "one good reading": (0.03, [(5.70, 0.0)]),
    "one poor reading": (0.10, [(5.70, 0.0)]),
    "two readings, stiff grist": (0.08, [(5.80, 0.0), (5.70, 24.0)]),
    "two readings, soft grist": (0.08, [(5.75, 0.0), (5.58, 24.0)]),
    "three readings": (0.05, [(5.82, 0.0), (5.72, 20.0), (5.64, 36.0)]),
}


def posterior(meter_sd, readings):
    ln_sd = np.hypot(B_SD / B, COMMON_SD)
    u_sd = np.hypot(PH_DI_SD, MODEL_SD)
    ln = np.linspace(-6 * ln_sd, 6 * ln_sd, 4001)
    y = np.array([r[0] for r in readings])
    acid = np.array([r[1] for r in readings])
    ones = np.ones(len(y))
    cov = (u_sd**2 + meter_sd**2) * np.outer(ones, ones) + SAMPLE_SD**2 * np.eye(len(y))
    inverse = np.linalg.inv(cov)
    buffer = KG * B * np.exp(ln)
    shift = (BASE_MEQ - acid[None, :]) / buffer[:, None]
    residual = y[None, :] - PH_DI - shift
    density = np.exp(-0.5 * (ln / ln_sd) ** 2)
    density *= np.exp(-0.5 * np.einsum("ij,jk,ik->i", residual, inverse, residual))
    density /= simpson(density, x=ln)
    gain = u_sd**2 * ones @ inverse
    u = residual @ gain  # mean of pH_DI and model together, less their prior
    u_var = u_sd**2 - u_sd**2 * (gain @ ones)
    now = PH_DI + u + shift[:, -1]
    mean = lambda x: simpson(x * density, x=ln)
    ph = mean(now)
    ph_sd = np.sqrt(u_var + mean((now - ph) ** 2))
    ln_mean = mean(ln)
    ln_post_sd = np.sqrt(mean((ln - ln_mean) ** 2))
    offset = mean(u)
    offset_sd = np.sqrt(u_var + mean((u - offset) ** 2))
    return ph, ph_sd, ln_mean, ln_post_sd, offset, offset_sd


path = pathlib.Path(__file__).with_name("mash_posterior.csv")
with path.open("w", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["case", "meter_sd", "readings", "ph", "ph_sd", "ln_b", "ln_b_sd", "offset", "offset_sd"])
    for name, (meter_sd, readings) in CASES.items():
        text = " ".join(f"{ph}@{acid}" for ph, acid in readings)
        out.writerow([name, meter_sd, text] + [f"{x:.6f}" for x in posterior(meter_sd, readings)])
