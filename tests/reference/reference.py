# SPDX-License-Identifier: MIT
"""What the scripts of this folder share: `benchward calc`, the tally of checks, the outside programs."""
import atexit
import json
import os
import re
import subprocess
import tempfile

SOURCE = os.environ.get("BENCHWARD_SOURCE_DIR", os.path.abspath(os.path.join(os.path.dirname(__file__), "..", "..")))
BIN = os.environ.get("BENCHWARD_BIN_DIR", os.path.join(SOURCE, "build", "release", "bin"))
TALLY = {}


def calc(topic, **keys):
    done = subprocess.run([os.path.join(BIN, "benchward"), "calc", topic], input=json.dumps(keys), text=True,
                          capture_output=True, timeout=60, check=False)
    if done.returncode != 0:
        raise AssertionError(f"calc {topic} {keys}: exit {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def values_of(kind):
    done = subprocess.run([os.path.join(BIN, "reference_values")], capture_output=True, text=True, timeout=60, check=True)
    return [entry for entry in map(json.loads, done.stdout.splitlines()) if entry["kind"] == kind]


def external(source, what, computed, expected, allowed):
    """One number against one from outside; `allowed` is absolute and above zero."""
    if not allowed > 0:
        raise AssertionError(f"{source}: {what}: nothing is allowed to deviate")
    deviation = abs(float(computed) - float(expected))
    if not deviation <= allowed:  # also if either is no number
        raise AssertionError(f"{source}: {what}: computed {computed!r}, expected {expected!r}, allowed {allowed!r}")
    entry = TALLY.setdefault(source, [0, -1.0, ""])
    entry[0] += 1
    if deviation / allowed > entry[1]:
        entry[1:] = [deviation / allowed, what]


def relative(source, what, computed, expected, share=1e-9):
    external(source, what, computed, expected, share * max(abs(float(expected)), 1e-12))


@atexit.register
def print_tally():
    for source, (count, largest, what) in sorted(TALLY.items()):
        print(f"external | {source} | {count} | {largest:.3f} ({what})", flush=True)


def r_numbers(expressions):
    """Each R expression's value, 17 digits."""
    script = "".join(f"cat(sprintf('%.17g', {expression}), '\\n')\n" for expression in expressions)
    done = subprocess.run(["Rscript", "--vanilla", "-e", script], capture_output=True, text=True, timeout=120, check=True)
    found = [float(line) for line in done.stdout.split()]
    if len(found) != len(expressions):
        raise AssertionError(f"R answered {len(found)} of {len(expressions)}: {done.stderr}")
    return found


def ngspice(netlist, names):
    """Runs a netlist in batch mode, with `print` lines for `names`; name -> complex."""
    with tempfile.NamedTemporaryFile("w", suffix=".cir", encoding="ascii") as file:
        file.write("circuit of a reference check\n" + netlist)
        file.write(".control\nset numdgt=15\nrun\n" + "".join(f"print {name}\n" for name in names) + ".endc\n.end\n")
        file.flush()
        done = subprocess.run(["ngspice", "-b", file.name], capture_output=True, text=True, timeout=60, check=False)
    found = {}
    for line in done.stdout.splitlines():
        match = re.match(r"^(\S+) = ([-+0-9.e]+)(?:,([-+0-9.e]+))?\s*$", line)
        if match:
            found[match.group(1)] = complex(float(match.group(2)), float(match.group(3) or 0.0))
    missing = [name for name in names if name not in found]
    if missing:
        raise AssertionError(f"ngspice gave no {missing}: {done.stdout[-800:]}{done.stderr[-800:]}")
    return found
