# SPDX-License-Identifier: MIT
"""The computation of uncertainty_benchmark.cpp with the Python library `uncertainties`: the same u, its time."""
import timeit

from uncertainties import ufloat
from uncertainties.umath import cos, sin, sqrt


def corrected_u():
    gain_v, gain_a, gain_w, phase = ufloat(1, 2e-4), ufloat(1, 2e-4), ufloat(1, 3e-4), ufloat(1e-3, 2e-4)
    watts, amperes = 0.0, 0.0
    for _ in range(3):
        v, a, w = gain_v * ufloat(360.0, 0.02), gain_a * ufloat(23.15, 0.001), gain_w * ufloat(1400.0, 0.1)
        s = v * a
        watts = watts + w * cos(phase) - sqrt(s * s - w * w) * sin(phase)
        amperes = amperes + a
    t_lm, reference = ufloat(25.0, 0.3), 85.0
    scale = 23.15 / (amperes / 3.0)
    rated = watts * scale * scale
    ohmic, ohmic_reference = 0.0, 0.0
    for r, t, zero, current in ((ufloat(9.0, 2e-3), ufloat(24.0, 0.3), 234.5, 13.37),
                                (ufloat(2.4e-3, 1e-6), ufloat(24.0, 0.3), 225.0, 601.4)):
        cold = current * current * r / (zero + t)
        ohmic = ohmic + cold * (zero + t_lm)
        ohmic_reference = ohmic_reference + cold * (zero + reference)
    stray = rated - ohmic
    return (ohmic_reference + stray * ((229.0 + t_lm) / (229.0 + reference))).std_dev


if __name__ == "__main__":
    n = 2000
    print(f"u {corrected_u():.12g} W, {timeit.timeit(corrected_u, number=n) / n * 1e6:.1f} us")
