# SPDX-License-Identifier: MIT
"""The computation of load_loss_trials.cpp with NumPy's default generator: the same answer, its time."""
import json
import math
import sys
import time

import numpy


def million(generator):
    n = 1_000_000
    normal = lambda mean, u: mean + u * generator.standard_normal(n)
    flat = lambda mean, half: generator.uniform(mean - half, mean + half, n)
    watts, va, phase = normal(4200.0, 1.3), normal(25000.0, 8.0), flat(1e-3, 4e-4)
    amperes, hv, hv_c = normal(23.15, 0.005), normal(9.0, 2e-3), flat(24.0, 0.5)
    lv, lv_c, winding_c = normal(2.4e-3, 1e-6), flat(24.0, 0.5), flat(25.0, 0.5)
    true = watts * numpy.cos(phase) - numpy.sqrt(va * va - watts * watts) * numpy.sin(phase)
    scale = 23.15 / amperes
    rated = true * scale * scale
    cold_hv = 13.37 * 13.37 * hv / (234.5 + hv_c)
    cold_lv = 601.4 * 601.4 * lv / (225.0 + lv_c)
    stray = rated - (cold_hv * (234.5 + winding_c) + cold_lv * (225.0 + winding_c))
    out = cold_hv * (234.5 + 85.0) + cold_lv * (225.0 + 85.0) + stray * ((229.0 + winding_c) / (229.0 + 85.0))
    mean, u = out.mean(), out.std(ddof=1)
    out.sort()
    span = int(0.95 * n + 0.5)
    first = (n - span) // 2
    widths = out[span:] - out[: n - span]
    shortest = int(widths.argmin())
    return mean, u, out[first], out[first + span], out[shortest], out[shortest + span]


if __name__ == "__main__":
    times = []
    for seed in range(int(sys.argv[1]) if len(sys.argv) > 1 else 7):
        begin = time.perf_counter()
        result = million(numpy.random.default_rng(seed))
        times.append(time.perf_counter() - begin)
    if not all(map(math.isfinite, result)):
        sys.exit("no finite answer")
    print(json.dumps({"median_ms": 1e3 * sorted(times)[len(times) // 2], "mean_w": result[0], "u_w": result[1],
                      "low_w": result[2], "high_w": result[3]}))
