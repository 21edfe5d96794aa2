# SPDX-License-Identifier: MIT
"""The two programs as their users run them, for the system tests: start a simulated bench, run a test, ask the judge."""
import json
import os
import select
import shutil
import socket
import subprocess
import tempfile
import time

SOURCE = os.environ.get("BENCHWARD_SOURCE_DIR", os.path.abspath(os.path.join(os.path.dirname(__file__), "..", "..")))
BIN = os.environ.get("BENCHWARD_BIN_DIR", os.path.join(SOURCE, "build", "release", "bin"))
STATION = os.path.join(BIN, "benchward")
SIMULATOR = os.path.join(BIN, "benchward-sim")
SCALE = 16  # times real speed: the guard's 0.7 s are 44 ms then; at 20 times (35 ms) rented computers end a run now and then
SCALED = os.path.join(SOURCE, "sim/demo/benches/01-scaled.json")
SINGLE = os.path.join(SOURCE, "sim/demo/units/single-phase-pad-50kva.json")
THREE = os.path.join(SOURCE, "sim/demo/units/three-phase-pad-500kva-dyn1.json")


def run(*arguments, stdin=None, timeout=120):
    """Runs the station program to its end: (exit code, standard output, standard error)."""
    done = subprocess.run([STATION, *arguments], input=stdin, capture_output=True, text=True, timeout=timeout, check=False)
    return done.returncode, done.stdout, done.stderr


def virtual(unit, *arguments, bench=SCALED, timeout=120):
    return run("test", "--virtual", "--yes", "--json", "--bench", bench, "--unit", unit, *arguments, timeout=timeout)


class Line:
    """A JSON-lines socket: one request, one answer."""

    def __init__(self, address):
        host, port = address.rsplit(":", 1)
        self.socket = socket.create_connection((host, int(port)), timeout=10)
        self.file = self.socket.makefile("rw", encoding="utf-8", newline="\n")

    def ask(self, message):
        self.file.write(json.dumps(message) + "\n")
        self.file.flush()
        answer = self.file.readline()
        if not answer:
            raise ConnectionError("the simulated bench closed the line")
        return json.loads(answer)

    def close(self):
        self.file.close()
        self.socket.close()


class SimulatedBench:
    """benchward-sim with a unit on it, on real wires."""

    def __init__(self, unit, *arguments, bench=SCALED, scale=SCALE, seed=20):
        self.folder = tempfile.mkdtemp(prefix="benchward-system-")
        self.process = subprocess.Popen(
            [SIMULATOR, "--bench", bench, "--unit", unit, "--time-scale", str(scale), "--seed", str(seed), *arguments],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        readable, _, _ = select.select([self.process.stdout], [], [], 20)
        line = self.process.stdout.readline() if readable else ""
        if not line:
            self.process.kill()
            _, words = self.process.communicate()
            raise RuntimeError("the simulated bench did not start: " + words)
        self.ready = json.loads(line)
        self.links = os.path.join(self.folder, "ready.json")
        with open(self.links, "w", encoding="utf-8") as file:
            file.write(line)
        self.control = Line(self.ready["control"])

    def truth(self):
        return self.control.ask({"get": "truth"})["truth"]

    def start_test(self, unit, *arguments, bench=SCALED, records=None):
        command = [STATION, "test", "--bench", bench, "--unit", unit, "--links", self.links, "--yes", "--json",
                   "--records", records or os.path.join(self.folder, "records"), *arguments]
        return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def test(self, unit, *arguments, timeout=150, **options):
        process = self.start_test(unit, *arguments, **options)
        try:
            out, err = process.communicate(timeout=timeout)
        except subprocess.TimeoutExpired:
            process.kill()
            out, err = process.communicate()
            raise AssertionError("the test run did not end:\n" + err[-3000:]) from None
        return process.returncode, out, err

    def wait_for(self, condition, what, seconds=120):
        """Asks the judge until the bench is as wanted: polls the truth, which is what is waited for here."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            truth = self.truth()
            if condition(truth):
                return truth
            select.select([], [], [], 0.01)
        raise AssertionError("never seen on the simulated bench: " + what)

    def close(self):
        self.control.close()
        self.process.terminate()
        try:
            self.process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self.process.stdout.close()
        self.process.stderr.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


def earthed_and_dead(truth):
    return (not truth["energized"] and truth["earth_switch"] == "closed"
            and all(contact == "open" for contact in truth["supply_contactors"]))
