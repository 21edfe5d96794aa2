# SPDX-License-Identifier: MIT
"""Results of the station against the true values of the simulated unit: z = (result - truth)/u, bench by bench, each with
errors drawn from its declared distributions. One z a bench and quantity, since what a bench measures with one instrument
shares that instrument's error. The truth is the simulator's (closed forms of the design, `sim/unit/truth.cpp`), which calls
no formula of the station; the bounds are those of the normal and the binomial distribution."""
import json
import math
import os
import re
import tempfile

from bench_under_test import virtual

ZERO_C = {"copper": 234.5, "aluminum": 225.0}  # 10 CFR 431 subpart K appendix A 3.5: inferred zero-resistance temperatures
SAME_NAME = {
    ("temperatures", "winding_temperature_c"): "room_c",  # the demo units have rested in this room
    ("no_load", "corrected_no_load_loss_w"): "no_load_loss_w",
    ("no_load", "exciting_current_percent"): "exciting_current_percent",
    ("load_loss", "corrected_load_loss_w"): "load_loss_w",
    ("load_loss", "load_loss_55c_w"): "load_loss_55c_w",
    ("load_loss", "impedance_percent"): "impedance_percent",
}


def document(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def stages(unit):
    return unit.get("options", {}).get("stages") or [None]


def ends(side, single_phase):
    """A pair of terminals whichever way round, whatever a neutral or the end on the tank is called, and without what a pair
    of a zigzag is tied to."""
    names = [end.split("+")[0] for end in side.split("-")]
    neutral = ("tank", "H0", "X0", "H0X0") + (("H2",) if single_phase else ())
    return frozenset("neutral" if name in neutral else name for name in names)


def true_of(kind, place, truth, single_phase):
    """The true value of that kind whose pairs are those of `place`; None where the simulator states none."""
    wanted = [ends(side, single_phase) for side in place.split(":")]
    for name, value in truth.items():
        if name.startswith(kind) and [ends(side, single_phase) for side in name[len(kind):].split(":")] == wanted:
            return value
    return None


def true_ratio_error(result, truth, single_phase):
    place = re.fullmatch(r"(?:tap (\d+), )?(.*)", result["at"])
    true = true_of("ratio tap %s, " % (place[1] or "0"), place[2], truth, single_phase)
    expected = next(i["value"] for i in result["intermediates"] if i["name"] == "expected by the whole-turn rule")
    return None if true is None else 100.0 * (abs(true) / expected - 1.0)  # its sign is for the phase relation


def resistance_z(result, truth, u_kelvin, metal, single_phase):
    """The reading referred to 20 degC by its own temperature, against the true resistance at 20 degC."""
    true = true_of("resistance_ohm ", result["at"].split(", ")[-1], truth, single_phase)
    if true is None:
        return None
    at_c = next(i["value"] for i in result["intermediates"] if i["name"] == "winding temperature")
    factor = (ZERO_C[metal] + 20.0) / (ZERO_C[metal] + at_c)
    value = result["value"] * factor
    u = math.hypot(result["standard_uncertainty"] * factor, value * u_kelvin / (ZERO_C[metal] + at_c))
    return (value - true) / u


def deviations_of(unit, record, truth):
    """(quantity, z) of one record."""
    seen = set()
    u_kelvin = 0.0
    # IEC 60076-1 corrects no-load loss to no temperature: what is meant is the loss of the core as warm as it is.
    iron = "no_load_loss_room_w" if unit["standard"] == "iec" else "no_load_loss_w"
    rated_tap, ordered_tap = unit["hv"].get("rated_tap"), unit["hv"].get("ordered_tap", unit["hv"].get("rated_tap"))
    for result in record["results"]:
        key = (result["test"], result["quantity"])
        u = result.get("standard_uncertainty")
        name, z = result["quantity"], None
        if key == ("temperatures", "winding_temperature_c"):
            u_kelvin = u
        tap = re.match(r"tap (\d+), ", result["at"])
        if key in SAME_NAME and not (key[0] == "no_load" and result["at"] != "100 %"):
            z = (result["value"] - truth[iron if SAME_NAME[key] == "no_load_loss_w" else SAME_NAME[key]]) / u
        elif key == ("load_loss", "total_loss_w"):
            z = (result["value"] - truth["load_loss_w"] - truth[iron]) / u
        elif key == ("ratio", "ratio_error_percent") and (tap is None or int(tap[1]) == rated_tap):
            true = true_ratio_error(result, truth, unit["phases"] == 1)
            z = None if true is None else (result["value"] - true) / u
        elif key == ("winding_resistance", "resistance_ohm") and (tap is None or int(tap[1]) == rated_tap == ordered_tap):
            side = "hv" if result["at"].split(", ")[-1].startswith("H") else "lv"
            name = "resistance_20c_" + side
            z = resistance_z(result, truth, u_kelvin, unit[side]["metal"], unit["phases"] == 1)
        if z is not None and name not in seen:
            seen.add(name)
            yield name, z


def one_bench(path, seed, *wishes):
    """What one bench says of one unit: {quantity: z}, or the words of why there is none."""
    unit = document(path)
    found = {}
    for stage in stages(unit):
        with tempfile.NamedTemporaryFile(suffix=".json") as kept:
            code, out, err = virtual(path, "--seed", str(seed), "--truth", kept.name, *(["--stage", stage] if stage else []), *wishes)
            if code not in (0, 1):
                return "exit %d: %s" % (code, err.strip()[-300:])
            truth = json.loads(kept.read())["true_values"]
        for name, z in deviations_of(unit, json.loads(out), truth):
            found.setdefault(name, z)
    return found


def binomial_tail(n, p, at_least):
    """Probability of `at_least` or more of n."""
    return sum(math.exp(math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1) + k * math.log(p) + (n - k) * math.log1p(-p))
               for k in range(at_least, n + 1))


