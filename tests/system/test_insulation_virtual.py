# SPDX-License-Identifier: MIT
"""An ordered insulation resistance on a bench that has the meter for it, in virtual time: measured, earthed, judged."""
import json
import os
import tempfile
import unittest

from bench_under_test import SINGLE, SOURCE, THREE, virtual

WITH_METER = os.path.join(SOURCE, "sim/demo/benches/05-insulation.json")


def insulation_of(unit, *arguments):
    """(outcome, {between: Mohm}, warnings, dangerous moments, tests)."""
    with tempfile.NamedTemporaryFile(suffix=".json") as kept:
        _, out, err = virtual(unit, "--truth", kept.name, *arguments, bench=WITH_METER)
        moments = json.loads(kept.read())["truth"]["dangerous_moments"]
    record = json.loads(out)
    found = {r["at"]: r["value"] for r in record["results"] if r["quantity"] == "resistance_megohm"}
    return record, found, moments, err


class InsulationResistance(unittest.TestCase):
    def test_both_sides_are_measured_and_no_other_station_is_asked(self):
        for unit in (SINGLE, THREE):
            record, found, moments, err = insulation_of(unit)
            self.assertEqual("PASS", record["outcome"], record["reason"] + err)
            self.assertEqual({"H to X+tank", "X to H+tank"}, set(found))
            self.assertEqual([], moments)
            self.assertNotIn("insulation resistance", [r["at"] for r in record["results"] if r["test"] == "elsewhere"])

    def test_damp_insulation_reads_lower_by_what_the_moisture_is_and_warns(self):
        _, dry, _, _ = insulation_of(SINGLE)
        record, damp, moments, _ = insulation_of(SINGLE, "--fault", "damp-insulation=40")
        for between, megohms in damp.items():
            # The leakage is 40 times as much; what still charges after a minute is beside it in both.
            self.assertTrue(30.0 < dry[between] / megohms < 41.0, (between, dry[between], megohms))
        self.assertEqual([], moments)
        self.assertEqual("PASS", record["outcome"])  # above the limit, below what the factory expects
        self.assertEqual(2, sum("factory-insulation-resistance" in w["words"] for w in record["warnings"]), record["warnings"])


if __name__ == "__main__":
    unittest.main()
