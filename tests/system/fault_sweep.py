# SPDX-License-Identifier: MIT
"""Every fault of a place at its default on every demo unit it applies to, in virtual time: what came of it."""
import json
import subprocess

from bench_under_test import SIMULATOR, SINGLE, THREE, virtual

OUTCOME = {0: "PASS", 1: "FAIL", 3: "INVALID", 4: "ABORTED"}
FAMILIES = ((SINGLE, "single_phase"), (THREE, "three_phase"))


def listed_faults():
    text = subprocess.run([SIMULATOR, "--list-faults", "--json"], capture_output=True, text=True, check=True).stdout
    return json.loads(text)


def sweep(where):
    """Yields (fault, family, outcome that came, reason) for the faults of one place."""
    for fault in listed_faults():
        if fault["where"] != where:
            continue
        for unit, family in FAMILIES:
            applies = fault["applies_to"]
            if applies and "all" not in applies and family not in applies:
                continue
            code, out, err = virtual(unit, "--fault", fault["name"])
            try:
                reason = json.loads(out)["reason"]
            except ValueError:
                reason = err.strip()[-200:]
            yield fault, family, OUTCOME.get(code, "exit %d" % code), reason
