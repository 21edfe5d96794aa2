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
        code, out, err = self.stage("before_closing", "--reason", "meter put right; signed: quality")
        self.assertEqual(code, 0, err[-800:])
        # Before closing nothing is released: the tank may be closed, and that is said.
        self.assertIn("Outcome PASS, close the tank", err)
        self.assertNotIn("PASS, release", err)
        planned = {step["test"] for step in json.loads(out)["steps"]}
        self.assertFalse(planned & {"no_load", "load_loss", "applied", "induced", "as_shipped"})
        code, out, err = self.stage("before_shipping")
        self.assertEqual(code, 0, err[-800:])
        self.assertIn("Outcome PASS, release", err)

    def test_rework_between_opens_the_measured_in_the_retest_table(self):
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

    def standing(self, serial):
        code, out, err = run("records", "standing", "--records", self.records, "--serial", serial, "--json")
        self.assertEqual(code, 0, err)
        return json.loads(out)

    def test_the_second_stage_is_measured_after_the_first_and_each_stands_by_itself(self):
        for stage in ("before_closing", "before_shipping"):
            self.assertEqual(self.stage(stage)[0], 0)
        both = self.standing(self.unit["serial"])["stages"]
        self.assertEqual([(s["stage"], s["stands"]) for s in both], [("before_closing", True), ("before_shipping", True)])
        measured = [set(self.measured_in(stage)) for stage in ("before_closing", "before_shipping")]
        self.assertLessEqual({"ratio", "winding_resistance"}, measured[0])
        self.assertLessEqual({"load_loss", "no_load", "applied", "induced", "as_shipped"}, measured[1])

    def measured_in(self, stage):
        _, out, _ = run("records", "show", "--records", self.records, "--serial", self.unit["serial"], "--json")
        return [step["test"] for line in out.splitlines() if line for record in [json.loads(line)] if record["stage"] == stage
                for step in record["steps"]]

    def test_a_rework_withdraws_the_pass_of_its_own_stage_until_every_retest_ran(self):
        unit = os.path.join(SOURCE, "sim/demo/units/single-phase-pad-50kva.json")
        with open(unit, encoding="utf-8") as file:
            serial = json.load(file)["serial"]

        def test(*arguments):
            code, out, err = virtual(unit, "--records", self.records, *arguments)
            record = json.loads(out)
            return code, record["outcome"], record["disposition"], record["reason"] + err[-500:]

        # Nothing to stand from: a retest alone is no release.
        code, outcome, disposition, words = test("--after", "re-tapped")
        self.assertEqual((code, outcome, disposition), (0, "PASS", "repeat"), words)
        self.assertIn("no whole pass", words)
        self.assertEqual(test()[:3], (0, "PASS", "release"))
        self.assertTrue(self.standing(serial)["stages"][0]["stands"])
        done(self.records, serial, "re-tapped")
        done(self.records, serial, "bushing replaced")
        stage = self.standing(serial)["stages"][0]
        self.assertEqual((stage["passed"], stage["stands"]), (True, False))
        self.assertLessEqual({"ratio", "applied", "induced", "as_shipped"}, set(stage["open"]))
        _, out, _ = run("records", "standing", "--records", self.records, "--serial", serial)
        self.assertIn("PASS withdrawn", out)
        # One of the two retests releases nothing, and says what is open besides; the other one closes it.
        code, outcome, disposition, words = test("--after", "re-tapped")
        self.assertEqual((code, outcome, disposition), (0, "PASS", "repeat"), words)
        self.assertIn("applied", words)
        self.assertEqual(test("--after", "bushing replaced")[:3], (0, "PASS", "release"))
        self.assertTrue(self.standing(serial)["stages"][0]["stands"])

    def test_a_unit_on_hold_is_energised_by_a_signed_reason_only(self):
        unit = os.path.join(SOURCE, "sim/demo/units/single-phase-pad-50kva.json")
        self.assertEqual(virtual(unit, "--records", self.records, "--fault", "one-lv-turn-missing")[0], 1)
        code, out, err = virtual(unit, "--records", self.records)
        self.assertEqual((code, out), (2, ""))
        self.assertIn("on hold", err)
        self.assertIn("--reason", err)
        # Not a breakdown: rewound, tested again with a reason, it passes and is off hold.
        code, out, err = virtual(unit, "--records", self.records, "--reason", "rewound; signed: quality")
        self.assertEqual((code, json.loads(out)["disposition"]), (0, "release"), err[-500:])
        self.assertEqual(virtual(unit, "--records", self.records)[0], 0)

    def test_a_unit_that_broke_down_stays_on_hold_until_quality_signs_whatever_the_repeat_shows(self):
        unit = os.path.join(SOURCE, "sim/demo/units/single-phase-pad-50kva.json")
        with open(unit, encoding="utf-8") as file:
            serial = json.load(file)["serial"]
        code, out, _ = virtual(unit, "--records", self.records, "--fault", "weak-insulation-to-earth")
        record = json.loads(out)
        self.assertEqual((code, record["outcome"], record["disposition"]), (1, "FAIL", "hold"), record["reason"])
        code, _, err = virtual(unit, "--records", self.records)
        self.assertEqual(code, 2)
        self.assertIn("benchward sign", err)
        # The repeat passes and clears nothing; a second one neither.
        for _ in range(2):
            code, out, err = virtual(unit, "--records", self.records, "--reason", "cause found: bushing; signed: quality")
            record = json.loads(out)
            self.assertEqual((code, record["outcome"], record["disposition"]), (0, "PASS", "hold"), err[-500:])
            self.assertIn("until quality signs", record["reason"])
        standing = self.standing(serial)
        self.assertTrue(standing["broke_down"])
        self.assertFalse(standing["stages"][0]["stands"])
        sign = ("sign", "--records", self.records, "--serial", serial, "--operator", "quality engineer")
        self.assertEqual(run(*sign)[0], 2)  # who and why: both
        code, out, err = run(*sign, "--words", "bushing replaced, cause in report 7")
        self.assertEqual(code, 0, err)
        standing = self.standing(serial)
        self.assertEqual((standing["hold"], standing["stages"][0]["stands"]), ("", True))
        code, out, err = virtual(unit, "--records", self.records)
        self.assertEqual((code, json.loads(out)["disposition"]), (0, "release"), err[-500:])
        code, _, err = run(*sign, "--words", "again")
        self.assertEqual(code, 2)
        self.assertIn("is not on hold", err)
        self.assertEqual(run("records", "verify", "--records", self.records)[0], 0)

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
