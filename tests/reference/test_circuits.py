# SPDX-License-Identifier: MIT
"""Open- and short-circuit tests, windings between lines and phase-check volts against ngspice: the circuit is solved by
its nodes, and `calc` (or the phasors of limits/unit) must find what was put in or what stands at the terminals."""
import math
import unittest

from reference import calc, ngspice, relative, values_of

NGSPICE = "ngspice (operating point and AC)"
TWO_PI = 2 * math.pi

# Coils as common practice lays them out, written apart from the code. Limb k has the volts of the k-th letter.
# High voltage: D as H1-H3, H2-H1, H3-H2 on limbs 1 to 3 ("lag") or H1-H2, H2-H3, H3-H1 ("lead"); Y as H1, H2, H3 to N.
LAG, LEAD, WYE = [("1", "3"), ("2", "1"), ("3", "2")], [("1", "2"), ("2", "3"), ("3", "1")], [("1", "n"), ("2", "n"), ("3", "n")]
# Low voltage: coils (from, to, limb); the share of line volts in one coil: y 1/sqrt(3), d 1, half of a zigzag 1/3.
STAR = [("1", "n", 1), ("2", "n", 2), ("3", "n", 3)]
GROUPS = {
    "Dyn1": (LAG, "y", STAR),
    "Dyn5": (LAG, "y", [("1", "n", 2), ("2", "n", 3), ("3", "n", 1)]),
    "Dyn7": (LAG, "y", [("n", "1", 1), ("n", "2", 2), ("n", "3", 3)]),
    "Dyn11": (LEAD, "y", STAR),
    "YNyn0": (WYE, "y", STAR),
    "Yyn6": (WYE, "y", [("n", "1", 1), ("n", "2", 2), ("n", "3", 3)]),
    "Yd1": (WYE, "d", [("1", "2", 1), ("2", "3", 2), ("3", "1", 3)]),
    "Yd5": (WYE, "d", [("1", "2", 2), ("2", "3", 3), ("3", "1", 1)]),
    "Yd11": (WYE, "d", [("1", "3", 1), ("2", "1", 2), ("3", "2", 3)]),
    "Dd0": (LEAD, "d", [("1", "2", 1), ("2", "3", 2), ("3", "1", 3)]),
    "Dd6": (LEAD, "d", [("2", "1", 1), ("3", "2", 2), ("1", "3", 3)]),
    "Yzn1": (WYE, "z", [("1", "m1", 1), ("n", "m1", 3), ("2", "m2", 2), ("n", "m2", 1), ("3", "m3", 3), ("n", "m3", 2)]),
    "Yzn11": (WYE, "z", [("1", "m1", 1), ("n", "m1", 2), ("2", "m2", 2), ("n", "m2", 3), ("3", "m3", 3), ("n", "m3", 1)]),
    "Dzn0": (LEAD, "z", [("1", "m1", 1), ("n", "m1", 3), ("2", "m2", 2), ("n", "m2", 1), ("3", "m3", 3), ("n", "m3", 2)]),
}
SHARE = {"y": 1 / math.sqrt(3), "d": 1.0, "z": 1.0 / 3.0}


def group_netlist(group, lv_over_hv):
    """H fed with symmetrical volts of 1 V between lines, X1 tied to H1 (one node); each low-voltage coil an ideal
    source of its limb's volts; each high-voltage coil 1 Mohm, so that a star point without neutral is held."""
    hv, form, lv = GROUPS[group]
    text = "".join(f"VH{k} h{k} 0 AC {1 / math.sqrt(3)!r} {-120 * (k - 1)}\n" for k in (1, 2, 3))
    text += "".join(f"RH{k + 1} h{a} h{b} 1e6\n" for k, (a, b) in enumerate(hv))
    coil = lv_over_hv * SHARE[form] / (1.0 if hv is not WYE else 1 / math.sqrt(3))
    node = {"1": "h1"}  # the tie
    for number, (a, b, limb) in enumerate(lv):
        start, end = hv[limb - 1]
        a, b = node.get(a, "x" + a), node.get(b, "x" + b)
        # A milliohm in the coil lets the solver close a delta.
        text += f"E{number} {a} e{number} h{start} h{end} {coil!r}\nRE{number} e{number} {b} 1m\n"
    return text + ".ac lin 1 60 60\n"


