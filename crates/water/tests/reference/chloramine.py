"""Reference values for the chloramine model, by scipy's LSODA.

The scheme of Jafvert & Valentine 1992 with the constants of Vikesland et al. 2001,
written here by itself. Without arguments it prints the rows of chloramine.csv:

    $(../../../../tests/reference/setup) chloramine.py > chloramine.csv

With "bench METHOD RTOL ATOL" it times a seven-day course and a breakpoint curve,
each as the bench of our side does, and prints the two in seconds.
"""
import sys
import time

import numpy as np
import scipy
from scipy.integrate import solve_ivp

CL2, N, NH4 = 70.90, 14.007, 18.039


def model(ph, temp_c, alk_eq):
    t = temp_c + 273.15
    pk = lambda a, b, c: 10.0 ** -(a * t * t + b * t + c)
    ka_hocl, ka_nh4 = pk(1.18e-4, -7.86e-2, 20.5), pk(1.03e-4, -9.21e-2, 27.6)
    kw = pk(1.5e-4, -0.123, 37.3)
    k1c, k2c = pk(1.48e-4, -9.39e-2, 21.2), pk(1.19e-4, -7.99e-2, 23.6)
    h = 10.0 ** -ph
    oh = kw / h
    d = h * h + k1c * h + k1c * k2c
    ct = (alk_eq + h - oh) / (k1c * h / d + 2 * k1c * k2c / d)
    h2co3, hco3, co3 = ct * h * h / d, ct * k1c * h / d, ct * k1c * k2c / d
    a_hocl, a_nh3 = h / (h + ka_hocl), ka_nh4 / (h + ka_nh4)
    e = lambda a, b: a * np.exp(-b / t)
    k = [0.0, e(6.6e8, 1510), e(1.38e8, 8800), e(3.0e5, 2010), 6.5e-7,
         e(1.05e7, 2169) * h + e(4.2e31, 22144) * hco3 + e(8.19e6, 4026) * h2co3,
         6.0e4 * h, 1.1e2 * oh, 2.8e4, 8.3e3, 1.5e-2, 0.0, 5.56e10 * oh, 1.39e9 * oh, 2.31e2]

    def rhs(_, y):
        n, f, m, di, tri, i = y
        hocl, ocl, nh3 = f * a_hocl, f * (1 - a_hocl), n * a_nh3
        r = [0.0, k[1] * hocl * nh3, k[2] * m, k[3] * hocl * m, k[4] * di, k[5] * m * m,
             k[6] * di * nh3, k[7] * di, k[8] * i * di, k[9] * i * m, k[10] * m * di,
             (3.28e9 * oh + 6.0e6 * co3 + 9e4 * ocl) * hocl * di, k[12] * di * tri,
             k[13] * m * tri, k[14] * di * ocl]
        return [-r[1] + r[2] + r[5] - r[6],
                -r[1] + r[2] - r[3] + r[4] + r[8] - r[11] + 2 * r[12] + r[13] - 2 * r[14],
                r[1] - r[2] - r[3] + r[4] - 2 * r[5] + 2 * r[6] - r[9] - r[10] - r[13],
                r[3] - r[4] + r[5] - r[6] - r[7] - r[8] - r[10] - r[11] - r[12] - r[14],
                r[11] - r[12] - r[13], r[7] - r[8] - r[9]]

    return rhs


def solve(free, mono, ammonia_n, ph, temp_c, alk_meq, times_s, method="LSODA", rtol=1e-10, atol=1e-18):
    y0 = [ammonia_n / 1000 / N, free / 1000 / CL2, mono / 1000 / CL2, 0.0, 0.0, 0.0]
    s = solve_ivp(model(ph, temp_c, alk_meq / 1000), (0.0, times_s[-1]), y0, method=method,
                  t_eval=times_s, rtol=rtol, atol=atol)
    assert s.success, s.message
    return s.y


def table():
    print(f"# scipy {scipy.__version__} LSODA, rtol 1e-10, atol 1e-18, numpy {np.__version__}; mg/L as Cl2, mg/L N")
    print("free0,mono0,ammonia0_n,ph,temp_c,alk_meq,time_h,free,mono,di,tri,ammonia_n")
    cases = [
        (2.0, 0.0, 0.5, 7.2, 12.0, 2.5), (4.0, 0.0, 0.5, 7.8, 8.0, 1.0), (5.0, 0.0, 0.6, 8.4, 28.0, 4.0),
        (0.0, 2.5, 0.15, 8.0, 15.0, 3.0), (0.0, 3.5, 0.0, 6.3, 33.0, 0.8), (0.3, 1.5, 0.0, 7.0, 6.0, 5.0),
        (8.0, 0.0, 0.4, 6.1, 22.0, 1.5),
    ]
    for case in cases:
        for hours in (0.1, 2.0, 48.0, 240.0):
            n, f, m, di, tri, _ = solve(*case, [hours * 3600.0])[:, -1]
            row = [f * CL2, m * CL2, 2 * di * CL2, 3 * tri * CL2, n * N]
            print(",".join(str(v) for v in (*case, hours)) + "," + ",".join(f"{1000 * v:.6e}" for v in row))


def bench(method, rtol, atol):
    times = np.arange(1, 169) * 3600.0
    best = lambda work: min(timed(work) for _ in range(5))

    def timed(work):
        start = time.perf_counter()
        work()
        return time.perf_counter() - start

    week = lambda: solve(0.0, 3.0, 0.1, 7.5, 20.0, 2.0, times, method, rtol, atol)
    curve = lambda: [solve(0.25 * i, 0.0, 1.0, 7.5, 20.0, 2.0, [3600.0], method, rtol, atol) for i in range(1, 49)]
    print(best(week), best(curve))


if __name__ == "__main__":
    if sys.argv[1:2] == ["bench"]:
        bench(sys.argv[2], float(sys.argv[3]), float(sys.argv[4]))
    else:
        table()
