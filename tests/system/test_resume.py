# SPDX-License-Identifier: MIT
"""A sequence whose program was killed is taken up again at a test boundary, on the same bench, from its journal."""
import json
import os
import signal
import subprocess
import tempfile
import unittest

from bench_under_test import SCALED, SINGLE, SOURCE, STATION, THREE, run, virtual


def journal_size(folder):
    total = 0
    for name in os.listdir(folder) if os.path.isdir(folder) else ():
        try:
            total += os.path.getsize(os.path.join(folder, name))
        except FileNotFoundError:
            pass  # a file that the database renamed meanwhile
    return total


def killed_at(unit, folder, size):
    """Runs until the journal's files are that large, then kills. False: it came to its end before."""
    process = subprocess.Popen([STATION, "test", "--virtual", "--yes", "--bench", SCALED, "--unit", unit, "--records", folder],
                               stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while process.poll() is None and journal_size(folder) < size:
        pass
    process.send_signal(signal.SIGKILL)
    return process.wait() == -signal.SIGKILL


def records(folder):
    return json.loads(run("records", "list", "--records", folder, "--json")[1])["records"]


class Resume(unittest.TestCase):
    def test_killed_at_many_places_and_resumed(self):
        for unit in (SINGLE, THREE):
            resumed, stood = 0, set()
            for kilobytes in range(150, 1500, 150):
                with tempfile.TemporaryDirectory(prefix="benchward-resume-") as folder:
                    if not killed_at(unit, folder, kilobytes * 1000) or not records(folder):
                        continue
                    attempt = records(folder)[0]["record_id"]
                    flags = ("--resume", attempt, "--records", folder)
                    code, out, err = run("plan", "--bench", SCALED, "--unit", unit, *flags, "--json")
                    if "came to its end" in err:
                        continue
                    self.assertEqual(code, 0, err)
                    plan = json.loads(out)
                    reason = ("--reason", "looked at (signed: quality)") if plan["needs_reason"] else ()
                    if reason:
                        code, out, err = virtual(unit, *flags)
                        self.assertEqual(code, 2, err[-800:])
                        self.assertIn("on hold", err)
                    code, out, err = virtual(unit, *flags, *reason)
                    self.assertEqual(code, 0, err[-1500:])
                    record = json.loads(out)
                    self.assertEqual(record["outcome"], "PASS")
                    self.assertEqual(len(record["steps"]), len(plan["steps"]))
                    stood.add(sum(step["stands"] for step in plan["steps"]))
                    resumed += 1
                    for verb in (("verify",), ("recompute",)):
                        code, out, err = run("records", *verb, "--records", folder)
                        self.assertEqual(code, 0, out[-800:] + err[-800:])
                    # The resumed one is the newest: the first is not taken up a second time.
                    code, _, err = run("plan", "--bench", SCALED, "--unit", unit, *flags)
                    self.assertEqual(code, 2)
                    self.assertIn("is newer", err)
            self.assertGreater(resumed, 2)
            self.assertGreater(len(stood), 1)

    def test_what_cannot_be_resumed_is_said_in_words(self):
        with tempfile.TemporaryDirectory(prefix="benchward-resume-") as folder:
            self.assertEqual(virtual(SINGLE, "--records", folder)[0], 0)
            attempt = records(folder)[0]["record_id"]
            for arguments, words in (
                    ((SINGLE, "--records", folder, "--resume", attempt), "came to its end"),
                    ((SINGLE, "--records", folder, "--resume", "0" * 26), "has no attempt"),
                    ((SINGLE, "--resume", attempt), "needs --records"),
                    ((THREE, "--records", folder, "--resume", attempt), "of unit"),
                    ((SINGLE, "--records", folder, "--resume", attempt, "--after", "re-tapped"), "keeps its own --after")):
                code, _, err = virtual(*arguments)
                self.assertEqual(code, 2, words)
                self.assertIn(words, err)
            other = os.path.join(SOURCE, "sim/demo/benches/02-real.json")
            code, _, err = virtual(SINGLE, "--records", folder, "--resume", attempt, bench=other)
            self.assertEqual(code, 2)
            self.assertIn("another bench", err)


if __name__ == "__main__":
    unittest.main()
