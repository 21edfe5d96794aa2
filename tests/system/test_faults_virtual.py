# SPDX-License-Identifier: MIT
"""What the fault list promises comes true: every unit, bench and interlock fault on every demo unit, in virtual time.
On every unit of every family: tests/campaign fault-sweep with UNITS=all."""
import unittest

from fault_sweep import sweep


class FaultsVirtual(unittest.TestCase):
    def promised(self, where, at_least):
        runs, wrong = 0, []
        for fault, unit, _, different in sweep(where):
            runs += 1
            if different:
                wrong.append("%s on %s: %s" % (fault["name"], unit, different))
        self.assertEqual(wrong, [])
        self.assertGreaterEqual(runs, at_least)

    def test_unit_faults_come_to_what_the_list_promises(self):
        self.promised("unit", 40)

    def test_bench_faults_come_to_what_the_list_promises(self):
        self.promised("bench", 60)

    def test_interlock_faults_come_to_what_the_list_promises(self):
        self.promised("interlock", 50)


if __name__ == "__main__":
    unittest.main()
