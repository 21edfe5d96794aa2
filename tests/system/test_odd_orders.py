# SPDX-License-Identifier: MIT
"""Orders that contradict themselves, benches that cannot, and a person who only presses Enter: each refused by one clear line
and its exit code, none of them a way to a PASS. The rules are this project's; what they rest on is named in tests_seq/README.md."""
import json
import os
import subprocess
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

from bench_under_test import SCALED, SIMULATOR, SINGLE, SOURCE, run, virtual

DRAWN = os.path.join(SOURCE, "tests/system/data")
DEMO = os.path.join(SOURCE, "sim/demo/units")
# Every question that a run can put about a reading; all are answered by an empty line.
QUESTIONS = ["tap.right", "arresters.off", "applied.current", "unit.rest"] + [
    "%s.%s" % (test, about) for test in ("ratio", "polarity", "phase_relation", "winding_resistance", "no_load", "load_loss", "applied", "induced", "as_shipped")
    for about in ("right", "leads")]


def document(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


class OddOrders(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="benchward-odd-")

    def tearDown(self):
        self.folder.cleanup()

    def changed(self, source, change, name="changed.json"):
        drawn = document(source)
        change(drawn)
        path = os.path.join(self.folder.name, name)
        with open(path, "w", encoding="utf-8") as file:
            json.dump(drawn, file)
        return path

    def refused(self, words, bench=SCALED, unit=SINGLE):
        """Plan and test both end with exit 2, and one line of standard error has all the words."""
        for command in (("plan",), ("test", "--virtual", "--yes")):
            code, _, err = run(*command, "--bench", bench, "--unit", unit)
            self.assertEqual(code, 2, err[-500:])
            self.assertTrue(any(all(word in line for word in words) for line in err.splitlines()), "%s not in one line of: %s" % (words, err))

    def test_an_applied_level_for_a_winding_that_no_applied_test_may_touch(self):
        one = os.path.join(DEMO, "single-phase-overhead-10kva-one-bushing.json")
        self.refused(("/hv/applied_kv", "on the tank"), unit=self.changed(one, lambda u: u["hv"].update(applied_kv=34)))
        joined = os.path.join(DEMO, "three-phase-submersible-1000kva-ynyn0-joined-inside.json")
        for side in ("hv", "lv"):
            self.refused(("/%s/applied_kv" % side, "joined"), unit=self.changed(joined, lambda u, side=side: u[side].update(applied_kv=10)))

    def test_limbs_whose_volts_nothing_holds_get_no_induced_test_to_earth(self):
        """Zigzag fed, no delta, five limbs, much capacitance: one limb jumped to 107 kV where 70 kV were meant (drawn by `families`)."""
        self.refused(("nothing holds the volts", "Ask the designer"), unit=os.path.join(DRAWN, "three-phase-2500kva-ynzn11-five-limb.json"))

    def test_both_positions_of_a_dual_voltage_switch_give_their_ratio(self):
        """The position that is not ordered first; a switch whose contacts do not follow its handle is found there."""
        unit = os.path.join(DEMO, "single-phase-pad-50kva-dual-voltage.json")
        code, out, _ = virtual(unit)
        ratios = [r["at"] for r in json.loads(out)["results"] if r["quantity"] == "ratio_error_percent" and r["test"] == "ratio"]
        self.assertEqual((code, len(ratios)), (0, 6), ratios)
        self.assertTrue(all(at.startswith("switch position 2, ") for at in ratios[:3]), ratios)
        code, out, _ = virtual(unit, "--fault", "dual-voltage-switch-dead")
        record = json.loads(out)
        self.assertEqual((code, record["outcome"]), (1, "FAIL"), record["reason"])
        self.assertIn("switch position 2", record["reason"])

    def test_leads_stay_on_while_a_current_circulates_in_a_closed_delta(self):
        """It shows in the leads, and rises, only once the earth has closed; leads came off with 24 mA (drawn by `families`)."""
        code, out, err = virtual(os.path.join(DRAWN, "three-phase-3750kva-dyn5-five-limb.json"))
        self.assertEqual((code, json.loads(out)["outcome"]), (0, "PASS"), err[-1000:])
        self.assertIn("leads stay on", err)
        self.assertNotIn("DANGEROUS MOMENT", err)

    def test_a_winding_of_sixteen_microohms_settles_in_steps_of_the_meters_resolution(self):
        code, out, err = virtual(os.path.join(DRAWN, "single-phase-667kva-120v.json"))
        self.assertEqual((code, json.loads(out)["outcome"]), (0, "PASS"), err[-1000:])

    def test_a_tap_list_without_its_rated_tap(self):
        self.refused(("/hv/rated_tap", "not in the list"), unit=self.changed(SINGLE, lambda u: u["hv"].update(rated_tap=9)))
        self.refused(("/hv/rated_tap",), unit=self.changed(SINGLE, lambda u: u["hv"].pop("rated_tap")))
        self.refused(("/hv/rated_tap", "0 %"), unit=self.changed(SINGLE, lambda u: u["hv"].update(rated_tap=2)))

    def test_a_source_that_cannot_reach_the_lowest_frequency_of_the_induced_test(self):
        """At twice rated volts the flux stays rated only from twice rated frequency: 120 Hz (IEEE C57.12.90, from memory)."""
        slow = self.changed(SCALED, lambda b: b["envelope"].update(highest_hz=119), "slow.json")
        self.refused(("induced", "120 Hz", "119"), bench=slow)
        enough = self.changed(SCALED, lambda b: b["envelope"].update(highest_hz=121), "enough.json")
        self.assertEqual(run("plan", "--bench", enough, "--unit", SINGLE)[0], 0)
        # A source that then runs slower than it says: INVALID, never a pass of a test at too low a frequency.
        code, out, _ = virtual(SINGLE, "--fault", "wrong-frequency=-15")
        self.assertEqual((code, json.loads(out)["outcome"]), (3, "INVALID"))

    def test_a_unit_that_no_bench_can_test(self):
        big = os.path.join(DEMO, "three-phase-pad-2500kva-dyn1.json")
        benches = [os.path.join(SOURCE, "sim/demo/benches", name) for name in ("03-small-single-phase.json", "04-coarse-meters.json")]
        code, out, err = run("plan", "--bench", benches[0], "--bench", benches[1], "--unit", big, "--json")
        self.assertEqual(code, 2, err)
        plan = json.loads(out)
        self.assertEqual((plan["testable"], plan["steps"], len(plan["not_testable"])), ([], [], 2))
        for bench in benches:
            code, _, err = run("test", "--virtual", "--yes", "--bench", bench, "--unit", big)
            self.assertEqual(code, 2)
            self.assertIn("cannot test unit", err)

    def test_a_dual_voltage_unit_is_measured_in_either_ordered_position(self):
        """The switch is part of the order. Whichever position is ordered: ratio, resistance, load loss and as-shipped there."""
        dual = os.path.join(DEMO, "single-phase-pad-50kva-dual-voltage.json")
        voltage = document(dual)["hv"]["dual_voltage"]
        for position, rated in ((1, voltage["higher_v"]), (2, voltage["lower_v"])):
            def order(unit, position=position, rated=rated):
                unit["hv"].update(rated_v=rated)
                unit["hv"]["dual_voltage"]["ordered_position"] = position
                unit["switches"][0]["shipped_state"] = str(position)
            code, out, err = virtual(self.changed(dual, order, "position-%d.json" % position))
            self.assertEqual(code, 0, err[-800:])
            record = json.loads(out)
            self.assertEqual(record["outcome"], "PASS")
            ratio = next(r for r in record["results"] if r["quantity"] == "ratio_error_percent" and r["at"].endswith("H1-H2:X1-X3")
                         and not r["at"].startswith("switch position"))
            measured = next(i["value"] for i in ratio["intermediates"] if i["name"] == "measured ratio of the pair")
            self.assertAlmostEqual(measured / (rated / document(dual)["lv"]["rated_v"]), 1.0, delta=0.005)
            losses = [r["value"] for r in record["results"] if r["quantity"] in ("corrected_load_loss_w", "impedance_percent")]
            self.assertEqual(len(losses), 2)
        # The plan gives the switch's position in every step that feeds the unit: the ordered one but in the first ratio step.
        _, out, _ = run("plan", "--bench", SCALED, "--unit", os.path.join(self.folder.name, "position-2.json"))
        self.assertEqual(out.count("set    dual voltage switch: 2"), 11)
        self.assertEqual(out.count("set    dual voltage switch: 1"), 1)
        # A switch that ships in another position than the ordered voltage is a contradiction of the order.
        self.refused(("/switches/0/shipped_state", "ordered"), unit=self.changed(dual, lambda u: u["switches"][0].update(shipped_state="2")))

    def test_a_person_who_answers_every_question_with_enter_passes_no_questioned_reading(self):
        """Every fault of unit and bench that must not pass on this unit, with a person who answers nothing but empty lines: at the
        simulated bench, where such answers get past the terminal that refuses them."""
        listed = json.loads(subprocess.run([SIMULATOR, "--list-faults", "--json"], capture_output=True, text=True, check=True).stdout)
        faults = [f["name"] for f in listed if f["where"] in ("unit", "bench") and f["expected_outcome"] in ("INVALID", "FAIL")]
        self.assertGreater(len(faults), 30)
        empty = [word for question in QUESTIONS for word in ("--answer", question + "=")]

        def outcome(fault):
            code, out, err = virtual(SINGLE, "--fault", fault, *empty)
            return fault, code, json.loads(out)["outcome"] if out else err[-200:], "DANGEROUS MOMENT" in err

        with ThreadPoolExecutor(2) as pool:
            found = [one for one in pool.map(outcome, faults) if one[1] != 2]  # 2: not a fault of this kind of unit
        passed = [one for one in found if one[1] == 0]
        # What a good answer leaves as a pass on this unit passes here as well; nothing else may.
        for fault, code, words, _ in passed:
            self.assertEqual(virtual(SINGLE, "--fault", fault)[0], 0, "%s passes by Enter alone: %d %s" % (fault, code, words))
        wrong_tap = next(one for one in found if one[0] == "unit-on-wrong-tap")
        self.assertIn(wrong_tap[1], (1, 3))
        # A sound unit: questions are put there too (is this the unit?), and an empty line is no yes.
        code, out, _ = virtual(SINGLE, "--answer", "unit.identity=")
        self.assertNotEqual(code, 0)
        self.assertNotEqual(json.loads(out)["outcome"], "PASS")


if __name__ == "__main__":
    unittest.main()
