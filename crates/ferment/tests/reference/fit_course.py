"""Calibrates constants that the classes share, and the speeds of the neutral ale, on the
pilot batches of E. Lwele 2025 (tests/data). An implementation of the sugars and the growth of the
course model apart from the program's: NumPy, classical Runge-Kutta of 0.5 h, all batches
at once, measured temperatures.

Of each batch its own are: speed, lag and, where it finished, attenuation, under the spreads
seen between batches. The rest is common. Left out of the fit: the five batches of 12 °C,
of which none finished before it was chilled and one never started, so that they tell about
the yeast's cold end and not about these constants; readings from the chill on; readings
after 160 h, of finished beer. Prints root mean squares before and after, and the constants;
with --check writes course.csv, which a test of the program is held to."""

import csv
import sys
import tomllib
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
DATA = tomllib.loads((HERE / "../../data/kinetics.toml").read_text())
COMMON = DATA["common"]
ALE = next(c for c in DATA["class"] if c["name"] == "neutral ale")
STEP = 0.5
UNTIL = 160.0
PITCHED = 8.0  # 0.8 g/L of dry yeast; not printed, assumed
SHARES = (0.16, 0.62, 0.22)
NAMES = ["half_maltose_g_per_l", "repress_by_simple_g_per_l", "repress_by_maltose_g_per_l",
         "half_growth_g_per_l", "maltotriose_ratio", "growth_per_h", "uptake_g_per_l_h",
         "readiness_per_h"]
PRIOR_SD = np.array([0.5, 0.5, 0.5, 0.5, 0.3, 0.2, 0.2, 0.3])


def batches():
    rows = {}
    with open(HERE / "../data/pilot_fermentations.csv", newline="") as file:
        for row in csv.DictReader(line for line in file if not line.startswith("#")):
            rows.setdefault(row["batch"], []).append(row)
    out = []
    for name, readings in rows.items():
        t = np.array([float(r["hours"]) for r in readings])
        p = np.array([float(r["plato"]) for r in readings])
        warm = np.array([float(r["temp_c"]) if r["temp_c"] else np.nan for r in readings])
        known = ~np.isnan(warm)
        warm = np.interp(t, t[known], warm[known])
        typical = np.median(warm[t < 60])
        chilled = t[(t > 60) & (warm < typical - 5)]
        end = min(chilled[0] if len(chilled) else UNTIL, UNTIL)
        kept = t <= end
        start, last = p[:6].mean(), np.median(p[kept][-6:])
        out.append(dict(name=name, t=t[kept], p=p[kept], warm=(t, warm), start=start, last=last,
                        typical=typical, finished=last < 3.6))
    return out


def cardinal(temp, low, best, high):
    inner = (best - low) * (temp - best) - (best - high) * (best + low - 2 * temp)
    factor = (temp - high) * (temp - low) ** 2 / ((best - low) * inner)
    return np.where((temp > low) & (temp < high), factor, 0.0)


def courses(k, rate, lag, total, temps):
    """Share of the extract gone, at steps of STEP; one column for each batch."""
    low, best, high = ALE["cardinal_c"]
    ref = ALE["reference_c"]
    low_uptake = low - COMMON["uptake_min_shift_k"]
    grow = cardinal(temps, low, best, high) / cardinal(np.array(ref), low, best, high)
    take = (cardinal(temps, low_uptake, best, high)
            / cardinal(np.array(ref), low_uptake, best, high))
    half_m, by_simple, by_maltose, half_x, triose, mu, q, ready_rate = k
    ceiling = PITCHED * COMMON["sterols_dry_fold"]
    cold_c = 16.0 - COMMON["cold_margin_k"]
    cold = 1 / (1 + np.exp((temps - cold_c) / COMMON["cold_width_k"]))

    def rhs(x, i):
        ready, active, ever, g, m, n = x
        active = np.maximum(active, 0)
        active = active * active / (active + 1e-4)
        gone = 1 - (g + m + n) / total
        vigour = active * rate / (1 + np.exp(-ready))
        fed = vigour * take[i] * q
        rs = fed * g / (g + COMMON["half_simple_g_per_l"]) * COMMON["simple_ratio"]
        past = fed * by_simple / (by_simple + g)
        rm = past * m / (m + half_m)
        rn = past * by_maltose / (by_maltose + m) * n / (n + half_m) * triose
        sugar = g + m + n
        growth = vigour * sugar / (sugar + half_x) * (1 - ever / ceiling) * grow[i] * mu
        stirred = 1 / (1 + (rs + rm + rn) / COMMON["stir_g_per_l_h"])
        clump = active * active / (active + COMMON["crowd_millions_per_ml"])
        settling = clump * (gone ** 3 * stirred + cold[i]) * ALE["settling_per_h"]
        return np.array([grow[i] * ready_rate, growth - settling - active * COMMON["death_per_h"],
                         growth, -rs, -rm, -rn])

    shape = np.broadcast(rate, total).shape
    ones = np.ones(shape)
    x = np.array([-np.log(np.expm1(np.minimum(ready_rate * lag, 30))) * ones, PITCHED * ones,
                  PITCHED * ones, *(share * total * ones for share in SHARES)])
    out = [1 - x[3:].sum(0) / total]
    for i in range(int(UNTIL / STEP)):
        # Temperatures are at half steps: 2i, 2i + 1, 2i + 2.
        a = rhs(x, 2 * i)
        b = rhs(x + STEP / 2 * a, 2 * i + 1)
        c = rhs(x + STEP / 2 * b, 2 * i + 1)
        d = rhs(x + STEP * c, 2 * i + 2)
        x = x + STEP / 6 * (a + 2 * b + 2 * c + d)
        x[3:] = np.maximum(x[3:], 1e-12)
        out.append(1 - x[3:].sum(0) / total)
    return np.array(out)