def chi_squared_tail(n, at_least):
    """Probability of a chi-squared of n degrees of freedom that large or larger (Wilson and Hilferty's approximation)."""
    spread = 2.0 / (9.0 * n)
    return normal_share(-((at_least / n) ** (1.0 / 3.0) - (1.0 - spread)) / math.sqrt(spread))


def normal_share(z):
    """Phi: the share of a normal distribution below z."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


INSIDE_2 = normal_share(2.0) - normal_share(-2.0)
OUTSIDE_3 = 2.0 * normal_share(-3.0)


class Quantity:
    """The z of one quantity over many benches, and what is wrong with them."""

    def __init__(self, zs):
        self.zs = zs
        self.n = len(zs)
        self.mean = sum(zs) / self.n
        self.rms = math.sqrt(sum(z * z for z in zs) / self.n)
        self.most = max(abs(z) for z in zs)
        self.inside = sum(abs(z) < 2 for z in zs)
        self.outside = sum(abs(z) > 3 for z in zs)

    def wrong(self, chance):
        """`chance`: how improbable a count must be before it counts as wrong."""
        words = []
        # Outside 0.85 to 1.15 by more than so many readings may differ by chance (chi-squared of n).
        if chi_squared_tail(self.n, self.n * (self.rms / 1.15) ** 2) < chance:
            words.append("rms %.2f" % self.rms)
        if 1.0 - chi_squared_tail(self.n, self.n * (self.rms / 0.85) ** 2) < chance:
            words.append("rms %.2f" % self.rms)
        if self.most > 6:
            words.append("%.1f u off" % self.most)
        if binomial_tail(self.n, 1.0 - INSIDE_2, self.n - self.inside) < chance:
            words.append("only %d of %d inside 2 u" % (self.inside, self.n))
        if self.outside and binomial_tail(self.n, OUTSIDE_3, self.outside) < chance:
            words.append("%d of %d outside 3 u" % (self.outside, self.n))
        return words
