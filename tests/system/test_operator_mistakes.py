# SPDX-License-Identifier: MIT
"""Ten mistakes of a person at the bench: what the program said and did. None passes, none is blamed on the unit."""
import json
import os
import sys
import unittest

from bench_under_test import SINGLE, THREE, virtual

# mistake: fault, units, outcomes that are right, words of which one must be said
MISTAKES = (
    ("leads on X2", "feed-on-middle-terminal", (SINGLE,), ("INVALID",), ("X2", "middle")),
    ("sides of the ratio meter exchanged", "ratio-leads-swapped", (SINGLE, THREE), ("INVALID",), ("exchanged", "swapped")),
    ("tap not where it was asked for", "unit-on-wrong-tap", (SINGLE, THREE), ("INVALID",), ("tap",)),
    ("shorting bar left on", "shorting-bar-left-on", (SINGLE, THREE), ("INVALID",), ("shorting bar",)),
    ("shorting bar missing", "shorting-bar-missing", (SINGLE, THREE), ("INVALID",), ("bar", "ceiling", "I16")),
    ("earth stick not on its hook", "hook-not-home", (SINGLE, THREE), ("INVALID", "ABORTED"), ("hook",)),
    ("meter left on the high side", "meter-left-on-hv", (SINGLE, THREE), ("INVALID",), ("I34", "isolated", "path", "hook")),
    ("strap left on", "strap-left-on", (SINGLE, THREE), ("INVALID",), ("strap", "I14", "Regulator")),
    ("wrong unit scanned", "other-unit-on-bench", (SINGLE, THREE), ("INVALID",), ("another", "design")),
    ("warm unit", "unit-still-warm", (SINGLE, THREE), ("INVALID",), ("top", "warm", "rest", "liquid")),
)


class OperatorMistakes(unittest.TestCase):
    def test_what_the_program_said_and_did(self):
        for mistake, fault, units, outcomes, words in MISTAKES:
            for unit in units:
                with self.subTest(mistake=mistake, unit=os.path.basename(unit)):
                    code, out, err = virtual(unit, "--fault", fault)
                    record = json.loads(out)
                    print("%s: exit %d, %s, %s" % (mistake, code, record["outcome"], record["reason"][:160]), file=sys.stderr)
                    self.assertNotIn("DANGEROUS MOMENT", err)
                    self.assertIn(record["outcome"], outcomes, record["reason"])
                    self.assertIn(record["disposition"], ("repeat", "hold"))
                    self.assertTrue(any(word in record["reason"] for word in words), record["reason"])


if __name__ == "__main__":
    unittest.main()
