# SPDX-License-Identifier: MIT
"""Every fault of a place at its default on every demo unit it applies to, in virtual time: what came of it."""
import glob
import json
import os
import subprocess

from bench_under_test import SIMULATOR, SINGLE, THREE, virtual

OUTCOME = {0: "PASS", 1: "FAIL", 3: "INVALID", 4: "ABORTED"}
FAMILIES = ((SINGLE, "single_phase"), (THREE, "three_phase"))


def listed_faults():
    text = subprocess.run([SIMULATOR, "--list-faults", "--json"], capture_output=True, text=True, check=True).stdout
    return json.loads(text)


def document_of(unit):
    with open(unit, encoding="utf-8") as file:
        return json.load(file)


def all_units():
    """Every demo unit with its family."""
    units = sorted(glob.glob(os.path.join(os.path.dirname(SINGLE), "*.json")))
    return [(unit, "three_phase" if document_of(unit)["phases"] == 3 else "single_phase") for unit in units]


def stages_of(unit):
    return document_of(unit).get("options", {}).get("stages") or ["routine"]


def sweep(where, units=FAMILIES):
    """Yields (fault, unit, outcome that came, reason) for the faults of one place."""
    for fault in listed_faults():
        if fault["where"] != where:
            continue
        for unit, family in units:
            applies = fault["applies_to"]
            if applies and "all" not in applies and family not in applies:
                continue
            for stage in stages_of(unit):
                code, out, err = virtual(unit, "--stage", stage, "--fault", fault["name"])
                if code != 0:
                    break
            try:
                reason = json.loads(out)["reason"]
            except ValueError:
                reason = err.strip()[-200:]
            yield fault, unit, OUTCOME.get(code, "exit %d" % code), reason
