# SPDX-License-Identifier: MIT
"""`benchward calc` through the program: every topic refuses missing, unknown, non-numeric, non-finite and out-of-range
keys by name, with exit code 2 and nothing on standard output; so do impossible readings and dates that do not exist."""
import copy
import json
import re
import unittest
from concurrent.futures import ThreadPoolExecutor

from bench_under_test import run

WINDING = {"total_resistance_ohm": 3.2, "measured_at_c": 24, "metal": "copper", "rated_phase_current_a": 13.37}
GOOD = {
    "resistance-at-temperature": {"resistance_ohm": 1.5, "measured_at_c": 25, "reference_c": 85, "metal": "copper", "standard": "ieee"},
    "phase-resistances": {"line_to_line_ohm": [1, 1.1, 1.05], "connection": "wye"},
    "no-load-loss": {"measured_w": 100, "rms_v": 241, "average_v": 240, "eddy_fraction": 0.5, "core_c": 20, "reference_c": 20, "rated_v": 240},
    "load-loss": {"measured_w": 4000, "test_current_a": 20, "rated_current_a": 23.15, "winding_c": 25, "reference_c": 85,
                  "windings": [WINDING], "apparent_power_va": 20000, "phase_error_rad": 0.001},
    "impedance": {"impedance_voltage_v": 500, "rated_voltage_v": 12470, "test_current_a": 23, "rated_current_a": 23.15,
                  "load_loss_w": 4000, "rated_kva": 500, "load_loss_reference_w": 4500},
    "ratio": {"vector_group": "Dyn1", "hv_rated_v": 12470, "lv_rated_v": 480, "tap_percent": 2.5, "measured_ratio": 45},
    "phase-relation": {"vector_group": "Dyn1"},
    "polarity": {"join": "adjacent", "applied_v": 100, "expected_lv_v": 3.3, "across_v": 96.7},
    "efficiency": {"rated_kva": 50, "no_load_loss_w": 90, "load_loss_w": 515, "load_fraction": 0.5, "power_factor": 1},
    "efficiency-minimum": {"phases": 3, "rated_kva": 500, "manufactured_on": "2026-01-01", "submersible": False},
    "represented-efficiency": {"efficiencies_percent": [99.1, 99.2, 99.15], "represented_percent": 99.15},
    "equivalent-circuit": {"open": {"voltage_v": 240, "current_a": 2, "power_w": 120}, "short": {"voltage_v": 150, "current_a": 10, "power_w": 600}},
    "regulation": {"r_percent": 1.3, "x_percent": 3.8, "power_factor": 0.8, "leading": False, "load_fraction": 1},
    "induced-test": {"standard": "ieee", "rated_v": 240, "rated_hz": 60, "test_hz": 180, "case": "twice_rated"},
    "uncertainty": {"components": [{"name": "a", "standard_uncertainty": 1, "sensitivity": 2, "degrees_of_freedom": 9}], "coverage": 0.95},
    "conformity": {"value": 1, "standard_uncertainty": 0.1, "lower": 0, "upper": 2, "guard_factor": 1},
    "capability": {"values": [1, 2, 3], "lower": 0, "upper": 4},
    "control-chart": {"values": [1, 2, 3], "kind": "ewma", "weight": 0.3, "target": 2, "sigma": 1},
    "modbus-crc": {"bytes": "01 03 00 00 00 0A"},
}
# Keys that may be left out; every other key of GOOD is required.
OPTIONAL = {"standard", "eddy_fraction", "core_c", "reference_c of no-load-loss", "rated_v of no-load-loss", "load_loss_reference_w", "tap_percent",
            "load_fraction", "power_factor of efficiency", "leading", "case", "degrees_of_freedom", "coverage", "lower", "upper", "guard_factor", "weight"}
