# SPDX-License-Identifier: MIT
"""What the fault list promises comes true: every unit, bench and interlock fault on every demo unit, in virtual time.
Those that are known not to yet stand here by name; tests/campaign fault-sweep shows all."""
import unittest

from fault_sweep import listed_faults, sweep

OPEN = {
    "dc-discharge-path-open",
}


class FaultsVirtual(unittest.TestCase):
    def promised(self, where, at_least):
        runs, wrong = 0, []
        for fault, family, got, reason in sweep(where):
            runs += 1
            if fault["name"] not in OPEN and got != fault["expected_outcome"]:
                wrong.append("%s on %s: promised %s, got %s: %s" % (fault["name"], family, fault["expected_outcome"], got, reason[:200]))
        self.assertEqual(wrong, [])
        self.assertGreaterEqual(runs, at_least)

    def test_unit_faults_come_to_what_the_list_promises(self):
        self.promised("unit", 40)

    def test_bench_faults_come_to_what_the_list_promises(self):
        self.promised("bench", 60)

    def test_interlock_faults_come_to_what_the_list_promises(self):
        self.promised("interlock", 50)

    def test_open_ones_are_faults_of_the_list(self):
        self.assertEqual(OPEN - {fault["name"] for fault in listed_faults()}, set())


if __name__ == "__main__":
    unittest.main()
