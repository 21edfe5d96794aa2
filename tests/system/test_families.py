# SPDX-License-Identifier: MIT
"""Every demo unit document, family by family: a plan with reasons, and a good unit that passes all of it."""
import glob
import json
import os
import sys
import tempfile
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

    def test_the_table_in_the_readme_is_what_the_plans_do(self):
        with open(os.path.join(SOURCE, "tests_seq/README.md"), encoding="utf-8") as file:
            table = file.read().split("<!-- planned: begin -->\n")[1].split("<!-- planned: end -->")[0].splitlines()
        tests = [cell.strip().replace(" ", "_") for cell in table[0].split("|")[2:-1]]
        self.assertEqual(set(tests) | {"identity", "temperatures"}, TESTS)
        said = {cells[0]: dict(zip(tests, cells[1:])) for cells in ([c.strip() for c in row.split("|")[1:-1]] for row in table[2:])}
        self.assertEqual(set(said), {os.path.basename(path)[:-5] for path in UNITS})
        for path in UNITS:
            planned = set()
            for stage in stages(document(path)):
                _, out, _ = run("plan", "--bench", SCALED, "--unit", path, "--stage", stage, "--json")
                planned |= {step["test"] for step in json.loads(out)["steps"]}
            row = said[os.path.basename(path)[:-5]]
            self.assertEqual({test for test in tests if row[test] == "x"}, planned - {"identity", "temperatures"}, path)

    def test_a_good_unit_of_every_family_passes(self):
        begin = time.monotonic()
        for path in UNITS:
            unit = document(path)
            for stage in stages(unit):
                code, out, err = virtual(path, "--stage", stage)
                with self.subTest(unit=os.path.basename(path), stage=stage):
                    self.assertEqual(code, 0, err[-1500:] + out[-500:])
                    self.assertEqual(json.loads(out)["outcome"], "PASS")
                    self.assertNotIn("DANGEROUS MOMENT", err)
        print("%d units in %.1f s" % (len(UNITS), time.monotonic() - begin), file=sys.stderr)

    def test_a_resistance_that_falls_turns_and_climbs_is_not_taken_at_the_turn(self):
        """A large five-limb unit with a closed delta: its reading stands for a moment 7 % below where it ends minutes later. By the
        simulator's true resistance, which is a closed form of its design."""
        drawn = document(os.path.join(SOURCE, "sim/demo/units/three-phase-pad-75kva-delta-mid-tapped.json"))
        drawn.update(rated_kva=2500, vector_group="Dd0", core_form="five_limb")
        drawn["hv"].update(rated_v=4160)
        drawn["lv"].update(rated_v=600, turns=22, metal="copper")
        drawn["guarantees"] = {"no_load_loss_w": 2480, "load_loss_w": 14000, "total_loss_w": 16480, "impedance_percent": 4.0}
        with tempfile.TemporaryDirectory(prefix="benchward-turn-") as folder:
            path, kept = os.path.join(folder, "unit.json"), os.path.join(folder, "truth.json")
            with open(path, "w", encoding="utf-8") as file:
                json.dump(drawn, file)
            code, out, err = virtual(path, "--truth", kept)
            self.assertEqual(code, 0, err[-800:] + out[-300:])
            truth = document(kept)["true_values"]
            read = 0
            for result in json.loads(out)["results"]:
                if result["quantity"] != "resistance_ohm" or ", X" not in result["at"]:
                    continue
                a, b = sorted(result["at"].split(", ")[1].split("-"))
                at_c = next(i["value"] for i in result["intermediates"] if i["name"] == "winding temperature")
                true = truth["resistance_ohm %s-%s" % (a, b)] * (234.5 + at_c) / (234.5 + 20.0)
                self.assertAlmostEqual(result["value"] / true, 1.0, delta=0.005, msg=result["at"])
                read += 1
            self.assertEqual(read, 3)

    def test_several_benches_which_can_which_cannot_and_why(self):
        folder = os.path.join(SOURCE, "sim/demo/benches")
        benches = [os.path.join(folder, name) for name in ("01-scaled.json", "03-small-single-phase.json", "04-coarse-meters.json")]
        flags = [word for bench in benches for word in ("--bench", bench)]
        for name, small_can, why_small, why_coarse in (
                ("single-phase-overhead-10kva-one-bushing", True, (), ("Hz",)),
                ("single-phase-pad-833kva", False, ("833 kVA", "A of the dielectric set"), ("uncertainty ratio", "Hz")),
                ("three-phase-400kva-dyn11-50hz", False, ("three-phase", "400 kVA", "50 Hz"), ()),
                ("three-phase-pad-2500kva-dyn1", False, ("2500 kVA", "25 kVA", "A of the dielectric set"), ("uncertainty ratio",))):
            code, out, err = run("plan", *flags, "--unit", os.path.join(folder, "../units", name + ".json"), "--json")
            self.assertEqual(code, 0, err)
            plan = json.loads(out)
            self.assertEqual(plan["testable"], ["demo-bench-1"] + ["demo-bench-3"] * small_can + ["demo-bench-4"] * (not why_coarse))
            reasons = {entry["bench"]: " ".join(entry["why_not"]) for entry in plan["not_testable"]}
            for word in why_small:
                self.assertIn(word, reasons["demo-bench-3"])
            for word in why_coarse:
                self.assertIn(word, reasons["demo-bench-4"])
        code, out, err = run("plan", "--bench", benches[2], "--unit", os.path.join(folder, "../units/single-phase-pad-833kva.json"))
        self.assertEqual(code, 2)
        self.assertIn("cannot test unit", err)

    def test_plan_needs_fewer_changes_of_leads_than_the_order_of_the_clauses(self):
        for path in UNITS:
            code, out, _ = run("plan", "--bench", SCALED, "--unit", path, "--stage", stages(document(path))[-1], "--json")
            plan = json.loads(out)
            self.assertEqual(code, 0)
            self.assertLess(plan["connection_changes"], plan["naive_connection_changes"], path)
            self.assertGreaterEqual(plan["unbroken_area_saves_s"], 13, path)
            kept = sum(step["keeps_area"] for step in plan["steps"])
            self.assertEqual(plan["unbroken_area_saves_s"], 13 * kept)

    def contradiction(self, unit, change, words):
        """The document with one thing changed is refused, exit 2, in words that name the place."""
        drawn = document(os.path.join(SOURCE, "sim/demo/units", unit + ".json"))
        change(drawn)
        with tempfile.TemporaryDirectory(prefix="benchward-order-") as folder:
            path = os.path.join(folder, "order.json")
            with open(path, "w", encoding="utf-8") as file:
                json.dump(drawn, file)
            for command in (("plan", "--bench", SCALED), ("test", "--virtual", "--yes", "--bench", SCALED)):
                code, _, err = run(*command, "--unit", path)
                self.assertEqual(code, 2, words + err)
                for word in words.split("|"):
                    self.assertIn(word, err)

    def test_contradictory_orders_are_refused_by_place_and_reason(self):
        one, joined = "single-phase-overhead-10kva-one-bushing", "three-phase-pad-300kva-ynyn0-joined"
        self.contradiction(one, lambda u: u["hv"].update(applied_kv=34), "/hv/applied_kv|on the tank")
        self.contradiction(joined, lambda u: u["hv"].update(applied_kv=34), "/hv/applied_kv|joined")
        self.contradiction(joined, lambda u: u["lv"].update(applied_kv=10), "/lv/applied_kv|joined")
        self.contradiction("single-phase-pad-50kva", lambda u: u["hv"].update(rated_tap=9), "/hv/rated_tap|not in the list")
        self.contradiction("single-phase-pad-50kva", lambda u: u["hv"].update(rated_tap=1), "/hv/rated_tap|0 %")
        self.contradiction("three-phase-pad-750kva-dd0", lambda u: u.update(vector_group="Dd1"), "/vector_group")
        self.contradiction("three-phase-pad-750kva-dd0", lambda u: u.update(lv_neutral="own_bushing"), "/lv_neutral|delta")
        self.contradiction("three-phase-pad-500kva-dyn1", lambda u: u.update(lv_form="mid_tapped_leg"), "/lv_form|delta")
        self.contradiction("single-phase-pad-50kva-dual-voltage", lambda u: u["hv"]["dual_voltage"].update(ordered_position=2), "/hv/rated_v|7200")
        self.contradiction("three-phase-pad-2500kva-dyn1", lambda u: u["options"].update(no_load_percents=[90, 110]), "no_load_percents|100 %")
        self.contradiction("three-phase-substation-5000kva-dyn1", lambda u: u["options"].update(stages=["before_shipping", "before_closing"]), "/options/stages")
        self.contradiction("three-phase-pad-150kva-ynyn0-own-neutral", lambda u: u["hv"].update(applied_kv=34), "neutral_insulation_kv")


    def test_rework_repeats_what_the_retest_table_says(self):
        unit = os.path.join(SOURCE, "sim/demo/units/single-phase-pad-50kva.json")
        for done, repeated, stands in (
                ("re-tapped", {"ratio", "as_shipped"}, {"applied", "induced", "load_loss", "winding_resistance"}),
                ("tap contact worked on", {"ratio", "winding_resistance", "as_shipped"}, {"applied", "induced"}),
                ("bushing replaced", {"ratio", "applied", "induced", "hand_check", "as_shipped"}, {"load_loss", "no_load"}),
                ("refilled", {"applied", "induced", "hand_check", "as_shipped"}, {"ratio", "no_load"}),
                ("coil replaced", {"ratio", "polarity", "winding_resistance", "load_loss", "no_load", "applied", "induced"}, set())):
            code, out, err = run("plan", "--bench", SCALED, "--unit", unit, "--after", done, "--json")
            self.assertEqual(code, 0, err)
            plan = json.loads(out)
            planned = {step["test"] for step in plan["steps"]}
            self.assertLessEqual(repeated | {"identity", "temperatures"}, planned)
            self.assertFalse(planned & stands, done)
            self.assertLessEqual(stands, {left["test"] for left in plan["left_out"]})
        code, _, err = run("plan", "--bench", SCALED, "--unit", unit, "--after", "painted")
        self.assertEqual(code, 2)
        self.assertIn("bushing replaced", err)

    def test_an_operator_who_only_presses_enter_starts_nothing(self):
        unit = os.path.join(SOURCE, "sim/demo/units/single-phase-pad-50kva.json")
        code, out, err = run("test", "--virtual", "--bench", SCALED, "--unit", unit, stdin="\n" * 40, timeout=30)
        self.assertEqual(code, 4, err[-500:])
        self.assertIn("An empty answer is no answer", out + err)
        self.assertIn("nobody answers any more", out + err)
        self.assertIn("Finished: nothing", out + err)
        # With everything but the last answers right: stopped before anything is energised, nothing is made up.
        code, out, err = run("test", "--virtual", "--bench", SCALED, "--unit", unit, stdin="yes\n\n\n", timeout=30)
        self.assertEqual(code, 4, err[-500:])
        self.assertNotIn("Live", out + err)


if __name__ == "__main__":
    unittest.main()