# topic, path that is changed and must be named, value
OUT_OF_RANGE = [
    ("resistance-at-temperature", "/resistance_ohm", 0), ("resistance-at-temperature", "/resistance_ohm", -1.5),
    ("resistance-at-temperature", "/measured_at_c", -234.5), ("resistance-at-temperature", "/reference_c", -300),
    ("resistance-at-temperature", "/metal", "iron"), ("resistance-at-temperature", "/standard", "ansi"),
    ("phase-resistances", "/line_to_line_ohm", [1, 1.1]), ("phase-resistances", "/line_to_line_ohm", []),
    ("phase-resistances", "/line_to_line_ohm", [1, 1, 2.5]), ("phase-resistances", "/line_to_line_ohm/1", -1.1),
    ("phase-resistances", "/line_to_line_ohm/2", 0), ("phase-resistances", "/connection", "zigzag"),
    ("no-load-loss", "/measured_w", -1), ("no-load-loss", "/measured_w", 0), ("no-load-loss", "/rms_v", 0), ("no-load-loss", "/average_v", -240),
    ("no-load-loss", "/rated_v", 0), ("no-load-loss", "/eddy_fraction", 1.1), ("no-load-loss", "/eddy_fraction", -0.1),
    ("no-load-loss", "/core_c", -300), ("no-load-loss", "/reference_c", -300),
    ("load-loss", "/measured_w", 20001), ("load-loss", "/measured_w", -4000), ("load-loss", "/test_current_a", -20), ("load-loss", "/test_current_a", 0),
    ("load-loss", "/rated_current_a", 0), ("load-loss", "/rated_current_a", -23.15), ("load-loss", "/apparent_power_va", -1),
    ("load-loss", "/phase_error_rad", 2), ("load-loss", "/windings", []), ("load-loss", "/windings/0/metal", "gold"),
    ("load-loss", "/windings/0/total_resistance_ohm", -3.2), ("load-loss", "/windings/0/rated_phase_current_a", 0),
    ("load-loss", "/windings/0/measured_at_c", -400), ("load-loss", "/winding_c", -400), ("load-loss", "/reference_c", -400),
    ("impedance", "/load_loss_w", 40000), ("impedance", "/rated_voltage_v", 0), ("impedance", "/rated_voltage_v", -12470),
    ("impedance", "/rated_kva", 0), ("impedance", "/rated_current_a", -1), ("impedance", "/test_current_a", -23), ("impedance", "/load_loss_reference_w", -1),
    ("ratio", "/vector_group", "Dyn2"), ("ratio", "/vector_group", ""), ("ratio", "/hv_rated_v", 0), ("ratio", "/lv_rated_v", -480),
    ("ratio", "/tap_percent", -100), ("ratio", "/measured_ratio", 0),
    ("phase-relation", "/vector_group", "Dyn13"), ("phase-relation", "/vector_group", "hello"),
    ("polarity", "/join", "adjacnt"), ("polarity", "/applied_v", 0), ("polarity", "/expected_lv_v", -1), ("polarity", "/across_v", -1),
    ("efficiency", "/rated_kva", 0), ("efficiency", "/no_load_loss_w", -1), ("efficiency", "/load_loss_w", -1), ("efficiency", "/power_factor", 0),
    ("efficiency", "/power_factor", 1.01), ("efficiency", "/load_fraction", 0),
    ("efficiency-minimum", "/phases", 2), ("efficiency-minimum", "/phases", 3.5), ("efficiency-minimum", "/rated_kva", 2501),
    ("efficiency-minimum", "/rated_kva", 14.9), ("efficiency-minimum", "/rated_kva", -500),
    ("efficiency-minimum", "/manufactured_on", "2026-02-29"), ("efficiency-minimum", "/manufactured_on", "2026-13-01"),
    ("efficiency-minimum", "/manufactured_on", "2026-00-10"), ("efficiency-minimum", "/manufactured_on", "2026-04-31"),
    ("efficiency-minimum", "/manufactured_on", "1900-02-29"), ("efficiency-minimum", "/manufactured_on", "01.02.2026"),
    ("efficiency-minimum", "/manufactured_on", "2026-1-1"), ("efficiency-minimum", "/manufactured_on", "2009-12-31"),
    ("represented-efficiency", "/efficiencies_percent", []), ("represented-efficiency", "/efficiencies_percent/1", 100),
    ("represented-efficiency", "/represented_percent", 0), ("represented-efficiency", "/represented_percent", 100.5),
    ("equivalent-circuit", "/open/power_w", 481), ("equivalent-circuit", "/open/power_w", -120), ("equivalent-circuit", "/short/power_w", 1501),
    ("equivalent-circuit", "/short/current_a", 0), ("equivalent-circuit", "/open/current_a", -2), ("equivalent-circuit", "/open/voltage_v", -240),
    ("regulation", "/power_factor", 1.01), ("regulation", "/power_factor", -0.1), ("regulation", "/r_percent", -1), ("regulation", "/x_percent", 101),
    ("regulation", "/load_fraction", -1),
    ("induced-test", "/test_hz", 119.9), ("induced-test", "/rated_v", 0), ("induced-test", "/rated_hz", -60), ("induced-test", "/case", "thrice"),
    ("uncertainty", "/components/0/degrees_of_freedom", 0), ("uncertainty", "/components/0/standard_uncertainty", -1),
    ("uncertainty", "/components", []), ("uncertainty", "/coverage", 1), ("uncertainty", "/coverage", 0),
    ("conformity", "/upper", -2), ("conformity", "/standard_uncertainty", -0.1), ("conformity", "/guard_factor", -1),
    ("capability", "/values", [1]), ("capability", "/values", [2, 2, 2]), ("capability", "/upper", -1),
    ("control-chart", "/sigma", 0), ("control-chart", "/sigma", -1), ("control-chart", "/weight", 0), ("control-chart", "/weight", 1.02),
    ("control-chart", "/values", []), ("control-chart", "/kind", "cusum"),
    ("modbus-crc", "/bytes", "00 0"), ("modbus-crc", "/bytes", "0G"), ("modbus-crc", "/bytes", ""),
]


