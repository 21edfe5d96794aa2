# SPDX-License-Identifier: MIT
"""`bench check` and `bench watch` as the technician runs them, instruments of other makes, and benches that cannot be."""
import json
import os
import tempfile
import unittest

from bench_check_sweep import LONGEST_S, check, seen
from bench_under_test import SCALED, SINGLE, SOURCE, SimulatedBench, run
from standstill import BenchOnWires

OTHER_MAKES = {"power_analyzer": "demo-power-analyser-float", "ac_source": "demo-ac-source-exponent",
               "resistance_meter": "demo-resistance-meter-suffix"}


def scaled_bench():
    with open(SCALED, encoding="utf-8") as file:
        return json.load(file)


class BenchCommands(BenchOnWires):
    def written(self, document, name="bench.json"):
        folder = tempfile.TemporaryDirectory(prefix="benchward-bench-")
        self.addCleanup(folder.cleanup)
        path = os.path.join(folder.name, name)
        with open(path, "w", encoding="utf-8") as file:
            json.dump(document, file)
        return path

    def real_bench(self, change):
        """The demo bench as one that is not simulated, with addresses that nobody serves, and one change."""
        bench = scaled_bench()
        bench["simulated"] = False
        bench.pop("simulation", None)
        for number, link in enumerate(bench["links"]):
            where = f"127.0.0.1:{1000 + number}"
            if link["kind"] == "text":
                link["kind"] = "text_tcp"
            if link["kind"] == "modbus_rtu":
                link["kind"] = "modbus_tcp"
            link["address"] = {"modbus_tcp": "modbus-tcp://", "text_tcp": "text-tcp://"}[link["kind"]] + where
        change(bench)
        return self.written(bench)

    # bench check

    def test_a_sound_bench_has_nothing_wrong(self):
        code, answer, took = check()
        self.assertEqual((code, seen(answer)), (0, {}), answer)
        self.assertLess(took, LONGEST_S)

    def test_a_device_that_says_nothing_is_named_with_what_to_do(self):
        code, answer, took = check(["no-answer"])
        self.assertEqual(code, 3, answer)
        self.assertEqual(list(seen(answer)), ["power-analyser"])
        self.assertIn("check power", seen(answer)["power-analyser"][0]["next"])
        self.assertLess(took, LONGEST_S)

    def test_wrong_words_and_wrong_checks_are_told_apart(self):
        code, answer, _ = check(["words-swapped", "wrong-check"])
        self.assertEqual(code, 3, answer)
        found = seen(answer)
        self.assertEqual(found["power-analyser"][0]["id"], "device.known-value")
        self.assertEqual(found["ratio-meter"][0]["id"], "bus.noise")

    # bench watch

    def watch(self, bench, *arguments):
        code, out, err = run("bench", "watch", "--bench", SCALED, "--links", bench.links, "--turns", "2", "--every", "0.1",
                             *arguments)
        return code, out, err

    def test_watch_shows_every_instrument_with_its_raw_words(self):
        with SimulatedBench(SINGLE) as bench:
            code, out, err = self.watch(bench, "--json")
            self.assertEqual(code, 0, out + err)
            lines = [json.loads(line) for line in out.splitlines()]
            names = {instrument["name"] for instrument in scaled_bench()["instruments"]}
            self.assertEqual({line["device"] for line in lines}, names | {"bench I/O"})
            self.assertEqual(len(lines), 2 * (len(names) + 1))
            for line in lines:
                self.assertTrue(line["ok"], line)
                self.assertTrue(all(value["raw"] for value in line["values"]), line)
            ambient = [value for line in lines for value in line["values"] if value["name"] == "ambient"][0]
            # The profile's tenths of a degree: raw word and value are the same number.
            self.assertAlmostEqual(int(ambient["raw"], 16) / 10, ambient["value"])
            self.assertEqual(ambient["unit"], "degC")
            code, out, _ = self.watch(bench)
            self.assertEqual(code, 0)
            self.assertIn("thermometers", out)
            self.assertIn(" degC", out)

    def test_watch_of_a_silent_device_says_so_and_shows_the_others(self):
        with SimulatedBench(SINGLE, "--fault", "no-answer") as bench:
            code, out, _ = self.watch(bench, "--json")
            self.assertEqual(code, 3)
            lines = [json.loads(line) for line in out.splitlines()]
            silent = [line for line in lines if line["device"] == "power-analyser"]
            self.assertTrue(all(not line["ok"] and line["fault"]["id"] == "bus.timeout" for line in silent), silent)
            self.assertTrue(all(line["ok"] for line in lines if line["device"] != "power-analyser"))

    # A new instrument needs a profile and no code

    def test_a_unit_passes_on_instruments_of_three_other_makes_by_their_profiles_alone(self):
        bench = scaled_bench()
        for instrument in bench["instruments"]:
            instrument["profile"] = OTHER_MAKES.get(instrument["role"], instrument["profile"])
        path = self.written(bench)
        with SimulatedBench(SINGLE, bench=path) as simulated:
            code, out, err = simulated.test(SINGLE, bench=path)
            self.assertEqual(code, 0, err[-2000:])
            self.assertEqual(json.loads(out)["outcome"], "PASS")

    # Benches that cannot be

    def refused(self, path, code, *words):
        got, out, err = run("bench", "check", "--bench", path, timeout=60)
        self.assertEqual(got, code, out + err)
        said = out + err
        for word in words:
            self.assertIn(word, said)
        return said

    def test_a_host_that_does_not_resolve_names_host_and_device(self):
        def change(bench):
            bench["links"][3]["address"] = "modbus-tcp://no-such-host.invalid:502"
        self.refused(self.real_bench(change), 3, "ac-source", "cannot find the host no-such-host.invalid")

    def test_a_serial_path_that_is_no_terminal_names_it(self):
        def change(bench):
            bench["links"][0].update({"kind": "modbus_rtu", "address": "modbus-rtu:///dev/null?baud=9600"})
        self.refused(self.real_bench(change), 3, "ratio-meter", "/dev/null is no terminal line")

    def test_unit_ids_out_of_range_are_refused_with_their_path(self):
        for value in (-1, 256, 248):
            def change(bench, unit=value):
                bench["links"][0].update({"kind": "modbus_rtu", "address": "modbus-rtu:///dev/serial/by-id/x?baud=9600"})
                bench["instruments"][0]["unit_id"] = unit
            said = self.refused(self.real_bench(change), 2, "/instruments/0/unit_id")
            self.assertEqual(len(said.strip().splitlines()), 1, said)

    def test_a_profile_with_a_defect_is_refused_with_document_and_path(self):
        with open(os.path.join(SOURCE, "drivers/profiles/demo-ac-source.json"), encoding="utf-8") as file:
            good = json.load(file)

        def row(profile, name):
            return next(entry for entry in profile["rows"] if entry["name"] == name)
        defects = {
            "overlap": (lambda p: row(p, "frequency").update(address=2), "overlap"),
            "span": (lambda p: row(p, "current").update(address=400), "at most 125"),
            "unit": (lambda p: row(p, "voltage").update(unit="A"), "is a voltage"),
            "scale": (lambda p: row(p, "voltage").update(scale=0), "scale of 0"),
            "key": (lambda p: row(p, "voltage").update(adress=1), "address"),
            "exponent": (lambda p: row(p, "voltage").update(exponent="nobody"), "nobody"),
        }
        for name, (spoil, words) in defects.items():
            with self.subTest(name):
                profile = json.loads(json.dumps(good))
                spoil(profile)
                path = self.written(profile, "profile.json")

                def change(bench, where=path):
                    for instrument in bench["instruments"]:
                        if instrument["role"] == "ac_source":
                            instrument["profile"] = where
                said = self.refused(self.real_bench(change), 2, "profile.json", words)
                self.assertEqual(len(said.strip().splitlines()), 1, said)


if __name__ == "__main__":
    unittest.main()
