# SPDX-License-Identifier: MIT
"""Wire faults on real wires at 16 times real speed with one unit: what came of a run, and what the judge saw."""
import json

from bench_under_test import SCALED, SINGLE, SimulatedBench, earthed_and_dead, run

OUTCOME = {0: "PASS", 1: "FAIL", 3: "INVALID", 4: "ABORTED"}


def run_with(fault, unit=SINGLE, seed=20):
    """(outcome that came, reason, dangerous moments, earthed and dead afterwards)."""
    with SimulatedBench(unit, "--fault", fault, seed=seed) as bench:
        code, out, err = bench.test(unit, timeout=200)
        truth = bench.truth()
        if not earthed_and_dead(truth):
            # With a dead I/O block only its watchdog and the hard-wired chain act: they need part of a second.
            truth = bench.wait_for(earthed_and_dead, "de-energised and earthed after " + fault, 20)
    try:
        reason = json.loads(out)["reason"]
    except (ValueError, KeyError):
        reason = err.strip()[-200:]
    return OUTCOME.get(code, "exit %d" % code), reason, truth["dangerous_moments"], earthed_and_dead(truth)


def machine_too_slow(fault, reason):
    """At 20 times the I/O block has 40 ms of wall time to answer: a crowded machine misses that without any fault. Where
    the fault is not the I/O block's such a run says nothing about it."""
    return not fault["name"].startswith("io-") and "I/O block does not answer in time" in reason


def check_sees(fault, unit=SINGLE, seed=20):
    """Exit code of `bench check` with the fault on: 3 where it sees something wrong."""
    with SimulatedBench(unit, "--fault", fault, seed=seed) as bench:
        code, _, _ = run("bench", "check", "--bench", SCALED, "--links", bench.links)
    return code == 3


def different(fault, came):
    """What differs from what is written beside the fault; empty: nothing."""
    outcome, reason, moments, dead = came
    words = []
    if outcome != fault["expected_outcome"]:
        words.append("promised %s, got %s: %s" % (fault["expected_outcome"], outcome, reason[:200]))
    if moments and not fault["dangerous_by_hardware"]:
        words.append("dangerous moments: %s" % json.dumps(moments[:3]))
    if not dead:
        words.append("left energised or unearthed")
    return "; ".join(words)
