#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Every wire fault that `bench check` must see, at scale 1: it names the device, says what to do, exits 3, and ends in time.

    tests/system/bench_check_sweep.py [FAULT...]     default: all of the list marked bench_check
"""
import json
import subprocess
import sys
import time

from bench_under_test import SCALED, SIMULATOR, SINGLE, SimulatedBench, run

LONGEST_S = 15.0


def wire_faults():
    listed = json.loads(subprocess.run([SIMULATOR, "--list-faults", "--json"], capture_output=True, text=True, check=True).stdout)
    return [fault for fault in listed if fault["where"] == "wires"]


def check(faults=(), scale=1):
    """Runs `bench check` on a demo bench with these faults: (exit code, answer, seconds)."""
    words = [word for fault in faults for word in ("--fault", fault)]
    bench = SimulatedBench(SINGLE, *words, scale=scale)
    try:
        begin = time.monotonic()
        code, out, err = run("bench", "check", "--bench", SCALED, "--links", bench.links, "--json", timeout=60)
        took = time.monotonic() - begin
    finally:
        bench.close()
    return code, json.loads(out) if out.strip() else {"devices": [], "error": err}, took


def seen(answer):
    """Devices that are wrong, each with its findings."""
    return {device["device"]: [finding for finding in device["findings"] if finding["wrong"]]
            for device in answer["devices"] if not device["ok"]}


def main():
    wanted = sys.argv[1:]
    bad = 0
    slowest = 0.0
    faults = [fault["name"] for fault in wire_faults() if fault["bench_check"] and (not wanted or fault["name"] in wanted)]
    for name in [None] + faults:
        code, answer, took = check([name] if name else [])
        found = seen(answer)
        right = (code == 0 and not found) if name is None else (code == 3 and found and all(
            finding["next"] for findings in found.values() for finding in findings))
        slowest = max(slowest, took)
        ok = right and took <= LONGEST_S
        bad += not ok
        print(f"{'ok' if ok else 'DIFFERENT':<10} {name or 'no fault':<24} exit {code} {took:5.1f} s  " + "; ".join(
            f"{device}: {findings[0]['id']}" for device, findings in found.items()), flush=True)
    print(f"{len(faults)} wire faults, {bad} different, slowest {slowest:.1f} s")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
