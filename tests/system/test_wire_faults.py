# SPDX-License-Identifier: MIT
"""Six of the wire faults on real wires at 20 times, one of each kind: what the fault list promises comes true. All of
them: tests/campaign wire-faults."""
import json
import os
import unittest

from bench_under_test import SINGLE, SimulatedBench, run
from fault_sweep import listed_faults
from standstill import BenchOnWires
from wire_sweep import different, machine_too_slow, run_with


class WireFaults(BenchOnWires):
    def promised(self, name):
        fault = next(entry for entry in listed_faults() if entry["name"] == name)
        came = run_with(name)
        for _ in range(4):
            if not machine_too_slow(fault, came[1]):
                break
            came = run_with(name)
        self.assertEqual(different(fault, came), "")

    def test_device_that_never_answers_is_invalid(self):
        self.promised("no-answer")

    def test_words_of_a_value_exchanged_are_invalid(self):
        self.promised("words-swapped")

    def test_another_instrument_of_the_kind_is_invalid(self):
        self.promised("wrong-identity")

    def test_frames_with_a_wrong_check_are_invalid(self):
        self.promised("wrong-check")

    def test_text_line_with_a_wrong_bit_in_each_answer_is_invalid(self):
        self.promised("corrupted-text")

    def test_io_block_lost_while_energised_is_invalid_and_its_watchdog_cuts(self):
        self.promised("io-link-lost")

    def test_record_of_an_invalid_attempt_carries_the_last_frames_of_the_wires(self):
        with SimulatedBench(SINGLE, "--fault", "no-answer") as bench:
            records = os.path.join(bench.folder, "records")
            code, out, err = bench.test(SINGLE, records=records)
            self.assertEqual(code, 3, err)
            device = json.loads(out)["reason"].split(":")[0]
            frames = json.loads(run("records", "show", "--records", records, "--json")[1])["frames"]
            page = run("records", "show", "--records", records)[1]
            verified = run("records", "verify", "--records", records)[0]
        of_device = [frame for frame in frames if frame["device"] == device]
        self.assertTrue(of_device, "no frame of " + device)
        self.assertTrue(all(frame["sent"] for frame in of_device), "a silent device said something")
        self.assertGreater(len({frame["device"] for frame in frames}), 1, "the others' frames are missing")
        self.assertTrue(any(not frame["sent"] for frame in frames))
        times = [frame["monotonic_ns"] for frame in frames]
        self.assertEqual(times, sorted(times))
        # The question as it stood on the wire: a read of the identity, each time with a number of its own.
        self.assertEqual(len({frame["bytes"] for frame in of_device}), len(of_device))
        for frame in of_device:
            self.assertIn(frame["bytes"], page)
        self.assertEqual(verified, 0)


if __name__ == "__main__":
    unittest.main()