def check():
    """The share gone at 22 °C and on a ramp of 24 to 14 °C over 160 h, as course.csv."""
    k = [ALE.get(name, COMMON.get(name)) for name in NAMES]
    fine = np.arange(0, UNTIL + STEP / 4, STEP / 2)
    temps = np.array([np.full_like(fine, 22.0), 24 - fine / 16]).T
    gone = courses(k, np.array([1.0, 1.3]), np.array([25.0, 12.0]), np.array([80.0, 95.0]), temps)
    with open(HERE / "course.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["hours", "level", "ramp"])
        for hours in range(10, 161, 10):
            level, ramp = gone[int(hours / STEP)]
            out.writerow([hours, f"{level:.6f}", f"{ramp:.6f}"])


def main():
    all_batches = batches()
    used = [b for b in all_batches if b["typical"] > 15.5]
    print("left out:", ", ".join(b["name"] for b in all_batches if b not in used), file=sys.stderr)
    n = len(used)
    fine = np.arange(0, UNTIL + STEP / 4, STEP / 2)
    temps = np.array([np.interp(fine, *b["warm"]) for b in used]).T
    own0 = np.array([[0.0, 0.0, b["last"] / b["start"] if b["finished"] else 0.22] for b in used])
    own_sd = np.array([0.30, 0.40, 0.01])
    k0 = np.array([ALE.get(name, COMMON.get(name)) for name in NAMES])
    grid = np.arange(0, UNTIL + STEP / 2, STEP)

    def forecasts(log_k, own):
        """Columns may be more than batches: own is (..., n, 3)."""
        start = np.array([b["start"] for b in used])
        rate, lag, left = np.exp(own[..., 0]), 25.0 * np.exp(own[..., 1]), own[..., 2]
        drop = start * (1 - left)
        total = drop * 0.8192 * 10.46
        k = [v[..., None] for v in np.moveaxis(np.exp(log_k), -1, 0)] if log_k.ndim > 1 else np.exp(log_k)
        warm = temps[:, None, :] if own.ndim > 2 else temps
        gone = courses(k, rate, lag, total, warm)
        return start - drop * gone

    def residuals(curve, i):
        b = used[i]
        return np.interp(b["t"], grid, curve) - b["p"]

    def rms(curves):
        return np.array([np.sqrt(np.mean(residuals(curves[:, i], i) ** 2)) for i in range(n)])

    def fit(log_k, own, common_free, rounds):
        nk = len(NAMES)
        sigma = 0.15  # reading and model together, °P; readings are 0.1 °P apart
        thin = np.sqrt(1 / 6)  # neighbours within half a day say the same
        for _ in range(rounds):
            h = 1e-4
            lk = np.tile(log_k, (1 + 3 + nk, 1))
            ow = np.tile(own, (1 + 3 + nk, 1, 1))
            for j in range(3):
                ow[1 + j, :, j] += h
            for j in range(nk):
                lk[4 + j, j] += h
            curves = forecasts(lk, ow)
            a = np.zeros((nk + 3 * n, nk + 3 * n))
            g = np.zeros(nk + 3 * n)
            for i in range(n):
                r = residuals(curves[:, 0, i], i) / sigma * thin
                j = np.array([(residuals(curves[:, 1 + c, i], i) / sigma * thin - r) / h
                              for c in range(3 + nk)])
                at = np.concatenate([nk + 3 * i + np.arange(3), np.arange(nk)])
                a[np.ix_(at, at)] += j @ j.T
                g[at] += j @ r
            for i in range(n):
                at = nk + 3 * i + np.arange(3)
                a[at, at] += 1 / own_sd ** 2
                g[at] += (own[i] - own0[i]) / own_sd ** 2
            at = np.arange(nk)
            a[at, at] += 1 / PRIOR_SD ** 2
            g[at] += (log_k - np.log(k0)) / PRIOR_SD ** 2
            if not common_free:
                a[at, at] += 1e12
            step = -np.linalg.solve(a, g)
            step = np.clip(step, -0.25, 0.25)
            log_k = log_k + step[:nk]
            own = own + step[nk:].reshape(n, 3)
            own[:, 2] = np.clip(own[:, 2], 0.05, 0.6)
        return log_k, own

    log_k0 = np.log(k0)
    _, own = fit(log_k0, own0, False, 12)
    before = rms(forecasts(log_k0, own))
    log_k, own = fit(log_k0, own, True, 25)
    after = rms(forecasts(log_k, own))
    for b, x, y, o in zip(used, before, after, own):
        print(f"{b['name']} rms {x:.3f} -> {y:.3f} °P, speed {np.exp(o[0]):.2f}, "
              f"lag {25 * np.exp(o[1]):.1f} h, left {o[2]:.3f}")
    print(f"median rms {np.median(before):.3f} -> {np.median(after):.3f} °P, "
          f"mean {before.mean():.3f} -> {after.mean():.3f}")
    for name, a, b in zip(NAMES, k0, np.exp(log_k)):
        print(f"{name} = {a:.4g} -> {b:.4g}")


if sys.argv[1:] == ["--check"]:
    check()
else:
    main()
