# SPDX-License-Identifier: MIT
"""The main job on real wires at 16 times real speed: what a unit, a fault, an open gate, a cut link and a killed program
must come to. Case names are picked by ctest, so that two run at a time."""
import json
import os
import select
import signal
import subprocess
import sys
import time
import unittest

from bench_under_test import SINGLE, THREE, STATION, SimulatedBench, earthed_and_dead, run
from standstill import BenchOnWires


def verdicts(out):
    record = json.loads(out)
    return record, {(r["test"], r["quantity"]): r for r in record["results"]}


class MainJobOnWires(BenchOnWires):
    def good(self, unit):
        begin = time.monotonic()
        with SimulatedBench(unit) as bench:
            code, out, err = bench.test(unit)
            self.assertEqual(code, 0, err[-3000:] + out[-2000:])
            truth = bench.truth()
        record, _ = verdicts(out)
        self.assertEqual(record["outcome"], "PASS")
        self.assertEqual(truth["dangerous_moments"], [])
        self.assertTrue(earthed_and_dead(truth), truth)
        for test in ("ratio", "winding_resistance", "no_load", "load_loss", "applied", "induced"):
            self.assertTrue(any(r["test"] == test for r in record["results"]), "no result of " + test)
        self.assertIn("SIMULATED", err + out)
        return time.monotonic() - begin

    def test_good_single_phase_unit_passes_within_a_minute(self):
        took = self.good(SINGLE)
        print("single-phase run on wires took %.1f s" % took, file=sys.stderr)
        self.assertLess(took, 60)

    def test_good_three_phase_unit_passes(self):
        self.good(THREE)

    def faulty(self, unit, fault, code_wanted, outcome):
        with SimulatedBench(unit, "--fault", fault) as bench:
            code, out, err = bench.test(unit)
            self.assertEqual(code, code_wanted, err[-3000:] + out[-2000:])
            truth = bench.truth()
        record, _ = verdicts(out)
        self.assertEqual(record["outcome"], outcome)
        self.assertEqual(truth["dangerous_moments"], [])
        return record, out + err

    def test_shorted_turn_fails_at_no_load(self):
        record, _ = self.faulty(SINGLE, "shorted-turn", 1, "FAIL")
        failed = [r["test"] for r in record["results"] if r["verdict"] == "fail"]
        self.assertIn("no_load", failed)

    def test_missing_low_voltage_turn_fails_and_names_the_pair(self):
        record, text = self.faulty(THREE, "one-lv-turn-missing", 1, "FAIL")
        failed = [r for r in record["results"] if r["verdict"] == "fail"]
        self.assertTrue(failed and all(r["test"] == "ratio" for r in failed), failed)
        self.assertRegex(text, r"H\d-H\d:X\d-X0")

    def test_missing_high_voltage_turn_passes_with_a_factory_warning(self):
        _, text = self.faulty(THREE, "one-hv-turn-missing", 0, "PASS")
        self.assertRegex(text.lower(), r"factory|one (hv |high-voltage )?turn")

    def test_open_sense_lead_is_invalid_never_fail(self):
        self.faulty(SINGLE, "open-sense-lead", 3, "INVALID")

    def test_gate_opened_in_the_no_load_hold_aborts_and_earths_without_reset(self):
        with SimulatedBench(SINGLE) as bench:
            process = bench.start_test(SINGLE)
            # Hold of the no-load test: the low side fed at its rated 240 V, far above any other low-side step before it.
            bench.wait_for(lambda t: t["energized"] and 230 < t["output_voltage_v"] < 260 and t["simulated_time_s"] > 60,
                           "the no-load hold")
            bench.control.ask({"set": {"gate": "open"}})
            out, err = process.communicate(timeout=120)
            self.assertEqual(process.returncode, 4, err[-3000:] + out[-1000:])
            truth = bench.wait_for(earthed_and_dead, "de-energised and earthed", 10)
            self.assertEqual(truth["dangerous_moments"], [])
        self.assertEqual(json.loads(out)["outcome"], "ABORTED")

    def test_analyser_link_cut_while_reading_is_invalid(self):
        with SimulatedBench(SINGLE) as bench:
            process = bench.start_test(SINGLE)
            bench.wait_for(lambda t: t["energized"] and 230 < t["output_voltage_v"] < 260 and t["simulated_time_s"] > 60,
                           "the no-load hold")
            answer = bench.control.ask({"fault": "no-answer"})
            self.assertNotIn("error", answer)
            out, err = process.communicate(timeout=120)
            self.assertEqual(process.returncode, 3, err[-3000:] + out[-1000:])
            bench.wait_for(earthed_and_dead, "de-energised and earthed", 10)

    def stand_still_in_the_applied_test(self, seconds, station_too):
        """The block's watchdog cuts, the volts are gone with the contactors: that is no breakdown of the unit."""
        with SimulatedBench(SINGLE) as bench:
            process = bench.start_test(SINGLE)
            try:
                bench.wait_for(lambda t: t["energized"] and t["output_voltage_v"] > 9000, "the applied test", 60)
                still = [bench.process] + ([process] if station_too else [])
                for one in still:
                    one.send_signal(signal.SIGSTOP)
                select.select([], [], [], seconds)
                for one in still:
                    one.send_signal(signal.SIGCONT)
                out, err = process.communicate(timeout=60)
            finally:
                process.kill()
                process.communicate()
            self.assertIn(process.returncode, (0, 3), err[-3000:] + out[-1000:])
            self.assertNotIn("broke down", err)
            self.assertEqual(bench.truth()["dangerous_moments"], [])

    def test_a_computer_that_stands_still_in_the_applied_test_says_nothing_of_the_unit(self):
        self.stand_still_in_the_applied_test(0.06, station_too=True)

    def test_a_bench_that_stands_still_in_the_applied_test_says_nothing_of_the_unit(self):
        self.stand_still_in_the_applied_test(0.05, station_too=False)

    def test_kill_while_energised_is_cut_by_the_watchdog_and_closed_as_aborted(self):
        with SimulatedBench(SINGLE) as bench:
            records = os.path.join(bench.folder, "records")
            process = bench.start_test(SINGLE, records=records)
            at = bench.wait_for(lambda t: t["energized"] and t["output_voltage_v"] > 100, "energised")
            process.send_signal(signal.SIGKILL)
            process.communicate(timeout=10)
            truth = bench.wait_for(lambda t: not t["energized"], "off", 10)
            # Watchdog 1 s and drop-out 0.2 s of bench time, and what the polls of this test cost at 16 times.
            self.assertLess(truth["simulated_time_s"] - at["simulated_time_s"], 1.2 + 2.0)
            self.assertEqual(truth["dangerous_moments"], [])
            code, out, err = bench.test(SINGLE, records=records)
            self.assertEqual(code, 0, err[-3000:] + out[-1000:])
            code, listed, _ = run("records", "list", "--records", records, "--json")
            self.assertEqual(code, 0)
            outcomes = [entry["outcome"] for entry in json.loads(listed)["records"]]
            self.assertEqual(sorted(outcomes), ["ABORTED", "PASS"])
            code, verified, _ = run("records", "verify", "--records", records)
            self.assertEqual(code, 0, verified)

    def test_signal_makes_safe_first_and_says_so(self):
        with SimulatedBench(SINGLE) as bench:
            process = bench.start_test(SINGLE)
            bench.wait_for(lambda t: t["energized"] and t["output_voltage_v"] > 100, "energised")
            process.send_signal(signal.SIGINT)
            out, err = process.communicate(timeout=60)
            self.assertEqual(process.returncode, 4, err[-3000:])
            self.assertTrue(earthed_and_dead(bench.truth()))
            self.assertEqual(json.loads(out)["outcome"], "ABORTED")
            self.assertRegex(err.lower(), "earth")

    def test_second_program_on_the_same_bench_is_refused_and_the_owner_named(self):
        with SimulatedBench(SINGLE) as bench:
            process = bench.start_test(SINGLE)
            bench.wait_for(lambda t: t["energized"], "energised by the first program")
            code, _, err = bench.test(SINGLE, records=os.path.join(bench.folder, "other"))
            self.assertIn(code, (2, 3))
            self.assertIn(str(process.pid), err)
            process.send_signal(signal.SIGTERM)
            process.communicate(timeout=60)


if __name__ == "__main__":
    unittest.main()
