# SPDX-License-Identifier: MIT
"""Six of the wire faults on real wires at 20 times, one of each kind: what the fault list promises comes true. All of
them: tests/campaign wire-faults."""
import unittest

from fault_sweep import listed_faults
from wire_sweep import different, machine_too_slow, run_with


class WireFaults(unittest.TestCase):
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


if __name__ == "__main__":
    unittest.main()
