"""Samples with emcee what `watching` samples: the course of a neutral ale at 20 °C, read by
hydrometer at even times. Arguments: original gravity and its sd [°P], hours between the
readings, readings [°P]. Prints seconds, the least effective size, the largest R-hat, and
the 5, 50 and 95 % points of the end [°P].

The density is written anew from data/watch.toml and data/strains.toml: at the reference
temperature the clock is that on the wall. Wander has the slopes of the most likely curve and
the readings their full weight, as a hydrometer's nearly have."""

import sys
import time
import tomllib
from pathlib import Path

import emcee
import numpy as np
from scipy.optimize import minimize
from scipy.special import wrightomega

DATA = Path(__file__).parents[2] / "data"
TABLE = tomllib.loads((DATA / "watch.toml").read_text())
STRAINS = tomllib.loads((DATA / "strains.toml").read_text())
original, original_sd, every_h, *read = map(float, sys.argv[1:])
read = np.array(read)
hours = every_h * np.arange(len(read))

ale = next(s for s in STRAINS["strain"] if s["name"] == "neutral ale")
attenuation, strain_sd = (float(x) / 100 for x in ale["attenuation"].strip(" %").split(" ± "))
curve, spread, wander = TABLE["curve"], TABLE["spread"], TABLE["wander"]
device = next(i for i in TABLE["instrument"] if i["key"] == "hydrometer")
shape = [curve[k] for k in ("uptake_per_h", "onset_h", "growth_per_h", "half_share")]
shape_sd = [np.hypot.reduce(spread[k]) for k in ("uptake", "onset", "growth", "half")]
MEAN = np.array([original, attenuation, *np.log(shape), TABLE["energy"]["kj_per_mol"], 0, 0, 0])
SD = np.array([original_sd, np.hypot(strain_sd, spread["attenuation"][0]), *shape_sd,
               TABLE["energy"]["sd"], device["bias_plato"], 0.35, 0.25])
HEAVY = np.array([False] + [True] * 5 + [False] * 4)
SCALE_OF_T = 0.7716


def plato(v, t):
    uptake, onset, growth, half = np.exp(v[2:6])
    worked = (np.logaddexp(0, growth * (t - onset)) - np.logaddexp(0, -growth * onset)) / growth
    left = half * wrightomega((1 - uptake * worked) / half - np.log(half)).real
    return v[0] * (1 - v[1] * (1 - left))


def slopes(v):
    return (plato(v, hours + 1e-3) - plato(v, hours - 1e-3)) / 2e-3


KEPT = np.exp(-np.abs(hours[:, None] - hours) / wander["hours"])
off = None


def ln_density(z):
    prior = np.where(HEAVY, 2.5 * np.log1p(z**2 / (4 * SCALE_OF_T**2)), 0.5 * z**2).sum()
    v = MEAN + SD * z
    with np.errstate(all="ignore"):
        residual = read - plato(v, hours) - v[7]
    white, ahead = np.exp(v[8:])
    covariance = ahead**2 * KEPT * off[:, None] * off
    covariance[np.diag_indices(len(read))] += (white * device["noise_plato"]) ** 2
    try:
        lower = np.linalg.cholesky(covariance)
    except np.linalg.LinAlgError:
        return -np.inf
    innovation = np.linalg.solve(lower, residual)
    value = -0.5 * innovation @ innovation - np.log(np.diag(lower)).sum() - prior
    return value if np.isfinite(value) else -np.inf


best = np.zeros(len(MEAN))
for _ in range(4):
    off = np.hypot(wander["floor_plato"], wander["ahead_h"] * slopes(MEAN + SD * best))
    best = minimize(lambda z: -ln_density(z), best, method="L-BFGS-B").x

WALKERS, BURN, STEPS = 40, 2000, 5000
rng = np.random.default_rng(1)
start = time.perf_counter()
np.random.seed(1)
sampler = emcee.EnsembleSampler(WALKERS, len(MEAN), ln_density)
sampler.run_mcmc(best + 0.3 * rng.standard_normal((WALKERS, len(MEAN))), BURN + STEPS)
seconds = time.perf_counter() - start
chain = sampler.get_chain(discard=BURN)
tau = emcee.autocorr.integrated_time(chain, quiet=True)
halves = np.concatenate([chain[: STEPS // 2], chain[STEPS // 2:]], axis=1)
within = halves.var(axis=0, ddof=1).mean(axis=0)
r_hat = np.sqrt(1 - 2 / STEPS + halves.mean(axis=0).var(axis=0, ddof=1) / within)
v = MEAN + SD * chain.reshape(-1, len(MEAN))
end = np.quantile(v[:, 0] * (1 - v[:, 1]), [0.05, 0.5, 0.95])
print(seconds, STEPS * WALKERS / tau.max(), r_hat.max(), *end)
