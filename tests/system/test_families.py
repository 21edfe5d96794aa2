# SPDX-License-Identifier: MIT
"""Every demo unit document, family by family: a plan with reasons, and a good unit that passes all of it."""
import glob
import json
import os
import sys
import time
import unittest

from bench_under_test import SCALED, SOURCE, run, virtual

UNITS = sorted(glob.glob(os.path.join(SOURCE, "sim/demo/units/*.json")))
TESTS = {"identity", "temperatures", "insulation_resistance", "ratio", "polarity", "phase_relation", "winding_resistance",
         "demagnetise", "no_load", "load_loss", "applied", "induced", "hand_check", "elsewhere", "as_shipped"}


def document(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def stages(unit):
    return unit.get("options", {}).get("stages") or ["routine"]


class Families(unittest.TestCase):
    def test_there_is_a_document_for_each_family_of_the_plant(self):
        units = [document(path) for path in UNITS]
        groups = {unit["vector_group"] for unit in units}
        for group in ("Ii0", "Ii6", "Dyn1", "Dyn5", "Dyn11", "YNyn0", "Yyn0", "Dd0", "Yd1", "Yd11", "YNd1", "Yzn5", "Yzn11", "Dzn0"):
            self.assertIn(group, groups)
        for key, words in (("lv_form", {"plain", "center_tapped", "series_parallel", "mid_tapped_leg"}),
                           ("hv_neutral", {"none", "own_bushing", "joined", "on_tank", "inner"}),
                           ("construction", {"pad_mounted", "overhead", "submersible"}),
                           ("core_form", {"shell", "three_limb", "five_limb", "three_single_cores"})):
            self.assertEqual({unit[key] for unit in units}, words)
        self.assertEqual({unit["rated_hz"] for unit in units}, {50, 60})
        self.assertEqual((min(u["rated_kva"] for u in units), max(u["rated_kva"] for u in units)), (10, 5000))
        self.assertEqual({unit.get("interlaced") for unit in units}, {True, False, None})
        self.assertTrue(any("dual_voltage" in unit["hv"] for unit in units))
        self.assertTrue(any(unit["hv"].get("taps") and not unit["hv"]["has_tap_changer"] for unit in units))
        self.assertTrue(any(bushing.get("duplicated") for unit in units for bushing in unit["bushings"]))
        self.assertEqual(len({unit["serial"] for unit in units}), len(units))
        for unit in units:
            self.assertIn("Invented", unit["note"])

    def test_every_test_of_every_unit_is_planned_or_left_out_with_a_reason(self):
        for path in UNITS:
            unit = document(path)
            for stage in stages(unit):
                code, out, err = run("plan", "--bench", SCALED, "--unit", path, "--stage", stage, "--json")
                self.assertEqual(code, 0, path + err)
                plan = json.loads(out)
                planned = {step["test"] for step in plan["steps"]}
                self.assertEqual(planned | {left["test"] for left in plan["left_out"]}, TESTS, path)
                for entry in plan["steps"] + plan["left_out"]:
                    self.assertGreater(len(entry["reason"]), 10, path)

    def test_a_good_unit_of_every_family_passes(self):
        begin = time.monotonic()
        for path in UNITS:
            unit = document(path)
            for stage in stages(unit):
                code, out, err = virtual(path, "--stage", stage)
                with self.subTest(unit=os.path.basename(path), stage=stage):
                    self.assertEqual(code, 0, err[-1500:] + out[-500:])
                    self.assertEqual(json.loads(out)["outcome"], "PASS")
        print("%d units in %.1f s" % (len(UNITS), time.monotonic() - begin), file=sys.stderr)


if __name__ == "__main__":
    unittest.main()
