# SPDX-License-Identifier: MIT
"""Every corrected result of the good units within four standard uncertainties of the simulator's true value at the
reference condition: the truth comes from the simulated bench's judge, the result from the station's record."""
import json
import re
import sys
import unittest

from bench_under_test import SINGLE, THREE, SimulatedBench, virtual

SAME_NAME = {
    ("no_load", "corrected_no_load_loss_w"): "no_load_loss_w",
    ("no_load", "exciting_current_percent"): "exciting_current_percent",
    ("load_loss", "corrected_load_loss_w"): "load_loss_w",
    ("load_loss", "load_loss_55c_w"): "load_loss_55c_w",
    ("load_loss", "impedance_percent"): "impedance_percent",
}


class Accuracy(unittest.TestCase):
    def compare(self, unit, seed):
        with SimulatedBench(unit, seed=seed) as bench:
            truth = bench.control.ask({"get": "true_values"})["true_values"]
        code, out, err = virtual(unit, "--seed", str(seed))
        self.assertEqual(code, 0, err[-2000:])
        compared = 0
        for result in json.loads(out)["results"]:
            name = SAME_NAME.get((result["test"], result["quantity"]))
            if name is not None:
                true, value, u = truth[name], result["value"], result["standard_uncertainty"]
            elif result["quantity"] == "ratio_error_percent" and result["test"] == "ratio":
                place = re.fullmatch(r"tap (\d+), (.*)", result["at"])
                expected = next(i["value"] for i in result["intermediates"] if i["name"] == "expected by the whole-turn rule")
                true = truth["ratio tap %s, %s" % place.groups()]
                true = 100.0 * (true / expected - 1.0)
                value, u = result["value"], result["standard_uncertainty"]
            else:
                continue
            compared += 1
            z = (value - true) / u
            self.assertLess(abs(z), 4.0, "%s %s %s: %g, true %g, u %g" % (result["test"], result["quantity"], result["at"], value, true, u))
            print("%-28s %-24s z %+.2f" % (result["quantity"], result["at"], z), file=sys.stderr)
        self.assertGreater(compared, 15)

    def test_single_phase_unit_within_four_standard_uncertainties(self):
        for seed in (20, 21, 22):
            self.compare(SINGLE, seed)

    def test_three_phase_unit_within_four_standard_uncertainties(self):
        for seed in (20, 21, 22):
            self.compare(THREE, seed)


if __name__ == "__main__":
    unittest.main()
