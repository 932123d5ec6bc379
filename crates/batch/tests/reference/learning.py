"""A house of eight batches by a general-purpose sampler (emcee) and by quadrature (scipy).

Prints the numbers that `crates/batch/tests/learning.rs` keeps. The model is written out
here in full, batch by batch, with nothing summed away:

    mu ~ N(m0, v0), ln tau ~ N(ln t0, q^2), theta_i ~ N(mu, tau^2), y_i ~ N(theta_i, s_i^2)
"""

import emcee
import numpy as np
from scipy.integrate import dblquad

M0, SD0, T0, Q = np.log(3.0), 0.17, 0.06, 0.5
Y = np.log([3.45, 3.62, 3.30, 3.81, 3.55, 3.40, 3.66, 2.90])
S = np.array([0.03, 0.05, 0.02, 0.08, 0.04, 0.10, 0.03, 0.15])


def ln_posterior(x):
    mu, ln_tau, z = x[0], x[1], x[2:]
    theta = mu + np.exp(ln_tau) * z
    return -0.5 * (
        ((mu - M0) / SD0) ** 2
        + ((ln_tau - np.log(T0)) / Q) ** 2
        + np.sum(z**2)
        + np.sum(((Y - theta) / S) ** 2)
    )


def sampled():
    rng = np.random.default_rng(7)
    size = 2 + len(Y)
    start = np.column_stack(
        [
            rng.normal(M0, 0.05, 64),
            rng.normal(np.log(T0), 0.2, 64),
            rng.normal(0.0, 0.5, (64, len(Y))),
        ]
    )
    sampler = emcee.EnsembleSampler(64, size, ln_posterior)
    np.random.seed(7)
    sampler.run_mcmc(start, 20000)
    draws = sampler.get_chain(discard=4000, flat=True)
    longest = sampler.get_autocorr_time(tol=20).max()
    print(f"emcee {emcee.__version__}, {len(draws)} draws, autocorrelation {longest:.0f} steps")
    mu, tau = draws[:, 0], np.exp(draws[:, 1])
    after = rng.normal(mu, tau)
    first = mu + tau * draws[:, 2]
    for name, x in [("house", mu), ("apart", tau), ("next", after), ("first batch", first)]:
        low, high = np.quantile(x, [0.05, 0.95])
        print(f"{name}: mean {x.mean():.4f} sd {x.std():.4f} 5 % {low:.4f} 95 % {high:.4f}")


def integrated():
    def density(mu, ln_tau):
        v = S**2 + np.exp(2 * ln_tau)
        return np.exp(
            -0.5
            * (
                ((mu - M0) / SD0) ** 2
                + ((ln_tau - np.log(T0)) / Q) ** 2
                + np.sum(np.log(v) + (Y - mu) ** 2 / v - np.log(S**2))
            )
        )

    middle = np.log(T0)

    def mean(f):
        value, _ = dblquad(
            lambda mu, ln_tau: f(mu, np.exp(ln_tau)) * density(mu, ln_tau),
            middle - 3.0, middle + 3.0, 0.7, 1.7, epsabs=0.0, epsrel=1e-9,
        )
        return value

    one = mean(lambda mu, tau: 1.0)
    m = mean(lambda mu, tau: mu) / one
    v = mean(lambda mu, tau: (mu - m) ** 2) / one
    t = mean(lambda mu, tau: tau) / one
    n = mean(lambda mu, tau: (mu - m) ** 2 + tau**2) / one
    print(f"quadrature: house {m:.7f} sd {np.sqrt(v):.7f}, apart {t:.7f}, next sd {np.sqrt(n):.7f}")


sampled()
integrated()
