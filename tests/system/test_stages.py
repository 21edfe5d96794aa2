# SPDX-License-Identifier: MIT
"""Stages of a unit's life: a later one waits for the one before; rework between opens tests again by the retest table;
hand checks and results from elsewhere block release."""
import json
import os
import tempfile
import unittest

from bench_under_test import SCALED, SOURCE, run, virtual

UNIT = os.path.join(SOURCE, "sim/demo/units/three-phase-substation-5000kva-dyn1.json")


def done(folder, serial, what):
    code, out, err = run("rework", "--records", folder, "--serial", serial, "--done", what, "--operator", "fitter")
    assert code == 0, err
    return out


class Stages(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="benchward-stages-")
        self.records = os.path.join(self.folder.name, "records")
        with open(UNIT, encoding="utf-8") as file:
            self.unit = json.load(file)
        self.assertEqual(self.unit["options"]["stages"], ["before_closing", "before_shipping"])

    def tearDown(self):
        self.folder.cleanup()

    def stage(self, stage, *arguments):
        return virtual(UNIT, "--records", self.records, "--stage", stage, *arguments)

    def test_a_later_stage_waits_for_the_one_before(self):
        code, _, err = self.stage("before_shipping")
        self.assertEqual(code, 2)
        self.assertIn("waits for before_closing", err)
        # A stage that ran and was not passed is not passed.
        self.assertEqual(self.stage("before_closing", "--fault", "ratio-meter-drift")[0], 1)
        code, _, err = self.stage("before_shipping")
        self.assertEqual(code, 2)
        code, out, err = self.stage("before_closing")
        self.assertEqual(code, 0, err[-800:])
        # Before closing nothing is released: the tank may be closed, and that is said.
        self.assertIn("Outcome PASS, close the tank", err)
        self.assertNotIn("PASS, release", err)
        planned = {step["test"] for step in json.loads(out)["steps"]}
        self.assertFalse(planned & {"no_load", "load_loss", "applied", "induced", "as_shipped"})
        code, out, err = self.stage("before_shipping")
        self.assertEqual(code, 0, err[-800:])
        self.assertIn("Outcome PASS, release", err)

    def test_rework_between_opens_the_tests_of_the_retest_table(self):
        self.assertEqual(self.stage("before_closing")[0], 0)
        # A gauge does not touch what was seen before closing (hand checks belong to the last stage); a tap contact does.
        done(self.records, "another unit", "untanked")
        done(self.records, self.unit["serial"], "tap contact worked on")
        code, _, err = self.stage("before_shipping")
        self.assertEqual(code, 2)
        for words in ("tap contact worked on", "ratio", "winding_resistance", "--after"):
            self.assertIn(words, err)
        self.assertNotIn("polarity", err)
        code, out, err = self.stage("before_closing", "--after", "tap contact worked on")
        self.assertEqual(code, 0, err[-800:])
        self.assertEqual({step["test"] for step in json.loads(out)["steps"]}, {"identity", "temperatures", "ratio", "winding_resistance"})
        code, _, err = self.stage("before_shipping")
        self.assertEqual(code, 0, err[-800:])
        # A repeat that rejects the unit opens its tests once more.
        done(self.records, self.unit["serial"], "inner leads touched")
        self.assertEqual(self.stage("before_closing", "--after", "inner leads touched", "--fault", "ratio-meter-drift")[0], 1)
        code, _, err = self.stage("before_shipping")
        self.assertEqual(code, 2)
        self.assertIn("ratio", err)

    def test_rework_words_are_those_of_the_table(self):
        code, _, err = run("rework", "--records", self.records, "--serial", "S", "--done", "painted", "--operator", "fitter")
        self.assertEqual(code, 2)
        self.assertIn("bushing replaced", err)
        self.assertFalse(os.path.exists(os.path.join(self.records, "journal.lock")))
        code, out, _ = run("rework", "--list")
        self.assertEqual(code, 0)
        self.assertIn("untanked: everything (full level; soak", out)
        code, _, err = run("rework", "--records", self.records, "--done", "untanked")
        self.assertEqual(code, 2)
        self.assertIn("--serial", err)

    def test_an_interrupted_attempt_is_not_resumed_after_a_rework(self):
        code, out, _ = self.stage("before_closing", "--fault", "open-sense-lead")
        self.assertEqual(code, 3)
        attempt = json.loads(out)["record_id"]
        done(self.records, self.unit["serial"], "re-tapped")
        code, _, err = self.stage("before_closing", "--resume", attempt)
        self.assertEqual(code, 2)
        self.assertIn("test --after \"re-tapped\"", err)

    def test_hand_checks_and_results_from_elsewhere_block_release(self):
        # A person at the terminal answers "failed" to each of them in turn: the unit is not released.
        for item, test in (("leak test", "hand_check"), ("production impulse", "elsewhere")):
            unit = {**self.unit, "options": {"hand_checks": ["leak test"], "elsewhere": ["production impulse"]}}
            path = os.path.join(self.folder.name, "order.json")
            with open(path, "w", encoding="utf-8") as file:
                json.dump(unit, file)
            code, out, err = virtual(path, "--answer", "%s.%s=failed" % (test, item))
            record = json.loads(out)
            self.assertEqual((code, record["outcome"], record["disposition"]), (1, "FAIL", "hold"), err[-800:])
            self.assertIn(item, record["reason"])


if __name__ == "__main__":
    unittest.main()
