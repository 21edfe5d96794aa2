# SPDX-License-Identifier: MIT
"""The check object judges the bench: run at the start of a shift and after a trip; a drifted instrument that no unit can
show is caught by it, and blocks "for record"."""
import json
import os
import tempfile
import unittest

from bench_under_test import SCALED, SINGLE, SOURCE, THREE, run, virtual

THREE_PHASE = os.path.join(SOURCE, "sim/demo/check-objects/master-three-phase-500kva.json")
OBJECT = os.path.join(SOURCE, "sim/demo/check-objects/master-single-phase-50kva.json")

# faults of instruments that one run at a unit cannot show (or not always), and the instrument that must be named
DRIFTS = (("meter-drift", "power analyser"), ("ct-magnetised", "power analyser"), ("resistance-meter-drift", "resistance meter"),
          ("ratio-meter-drift", "ratio meter"))


class CheckObject(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="benchward-object-")
        self.records = os.path.join(self.folder.name, "records")

    def tearDown(self):
        self.folder.cleanup()

    def check(self, *arguments, master=OBJECT):
        return run("check-object", "--virtual", "--yes", "--bench", SCALED, "--object", master, "--records", self.records, *arguments)

    def for_record(self, *arguments):
        return virtual(SINGLE, "--records", self.records, "--for-record", *arguments)

    def test_a_sound_bench_reads_it_within_its_limits_at_every_seed(self):
        for master in (OBJECT, THREE_PHASE):
            for seed in range(1, 9):
                code, out, err = self.check("--seed", str(seed), master=master)
                self.assertEqual(code, 0, "seed %d: %s" % (seed, "\n".join(l for l in out.splitlines() if "BEYOND" in l) + err))

    def test_each_family_of_the_bench_has_its_own_master(self):
        self.assertEqual(self.check()[0], 0)
        code, _, err = virtual(THREE, "--records", self.records, "--for-record")
        self.assertEqual(code, 2)
        self.assertIn("no check object of the three-phase family", err)
        self.assertEqual(self.check(master=THREE_PHASE)[0], 0)
        code, _, err = virtual(THREE, "--records", self.records, "--for-record")
        self.assertEqual(code, 0, err[-800:])
        # The single-phase master's check stands beside it.
        self.assertEqual(self.for_record()[0], 0)
        # The three-phase master sees a drift too, and names the instrument; then nothing is for record, of either family.
        for fault, instrument in DRIFTS:
            code, out, err = self.check("--fault", fault, master=THREE_PHASE)
            self.assertEqual(code, 1, out[-1500:] + err)
            self.assertTrue(any("BEYOND" in line and instrument in line for line in out.splitlines()), out[-1500:])
            self.assertEqual(self.for_record()[0], 2)

    def test_a_drifted_instrument_is_caught_and_named_and_blocks_for_record_and_release(self):
        for fault, instrument in DRIFTS:
            with self.subTest(fault=fault):
                code, out, err = self.check("--fault", fault)
                self.assertEqual(code, 1, out[-1500:] + err)
                self.assertIn("NOT FOR RECORD", out)
                self.assertTrue(any("BEYOND" in line and instrument in line for line in out.splitlines()), out[-1500:])
                code, _, err = self.for_record()
                self.assertEqual(code, 2)
                self.assertIn("beyond its limits", err)
                self.assertIn("check-object first", err)
                # Not asked for record, it may be measured, but nothing is released.
                code, out, err = virtual(SINGLE, "--records", self.records)
                record = json.loads(out)
                self.assertEqual((code, record["outcome"], record["disposition"]), (0, "PASS", "repeat"))
                self.assertIn("not for record", record["reason"])
                # Put right and checked again: for record.
                self.assertEqual(self.check()[0], 0)
                code, out, err = self.for_record()
                self.assertEqual(code, 0, err[-800:])
                self.assertEqual(json.loads(out)["disposition"], "release")

    def test_it_is_asked_for_at_the_start_of_a_shift_after_a_trip_and_on_a_changed_bench(self):
        code, _, err = self.for_record()
        self.assertEqual(code, 2)
        self.assertIn("no check object of the single-phase family was measured", err)
        self.assertEqual(self.check()[0], 0)
        self.assertEqual(self.for_record()[0], 0)
        code, _, err = self.for_record("--start", "2030-01-01T13:00:00Z")
        self.assertEqual(code, 2)
        self.assertIn("longer ago than a shift", err)
        other = os.path.join(self.folder.name, "bench.json")
        with open(SCALED, encoding="utf-8") as file:
            text = file.read()
        with open(other, "w", encoding="utf-8") as file:
            file.write(text + "\n")
        code, _, err = virtual(SINGLE, "--records", self.records, "--for-record", bench=other)
        self.assertEqual(code, 2)
        self.assertIn("as its document stands", err)
        self.assertEqual(virtual(SINGLE, "--records", self.records, "--fault", "estop-pressed")[0], 4)
        code, _, err = self.for_record()
        self.assertEqual(code, 2)
        self.assertIn("tripped", err)

    def test_bad_documents_and_calls_are_refused_by_place(self):
        with open(OBJECT, encoding="utf-8") as file:
            good = json.load(file)
        path = os.path.join(self.folder.name, "object.json")
        for change, words in ((lambda d: d.update(declared=[]), "at least one"), (lambda d: d["declared"][0].update(limit=0), "/declared/0/limit"),
                              (lambda d: d["declared"][0].pop("value"), "/declared/0"), (lambda d: d["declared"][-1].update(at_c=20, metal=None), "/declared"),
                              (lambda d: d["unit"].update(rated_kva="x"), "rated_kva")):
            drawn = json.loads(json.dumps(good))
            change(drawn)
            with open(path, "w", encoding="utf-8") as file:
                json.dump(drawn, file)
            code, _, err = run("check-object", "--virtual", "--yes", "--bench", SCALED, "--object", path, "--records", self.records)
            self.assertEqual(code, 2, words)
            self.assertIn(words, err)
        code, _, err = virtual(SINGLE, "--for-record")
        self.assertEqual(code, 2)
        self.assertIn("--records", err)


if __name__ == "__main__":
    unittest.main()
