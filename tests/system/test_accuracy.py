# SPDX-License-Identifier: MIT
"""Short form of `tests/campaign accuracy` and of its limits study: what the good units' results are worth against the
simulator's true values, and how often a unit near its limit is accepted."""
import glob
import json
import math
import os
import sys
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

from accuracy_study import binomial_tail, document, normal_share, one_bench
from bench_under_test import SINGLE, SOURCE, THREE, virtual

UNITS = sorted(glob.glob(os.path.join(SOURCE, "sim/demo/units/*.json")))


def accepted(unit, seed, k):
    """Whether the station passes the unit when the limit of its no-load loss lies k of its own standard uncertainties above
    the true value (below, for k < 0)."""
    with tempfile.TemporaryDirectory(prefix="benchward-limit-") as folder:
        kept = os.path.join(folder, "truth.json")
        code, out, err = virtual(unit, "--seed", str(seed), "--truth", kept)
        if code not in (0, 1):
            raise AssertionError(err[-500:])
        true = document(kept)["true_values"]["no_load_loss_w"]
        u = next(r["standard_uncertainty"] for r in json.loads(out)["results"] if r["quantity"] == "corrected_no_load_loss_w")
        rules = document(os.path.join(SOURCE, "sim/demo/limits/guard-band-ieee.json"))
        rules.update(name="near-the-limit", tables=[])
        rules["rules"] = [rule for rule in rules["rules"] if rule["test"] in ("applied", "induced")] + [{
            "id": "near", "test": "no_load", "quantity": "corrected_no_load_loss_w", "unit": "W", "kind": "bound", "upper": true + k * u,
            "decision": {"name": "simple_acceptance"}, "source": "this test: the true value and k standard uncertainties"}]
        limits = os.path.join(folder, "limits.json")
        with open(limits, "w", encoding="utf-8") as file:
            json.dump(rules, file)
        code, out, err = virtual(unit, "--seed", str(seed), "--limits", limits)
        verdict = next(r["verdict"] for r in json.loads(out)["results"] if r["quantity"] == "corrected_no_load_loss_w")
        if (verdict == "pass") != (code == 0):
            raise AssertionError("verdict %s with exit code %d: %s" % (verdict, code, err[-500:]))
        return verdict == "pass"


def accepted_of(k, benches, first_seed):
    with ThreadPoolExecutor(2) as pool:
        return sum(pool.map(lambda i: accepted((SINGLE, THREE)[i % 2], first_seed + i, k), range(benches)))


class Accuracy(unittest.TestCase):
    def test_every_family_within_four_standard_uncertainties_of_the_truth(self):
        compared = 0
        for i, unit in enumerate(UNITS):
            found = one_bench(unit, 7000 + i)
            with self.subTest(unit=os.path.basename(unit)):
                self.assertNotIsInstance(found, str)
                self.assertLessEqual({"ratio_error_percent", "resistance_20c_hv", "corrected_load_loss_w", "corrected_no_load_loss_w",
                                      "impedance_percent"}, set(found))
                for quantity, z in found.items():
                    compared += 1
                    self.assertLess(abs(z), 4.0, quantity)
        print("%d results of %d families compared" % (compared, len(UNITS)), file=sys.stderr)

    def test_accepted_share_near_a_limit_is_that_of_the_normal_distribution(self):
        """Phi((limit - true)/u), JCGM 106; the binomial distribution's bounds at one chance in ten thousand a side."""
        benches = int(os.environ.get("BENCHES", "20"))
        for n, k in enumerate((-1.5, 0.0, 1.5)):
            share = normal_share(k)
            count = accepted_of(k, benches, 20000 + 1000 * n)
            print("limit %+.1f u from the truth: %d of %d accepted, Phi %.3f" % (k, count, benches, share), file=sys.stderr)
            self.assertGreater(binomial_tail(benches, share, count), 1e-4)
            self.assertGreater(binomial_tail(benches, 1.0 - share, benches - count), 1e-4)

    def test_no_unit_six_uncertainties_beyond_its_limit_is_accepted(self):
        benches = int(os.environ.get("BENCHES", "20"))
        self.assertEqual(accepted_of(-6.0, benches, 30000), 0)
        self.assertEqual(accepted_of(6.0, benches, 31000), benches)
        self.assertTrue(math.isclose(normal_share(0.0), 0.5))


if __name__ == "__main__":
    unittest.main()