class Circuits(unittest.TestCase):
    def test_phase_check_volts_of_vector_groups(self):
        entries = values_of("phase-check")
        self.assertEqual({entry["group"] for entry in entries}, set(GROUPS))
        for entry in entries:
            nodes = ngspice(group_netlist(entry["group"], entry["lv_over_hv"]), ["v(h1)", "v(h2)", "v(h3)", "v(x2)", "v(x3)"])
            for pair, volts in entry["volts"].items():
                a, b = (nodes[f"v({terminal.lower()})"] for terminal in pair.split("-"))
                relative(NGSPICE, f"{entry['group']} {entry['lv_over_hv']} {pair}", volts, abs(a - b), 1e-6)

    def test_windings_between_lines(self):
        for r12, r23, r31 in ((1.0, 1.0, 1.0), (1.02, 0.98, 1.1), (5.1, 4.7, 4.2), (0.0031, 0.0030, 0.0036)):
            for connection, parts in (("delta", (("1", "2", r12), ("2", "3", r23), ("3", "1", r31))),
                                      ("wye", (("1", "n", r12), ("2", "n", r23), ("3", "n", r31)))):
                lines = []
                for a, b in (("1", "2"), ("2", "3"), ("3", "1")):
                    names = {b: "0"}  # the return terminal is the reference node
                    text = "".join(f"R{i} {names.get(p, 't' + p)} {names.get(q, 't' + q)} {ohm!r}\n" for i, (p, q, ohm) in enumerate(parts))
                    lines.append(ngspice(text + f"I1 0 t{a} 1\n.op\n", [f"v(t{a})"])[f"v(t{a})"].real)
                answer = calc("phase-resistances", line_to_line_ohm=lines, connection=connection)
                for found, expected in zip(answer["phase_ohm"], (r12, r23, r31)):
                    relative(NGSPICE, f"{connection} of {r12}, {r23}, {r31} ohm", found, expected, 1e-8)

    def test_open_and_short_circuit(self):
        for rc, xm, r, x in ((480.0, 130.0, 6.0, 13.7), (2000.0, 800.0, 0.31, 1.9), (95.0, 41.0, 21.0, 17.5)):
            readings = {}
            for name, volts, text in (("open", 240.0, f"RC a 0 {rc!r}\nLM a 0 {xm / (TWO_PI * 60)!r}\n"),
                                      ("short", 31.0, f"RS a b {r!r}\nLS b 0 {x / (TWO_PI * 60)!r}\n")):
                current = -ngspice(f"V1 a 0 AC {volts}\n{text}.ac lin 1 60 60\n", ["i(v1)"])["i(v1)"]
                readings[name] = {"voltage_v": volts, "current_a": abs(current), "power_w": (volts * current.conjugate()).real}
            answer = calc("equivalent-circuit", **readings)
            for key, expected in (("core_resistance_ohm", rc), ("magnetizing_reactance_ohm", xm), ("series_resistance_ohm", r),
                                  ("series_reactance_ohm", x), ("series_impedance_ohm", math.hypot(r, x))):
                relative(NGSPICE, f"{key} of {expected:g}", answer[key], expected, 1e-8)

    def test_regulation(self):
        # The load is a current of known angle at rated secondary volts; the source's volts say the regulation.
        for r, x, pf, leading in ((1.3, 3.8, 0.8, False), (1.3, 3.8, 0.8, True), (0.4, 5.75, 1.0, False), (2.0, 2.0, 0.5, False)):
            angle = math.degrees(math.acos(pf)) * (1 if leading else -1)
            nodes = ngspice(f"V2 b 0 AC 1 0\nI1 b a AC 1 {angle!r}\nR1 a c {r / 100!r}\nL1 c b {x / 100 / (TWO_PI * 60)!r}\n.ac lin 1 60 60\n",
                            ["v(a)"])
            expected = 100 * (abs(nodes["v(a)"]) - 1)
            answer = calc("regulation", r_percent=r, x_percent=x, power_factor=pf, leading=leading)
            relative(NGSPICE, f"regulation, R {r} X {x} pf {pf}", answer["regulation_percent"], expected, 1e-6)


if __name__ == "__main__":
    unittest.main()
