# SPDX-License-Identifier: MIT
"""The main job in virtual time: the same outcomes as on wires, in seconds, and the same bytes for the same seed."""
import json
import os
import sys
import tempfile
import time
import unittest

from bench_under_test import SINGLE, THREE, run, virtual


class MainJobVirtual(unittest.TestCase):
    def outcome(self, unit, code_wanted, outcome, *arguments):
        code, out, err = virtual(unit, *arguments)
        self.assertEqual(code, code_wanted, err[-3000:] + out[-2000:])
        record = json.loads(out)
        self.assertEqual(record["outcome"], outcome)
        return record, err

    def test_good_single_phase_unit_passes(self):
        begin = time.monotonic()
        record, err = self.outcome(SINGLE, 0, "PASS")
        print("single-phase virtual run took %.2f s" % (time.monotonic() - begin), file=sys.stderr)
        self.assertIn("SIMULATED", err)
        for key in ("outcome", "disposition", "results", "record_id"):
            self.assertIn(key, record)
        for result in record["results"]:
            for key in ("test", "quantity", "value", "unit", "limit", "verdict"):
                self.assertIn(key, result)

    def test_good_three_phase_unit_passes(self):
        self.outcome(THREE, 0, "PASS")

    def test_shorted_turn_fails_at_no_load(self):
        for unit in (SINGLE, THREE):
            record, _ = self.outcome(unit, 1, "FAIL", "--fault", "shorted-turn")
            self.assertIn("no_load", [r["test"] for r in record["results"] if r["verdict"] == "fail"])

    def test_missing_low_voltage_turn_fails_and_names_the_pair(self):
        record, err = self.outcome(THREE, 1, "FAIL", "--fault", "one-lv-turn-missing")
        self.assertIn("ratio", [r["test"] for r in record["results"] if r["verdict"] == "fail"])
        self.assertRegex(err + json.dumps(record), r"H\d-H\d:X\d-X0")

    def test_missing_high_voltage_turn_passes_with_a_factory_warning(self):
        record, err = self.outcome(THREE, 0, "PASS", "--fault", "one-hv-turn-missing")
        self.assertRegex((err + json.dumps(record)).lower(), "turn")

    def test_open_sense_lead_is_invalid_never_fail(self):
        for unit in (SINGLE, THREE):
            self.outcome(unit, 3, "INVALID", "--fault", "open-sense-lead")

    def test_same_seed_same_bytes_other_seed_other_bytes(self):
        first = virtual(SINGLE, "--seed", "7")
        second = virtual(SINGLE, "--seed", "7")
        other = virtual(SINGLE, "--seed", "8")
        self.assertEqual(first[1], second[1])
        self.assertNotEqual(first[1], other[1])

    def test_record_is_kept_verified_and_listed(self):
        with tempfile.TemporaryDirectory(prefix="benchward-virtual-") as folder:
            records = os.path.join(folder, "records")
            code, out, err = virtual(SINGLE, "--records", records)
            self.assertEqual(code, 0, err)
            identifier = json.loads(out)["record_id"]
            code, out, err = run("records", "list", "--records", records)
            self.assertEqual(code, 0, err)
            self.assertIn(identifier, out)
            self.assertIn("SIMULATED", out)
            code, out, err = run("records", "verify", "--records", records)
            self.assertEqual(code, 0, out + err)
            code, out, err = run("records", "show", "--records", records, identifier)
            self.assertEqual(code, 0, err)
            self.assertIn("SIMULATED", out)
            code, out, err = run("records", "recompute", "--records", records)
            self.assertEqual(code, 0, out + err)

    def test_verify_of_an_empty_folder_says_no_entries(self):
        with tempfile.TemporaryDirectory(prefix="benchward-virtual-") as folder:
            code, out, err = run("records", "verify", "--records", folder)
            self.assertEqual(code, 0, err)
            self.assertIn("0 entries", out)

    def test_verify_names_the_first_bad_entry(self):
        import sqlite3
        with tempfile.TemporaryDirectory(prefix="benchward-virtual-") as folder:
            records = os.path.join(folder, "records")
            self.assertEqual(virtual(SINGLE, "--records", records)[0], 0)
            database = sqlite3.connect(os.path.join(records, "journal.db"))
            with self.assertRaises(sqlite3.DatabaseError):  # append-only by its triggers
                database.execute("UPDATE entries SET hash = 'x' WHERE seq = 5")
            database.execute("DROP TRIGGER entries_are_never_changed")
            (content,) = database.execute("SELECT bytes FROM entries WHERE seq = 5").fetchone()
            content = bytes(content)
            changed = content[:40] + bytes([content[40] ^ 1]) + content[41:]
            database.execute("UPDATE entries SET bytes = ? WHERE seq = 5", (changed,))
            database.commit()
            database.close()
            code, out, err = run("records", "verify", "--records", records)
            self.assertEqual(code, 1)
            self.assertRegex(out + err, r"\b5\b")


if __name__ == "__main__":
    unittest.main()
