# SPDX-License-Identifier: MIT
"""The simulator among clients that send garbage and drop connections, in short (in full: tests/campaign hostile-clients), and
what it says of input that cannot be."""
import json
import os
import subprocess
import tempfile
import unittest

from bench_under_test import SCALED, SIMULATOR, SINGLE, SimulatedBench
from hostile import attack, size_of


class HostileClients(unittest.TestCase):
    def test_garbage_and_dropped_connections_leave_the_bench_serving_and_unmoved(self):
        with SimulatedBench(SINGLE) as bench:
            attack(bench, garbage_count=20, connections=500)
            resident, descriptors = size_of(bench.process)
            attack(bench, garbage_count=20, connections=500, seed=2)
            resident_after, descriptors_after = size_of(bench.process)
            self.assertLess(resident_after, 1.2 * resident + 4096)
            self.assertLess(descriptors_after, descriptors + 70)
            bench.process.terminate()
            said = bench.process.stderr.read()
            self.assertIn("no Modbus TCP frame (1 so far)", said)
            self.assertIn("(10 so far)", said)
            self.assertLess(said.count("\n"), 20)  # says so, and does not fill a log with it

    def refused(self, words, *arguments):
        done = subprocess.run([SIMULATOR, "--bench", SCALED, *arguments], capture_output=True, text=True, timeout=30, check=False)
        self.assertEqual(done.returncode, 2, done.stderr)
        for word in words:
            self.assertIn(word, done.stderr + done.stdout)

    def test_fault_value_out_of_range_is_refused_with_the_range_and_its_unit(self):
        self.refused(["shorted-turn", "1000000 turns", "1 to 50"], "--unit", SINGLE, "--fault", "shorted-turn=1000000")
        self.refused(["late-answer", "99"], "--unit", SINGLE, "--fault", "late-answer=99")

    def test_unknown_fault_is_refused_with_the_nearest_name(self):
        self.refused(["no-answr", "no-answer"], "--unit", SINGLE, "--fault", "no-answr")

    def test_unit_that_cannot_be_solved_is_refused_with_the_data_that_conflict_and_by_how_much(self):
        with open(SINGLE, encoding="utf-8") as file:
            unit = json.load(file)
        del unit["guarantees"]["total_loss_w"]
        unit["guarantees"]["load_loss_w"] = 20000.0  # at 2 % impedance of 50 kVA there is room for 1 kW
        with tempfile.TemporaryDirectory(prefix="benchward-unit-") as folder:
            path = os.path.join(folder, "unit.json")
            with open(path, "w", encoding="utf-8") as file:
                json.dump(unit, file)
            self.refused(["load loss", "impedance"], "--unit", path)


if __name__ == "__main__":
    unittest.main()