def optional(topic, key):
    return key in OPTIONAL or f"{key} of {topic}" in OPTIONAL


def leaves(value, path=""):
    """(path, value) of every key and list entry, containers too."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield f"{path}/{key}", inner
        yield from leaves(inner, f"{path}/{key}")


def holder(document, path):
    *parents, last = path.split("/")[1:]
    for part in parents:
        document = document[int(part)] if isinstance(document, list) else document[part]
    return document, int(last) if isinstance(document, list) else last


def changed(topic, path, value):
    document = copy.deepcopy(GOOD[topic])
    place, key = holder(document, path)
    place[key] = value
    return json.dumps(document)


class CalcBadInput(unittest.TestCase):
    def refused(self, cases):
        """Each (topic, text, path that must be named, what)."""
        def one(case):
            return case, run("calc", case[0], stdin=case[1])
        with ThreadPoolExecutor(4) as pool:
            for (topic, text, path, what), (code, out, err) in pool.map(one, cases):
                with self.subTest(topic=topic, path=path, what=what):
                    self.assertEqual(code, 2, f"{text}: {out}{err}")
                    self.assertEqual(out, "")
                    self.assertRegex(err, rf"{re.escape(path)}\b" if path else topic, text)
                    self.assertLess(len(err.splitlines()), 4, err)
        self.assertGreater(len(cases), 15)

    def test_every_topic_has_a_good_input_that_is_answered(self):
        code, out, err = run("calc", "--list")
        self.assertEqual(code, 0, err)
        self.assertEqual(set(re.findall(r"^([a-z][a-z-]+): ", out, re.MULTILINE)), set(GOOD))
        for topic, document in GOOD.items():
            code, out, err = run("calc", topic, stdin=json.dumps(document))
            self.assertEqual((code, err), (0, ""), topic)
            self.assertGreater(len(json.loads(out)["source"]), 10)

    def test_missing_keys_are_named(self):
        cases = []
        for topic, document in GOOD.items():
            for path, _ in leaves(document):
                place, key = holder(copy.deepcopy(document), path)
                if isinstance(place, list) or optional(topic, key):
                    continue
                spoiled = copy.deepcopy(document)
                place, key = holder(spoiled, path)
                del place[key]
                cases.append((topic, json.dumps(spoiled), path, "left out"))
        self.assertGreater(len(cases), 60)
        self.refused(cases)

    def test_unknown_keys_are_named(self):
        cases = []
        for topic, document in GOOD.items():
            cases.append((topic, json.dumps({**document, "measuerd_w": 1}), "/measuerd_w", "unknown"))
            for path, inner in leaves(document):
                if isinstance(inner, dict):
                    cases.append((topic, changed(topic, path, {**inner, "metall": 1}), path + "/metall", "unknown inside"))
        self.refused(cases)

    def test_words_for_numbers_and_numbers_for_words_are_refused(self):
        cases = []
        for topic, document in GOOD.items():
            for path, inner in leaves(document):
                for wrong in (None, {}, "five", True, []):
                    if isinstance(inner, bool) and wrong is True or isinstance(inner, str) and wrong == "five" and topic not in (
                            "resistance-at-temperature", "polarity"):
                        continue
                    if isinstance(inner, list) and wrong == [] or isinstance(inner, dict) and wrong == {} or path.endswith("/name") and wrong == "five":
                        continue
                    cases.append((topic, changed(topic, path, wrong), path, f"{wrong!r} for {inner!r}"))
        self.refused(cases)

    def test_numbers_that_are_none_are_refused(self):
        cases = []
        for topic, document in GOOD.items():
            for path, inner in leaves(document):
                if isinstance(inner, bool) or not isinstance(inner, (int, float)):
                    continue
                text = changed(topic, path, "HERE")
                for wrong in ("NaN", "Infinity", "-Infinity", "1e999", "-1e999"):
                    cases.append((topic, text.replace('"HERE"', wrong), path, wrong))
                # Not JSON at all: the message names line and column. (In a list 1,5 are two numbers.)
                for wrong in ("0x10", "+1", ".5") if path[-1].isdigit() else ("0x10", "+1", ".5", "1,5"):
                    cases.append((topic, text.replace('"HERE"', wrong), "", wrong))
        self.refused(cases)

    def test_out_of_range_and_impossible_readings_are_named(self):
        cases = [(topic, changed(topic, path, value), path, value) for topic, path, value in OUT_OF_RANGE]
        self.assertEqual({topic for topic, *_ in OUT_OF_RANGE}, set(GOOD))
        self.refused(cases)

    def test_both_or_neither(self):
        self.refused([(topic, json.dumps({key: value for key, value in GOOD[topic].items() if key not in left_out}), path, "one of two")
                      for topic, left_out, path in (
                          ("load-loss", ("phase_error_rad",), "/phase_error_rad"), ("load-loss", ("apparent_power_va",), "/apparent_power_va"),
                          ("conformity", ("lower", "upper"), "/upper"))] +
                     [("induced-test", json.dumps({**GOOD["induced-test"], "test_hz": 400, "case": "line_to_ground", **more}), path, "line to ground")
                      for more, path in (({}, "/winding_v"), ({"winding_v": 0}, "/winding_v"), ({"winding_v": 7200, "ceiling_v": -1}, "/ceiling_v"),
                                         ({"winding_v": 7200, "standard": "iec"}, "/case"))] +
                     [(topic, text, "", text) for topic in ("ratio", "uncertainty", "modbus-crc") for text in ("", "[]", "{", "null", '{"a": 1, "a": 2}')])

    def test_a_topic_that_is_none_names_the_nearest(self):
        code, out, err = run("calc", "load-los", stdin="{}")
        self.assertEqual((code, out), (2, ""))
        self.assertIn("load-loss", err)


if __name__ == "__main__":
    unittest.main()
