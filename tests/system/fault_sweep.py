# SPDX-License-Identifier: MIT
"""Every fault of a place at its default on every demo unit it applies to, in virtual time: what came of it, against what
the list promises for that unit. A run differs by its outcome, by a dangerous moment that the fault alone does not explain,
or because the fault left no trace: the run is then the one without it."""
import concurrent.futures
import glob
import json
import os
import subprocess
import tempfile

from bench_under_test import SIMULATOR, SINGLE, THREE, virtual

OUTCOME = {0: "PASS", 1: "FAIL", 3: "INVALID", 4: "ABORTED"}
FAMILIES = (SINGLE, THREE)
# Faults that a sound bench does not show: what they act on is not asked for in a run without another fault.
WITHOUT_TRACE = {
    "voltage-relay-stuck": "it says 'no voltage' where there is none; only a second fault would make it matter",
    "reset-button-stuck": "a reset is asked for after a trip only, and a sound run has none",
    "damp-insulation": "no unit but one with an insulation meter on its bench has its resistance measured",
    "remanence": "the ramp to rated volts wipes it out before anything is read at the levels that are judged",
}


def listed_faults(unit=None):
    wishes = ["--unit", unit] if unit else []
    text = subprocess.run([SIMULATOR, "--list-faults", "--json", *wishes], capture_output=True, text=True, check=True).stdout
    return json.loads(text)


def document_of(unit):
    with open(unit, encoding="utf-8") as file:
        return json.load(file)


def all_units():
    """Every demo unit."""
    return sorted(glob.glob(os.path.join(os.path.dirname(SINGLE), "*.json")))


def stages_of(unit):
    return document_of(unit).get("options", {}).get("stages") or ["routine"]


class Run:
    """One unit through its stages, until one is not accepted."""

    def __init__(self, unit, fault=None):
        self.moments, self.trace = [], []
        for stage in stages_of(unit):
            with tempfile.NamedTemporaryFile(suffix=".json") as kept:
                wishes = ["--fault", fault] if fault else []
                code, out, err = virtual(unit, "--stage", stage, "--truth", kept.name, *wishes)
                truth = kept.read()
            try:
                record = json.loads(out)
                self.reason = record["reason"]
                self.trace.append([record["ended"], record["outcome"], record["results"], record["steps"], record["trips"]])
                self.moments += json.loads(truth)["truth"]["dangerous_moments"]
            except ValueError:
                self.reason = err.strip()[-200:]
            self.outcome = OUTCOME.get(code, "exit %d" % code)
            if code != 0:
                break


def differs(fault, run, sound):
    """What is not as promised, in words; empty if all is."""
    wrong = []
    if run.outcome != fault["expected_outcome"]:
        wrong.append("expected %s, got %s: %s" % (fault["expected_outcome"], run.outcome, run.reason[:200]))
    if run.moments and not fault["dangerous_by_hardware"]:
        wrong.append("dangerous: " + "; ".join("%.2f s %s" % (m["at_s"], m["what"]) for m in run.moments[:3]))
    if run.trace == sound.trace and fault["name"] not in WITHOUT_TRACE:
        wrong.append("the fault left no trace")
    return ", ".join(wrong)


def sweep(where, units=FAMILIES, names=None, jobs=1):
    """Yields (fault, unit, run, what differs) for the faults of one place (None: all but the wires')."""
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        sound = {unit: pool.submit(Run, unit) for unit in units}
        asked = []
        for unit in units:
            for fault in listed_faults(unit):
                if fault["where"] == "wires" or (where and fault["where"] != where) or (names and fault["name"] not in names):
                    continue
                asked.append((fault, unit, pool.submit(Run, unit, fault["name"])))
        for fault, unit, run in asked:
            yield fault, unit, run.result(), differs(fault, run.result(), sound[unit].result())
