# SPDX-License-Identifier: MIT
"""Load loss with correlated inputs against the Python library `uncertainties`."""
import unittest

import uncertainties
from reference import relative, values_of
from uncertainties.umath import acos, cos

LIBRARY = f"Python library uncertainties {uncertainties.__version__}"


class Propagation(unittest.TestCase):
    def test_load_loss_with_correlation(self):
        entries = values_of("load-loss")
        self.assertEqual(len(entries), 30)
        for entry in entries:
            u, r = entry["u"], entry["correlation"]
            covariance = [[a * b * (1.0 if i == j else r) for j, b in enumerate(u)] for i, a in enumerate(u)]
            watts, va, phase, amperes, ohm, ohm_c, winding_c = uncertainties.correlated_values(entry["values"], covariance)
            # The textbook form with the arc cosine, not the form of the code.
            rated = va * cos(acos(watts / va) + phase) * (23.15 / amperes) ** 2
            cold = 13.37 ** 2 * ohm / (234.5 + ohm_c)
            ohmic = cold * (234.5 + winding_c)
            stray = rated - ohmic
            results = {"ohmic_w": ohmic, "stray_w": stray,
                       "corrected_w": cold * (234.5 + 85.0) + stray * (234.5 + winding_c) / (234.5 + 85.0)}
            expected = results[entry["result"]]
            what = f"{entry['result']} at {entry['values'][0]:g} W, correlation {r}"
            relative(LIBRARY, f"value of {what}", entry["value"], expected.n)
            relative(LIBRARY, f"u of {what}", entry["standard_uncertainty"], expected.s, 1e-7)


if __name__ == "__main__":
    unittest.main()
