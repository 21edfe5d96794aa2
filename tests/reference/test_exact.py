# SPDX-License-Identifier: MIT
"""Formulas without a distribution in exact rational arithmetic (Python fractions), roots in 40 digits (decimal)."""
import csv
import datetime
import itertools
import os
import unittest
from decimal import Decimal, getcontext
from fractions import Fraction

from reference import SOURCE, calc, external, relative

getcontext().prec = 40
EXACT = "exact rational arithmetic (Python fractions)"
ROOTS = "40-digit decimal arithmetic (Python decimal)"


def rational(text):
    return Fraction(str(text))


def root(value):
    return (Decimal(value.numerator) / Decimal(value.denominator)).sqrt()


def decimal(value):
    return Decimal(value.numerator) / Decimal(value.denominator)


class Exact(unittest.TestCase):
    def test_resistance_at_temperature(self):
        # T_k: 10 CFR 431 subpart K appendix A (234.5 and 225, read); 235 by IEC 60076-1 (secondary text).
        zero = {("copper", "ieee"): "234.5", ("copper", "iec"): "235", ("aluminum", "ieee"): "225", ("aluminum", "iec"): "225"}
        for (metal, standard), ohm, at, reference in itertools.product(
                zero, ("0.00231", "1.5", "87.03"), ("-5.5", "20", "31.7"), ("55", "75", "85", "120")):
            answer = calc("resistance-at-temperature", resistance_ohm=float(ohm), measured_at_c=float(at),
                          reference_c=float(reference), metal=metal, standard=standard)
            k = rational(zero[metal, standard])
            expected = rational(ohm) * (rational(reference) + k) / (rational(at) + k)
            relative(EXACT, f"{ohm} ohm of {metal} by {standard} from {at} to {reference} degC", answer["resistance_ohm"], expected, 1e-14)

    def test_there_and_back_is_the_identity(self):
        for ohm, at, reference in (("0.731", "17.3", "85"), ("12.5", "60.25", "20")):
            there = calc("resistance-at-temperature", resistance_ohm=float(ohm), measured_at_c=float(at),
                         reference_c=float(reference), metal="copper")["resistance_ohm"]
            back = calc("resistance-at-temperature", resistance_ohm=there, measured_at_c=float(reference),
                        reference_c=float(at), metal="copper")["resistance_ohm"]
            relative(EXACT, f"{ohm} ohm there and back", back, rational(ohm), 1e-14)

    def test_phase_resistances(self):
        # Forward by series and parallel connection in fractions, back by `calc`.
        for r12, r23, r31 in (("1", "1", "1"), ("1.02", "0.98", "1.1"), ("5.1", "4.7", "4.2"), ("0.0031", "0.0030", "0.0036")):
            a, b, c = map(rational, (r12, r23, r31))
            whole = a + b + c
            lines = [a * (b + c) / whole, b * (a + c) / whole, c * (a + b) / whole]
            answer = calc("phase-resistances", line_to_line_ohm=[float(x) for x in lines], connection="delta")
            for found, expected in zip(answer["phase_ohm"], (a, b, c)):
                relative(EXACT, f"delta winding of {expected}", found, expected, 1e-12)
            relative(EXACT, "delta total", answer["total_ohm"], Fraction(3, 2) * sum(lines), 1e-14)
            relative(EXACT, "delta unbalance", answer["unbalance_percent"] + 1,
                     1 + 100 * (max(a, b, c) - min(a, b, c)) / (whole / 3), 1e-11)
            lines = [a + b, b + c, c + a]
            answer = calc("phase-resistances", line_to_line_ohm=[float(x) for x in lines], connection="wye")
            for found, expected in zip(answer["phase_ohm"], (a, b, c)):
                relative(EXACT, f"wye leg of {expected}", found, expected, 1e-12)
            relative(EXACT, "wye total", answer["total_ohm"], whole, 1e-14)

    def test_ratio(self):
        # Line ratio times sqrt(3) where a delta is compared with a leg of a wye, 1 where like is compared with like.
        for group, square in (("Dyn1", 3), ("Dyn11", 3), ("YNyn0", 1), ("Dd0", 1), ("Ii0", 1), ("Dyn5", 3)):
            for hv, lv, tap, measured in (("12470", "480", "2.5", "46"), ("7200", "240", "-5", "28.4"), ("33000", "415", "0", "138")):
                answer = calc("ratio", vector_group=group, hv_rated_v=float(hv), lv_rated_v=float(lv), tap_percent=float(tap),
                              measured_ratio=float(measured))
                line = rational(hv) * (1 + rational(tap) / 100) / rational(lv)
                expected = decimal(line) * Decimal(square).sqrt()
                what = f"{group} {hv}/{lv} V, tap {tap} %"
                relative(ROOTS, f"ratio, {what}", answer["expected_turns_ratio"], expected, 1e-14)
                external(ROOTS, f"ratio error, {what}", answer["error_percent"], 100 * (Decimal(measured) / expected - 1), 1e-11)

    def test_no_load_loss(self):
        # 10 CFR 431 subpart K appendix A equations 4-1, 4-2 (forms derived; 0.00065 per kelvin from memory).
        for watts, rms, average, eddy, core, to in (("100", "241", "240", "0.5", "20", "20"), ("88.7", "244.3", "239.9", "0.4", "31.5", "20"),
                                                    ("1211", "480", "483", "0.65", "12", "25")):
            answer = calc("no-load-loss", measured_w=float(watts), rms_v=float(rms), average_v=float(average),
                          eddy_fraction=float(eddy), core_c=float(core), reference_c=float(to), rated_v=240)
            k = (rational(rms) / rational(average)) ** 2
            sine = rational(watts) / (1 - rational(eddy) + rational(eddy) * k)
            relative(EXACT, "form factor k", answer["k"], k, 1e-14)
            relative(EXACT, "no-load loss of a sine", answer["sine_w"], sine, 1e-14)
            relative(EXACT, "no-load loss at reference temperature", answer["corrected_w"],
                     sine * (1 + rational("0.00065") * (rational(core) - rational(to))), 1e-14)
            external(EXACT, "waveform correction, percent", answer["correction_percent"], 100 * abs(sine / rational(watts) - 1), 1e-12)
            external(EXACT, "voltage error, percent", answer["voltage_error_percent"], 100 * (rational(average) / 240 - 1), 1e-11)

    def test_load_loss(self):
        # 10 CFR 431 subpart K appendix A equations 4-6 to 4-10; 229 for the stray part of mixed metals (read).
        for metals in (("copper", "copper"), ("copper", "aluminum"), ("aluminum", "aluminum")):
            zero = [rational("234.5") if metal == "copper" else 225 for metal in metals]
            answer = calc("load-loss", measured_w=5210.5, test_current_a=22.9, rated_current_a=23.15, winding_c=26.5, reference_c=85,
                          windings=[{"total_resistance_ohm": 9.05, "measured_at_c": 24.25, "metal": metals[0], "rated_phase_current_a": 13.37},
                                    {"total_resistance_ohm": 0.0024, "measured_at_c": 24, "metal": metals[1], "rated_phase_current_a": 601.4}])
            lm, to = rational("26.5"), 85
            rated = rational("5210.5") * (rational("23.15") / rational("22.9")) ** 2
            cold = [rational("13.37") ** 2 * rational("9.05") / (zero[0] + rational("24.25")), rational("601.4") ** 2 * rational("0.0024") / (zero[1] + 24)]
            ohmic = sum(c * (z + lm) for c, z in zip(cold, zero))
            hot = sum(c * (z + to) for c, z in zip(cold, zero))
            stray_zero = zero[0] if zero[0] == zero[1] else 229
            stray = rated - ohmic
            stray_hot = stray * (stray_zero + lm) / (stray_zero + to)
            for key, expected in (("at_rated_current_w", rated), ("ohmic_w", ohmic), ("stray_w", stray), ("ohmic_reference_w", hot),
                                  ("stray_reference_w", stray_hot), ("corrected_w", hot + stray_hot)):
                relative(EXACT, f"load loss {key}, {metals[0]} and {metals[1]}", answer[key], expected, 1e-12)

    def test_impedance_and_regulation(self):
        for volts, amperes, watts, hot in (("500", "23", "4000", "4500"), ("717.3", "23.15", "5210", "6020"), ("310", "22", "3900", "4100")):
            answer = calc("impedance", impedance_voltage_v=float(volts), rated_voltage_v=12470, test_current_a=float(amperes),
                          rated_current_a=23.15, load_loss_w=float(watts), rated_kva=500, load_loss_reference_w=float(hot))
            z = 100 * rational(volts) * rational("23.15") / rational(amperes) / 12470
            r = rational(watts) / 5000
            x = root(z * z - r * r)
            relative(EXACT, "z percent", answer["z_percent"], z, 1e-13)
            relative(EXACT, "r percent", answer["r_percent"], r, 1e-13)
            relative(ROOTS, "x percent", answer["x_percent"], x, 1e-12)
            relative(ROOTS, "z percent at reference", answer["z_reference_percent"], (x * x + decimal(rational(hot) / 5000) ** 2).sqrt(), 1e-12)
        for r, x, pf, leading, load in itertools.product(("1.3", "0.2"), ("3.8", "5.75"), ("0.8", "1", "0.6"), (False, True), ("1", "0.5")):
            answer = calc("regulation", r_percent=float(r), x_percent=float(x), power_factor=float(pf), leading=leading, load_fraction=float(load))
            q = Decimal(1 - Fraction(pf) ** 2 == 0 and "0" or {"0.8": "0.6", "0.6": "0.8"}[pf]) * (-1 if leading else 1)
            share = Decimal(load) / 100
            in_phase = 1 + share * (Decimal(r) * Decimal(pf) + Decimal(x) * q)
            across = share * (Decimal(x) * Decimal(pf) - Decimal(r) * q)
            external(ROOTS, f"regulation, R {r} X {x} pf {pf} {'leading' if leading else 'lagging'} load {load}",
                     answer["regulation_percent"], 100 * ((in_phase ** 2 + across ** 2).sqrt() - 1), 1e-12)

    def test_efficiency(self):
        for kva, no_load, load, fraction, pf in itertools.product(("50", "500"), ("90", "431.5"), ("515", "3877"), ("0.5", "1", "0.35"), ("1", "0.85")):
            answer = calc("efficiency", rated_kva=float(kva), no_load_loss_w=float(no_load), load_loss_w=float(load),
                          load_fraction=float(fraction), power_factor=float(pf))
            total = rational(no_load) + rational(load) * rational(fraction) ** 2
            output = 1000 * rational(kva) * rational(fraction) * rational(pf)
            relative(EXACT, "total loss", answer["total_loss_w"], total, 1e-14)
            relative(EXACT, f"efficiency of {kva} kVA at {fraction}", answer["efficiency_percent"], 100 * output / (output + total), 1e-14)

    def test_represented_efficiency(self):
        # 10 CFR 429.47(a)(2); the condition is an image in the copies read: from memory.
        for sample, represented in ((["99.1", "99.2", "99.15", "99.2", "99.18"], "99.15"), (["98.9", "99.02"], "99"), (["99.42"], "99.4")):
            answer = calc("represented-efficiency", efficiencies_percent=[float(x) for x in sample], represented_percent=float(represented))
            mean = sum(map(rational, sample)) / len(sample)
            factor = 1 + Decimal("0.08") / Decimal(len(sample)).sqrt()
            bound = 100 / (1 + factor * decimal(100 / rational(represented) - 1))
            relative(EXACT, "mean efficiency", answer["mean_percent"], mean, 1e-14)
            relative(ROOTS, "bound of the mean", answer["bound_percent"], bound, 1e-14)
            relative(ROOTS, "highest represented efficiency", answer["highest_represented_percent"],
                     100 / (1 + decimal(100 / mean - 1) / factor), 1e-14)
            self.assertEqual(answer["compliant"], decimal(mean) >= bound)

    def test_regulation_table_between_its_rows(self):
        # 10 CFR 431.196(b): rows as read, straight line between them; each row, and two points between neighbours.
        with open(os.path.join(SOURCE, "tests/reference/data/us_10cfr431_196_liquid_immersed.csv"), encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        groups = {}
        for row in rows:
            groups.setdefault((row["phases"], row["effective_from"], row["category"]), []).append(row)
        source = "10 CFR 431.196(b) table, exact interpolation (Python fractions)"
        for (phases, start, category), group in groups.items():
            group.sort(key=lambda row: rational(row["kva"]))
            day = (datetime.date.fromisoformat(start) + datetime.timedelta(days=40)).isoformat()
            for low, high in zip(group, group[1:]):
                for part in (Fraction(0), Fraction(1, 4), Fraction(3, 5), Fraction(1)):
                    kva = rational(low["kva"]) + part * (rational(high["kva"]) - rational(low["kva"]))
                    eta = rational(low["efficiency_percent"]) + part * (rational(high["efficiency_percent"]) - rational(low["efficiency_percent"]))
                    answer = calc("efficiency-minimum", phases=int(phases), rated_kva=float(kva), manufactured_on=day,
                                  submersible=category == "submersible")
                    what = f"{phases} phases, {float(kva):g} kVA, {day}, {category}"
                    relative(source, what, answer["efficiency_percent"], eta, 1e-13)
                    relative(source, f"loss left, {what}", answer["allowed_loss_w"], 1000 * kva / 2 * (100 / eta - 1), 1e-9)

    def test_induced_test(self):
        for rated, hz, test in (("240", "60", "180"), ("480", "60", "400"), ("400", "50", "150"), ("415", "50", "420")):
            for standard in ("ieee", "iec"):
                answer = calc("induced-test", standard=standard, rated_v=float(rated), rated_hz=float(hz), test_hz=float(test))
                # 7200 cycles and 60 s (IEEE C57.12.90); 120 x rated / test, 15 to 60 s (IEC 60076-3): from memory.
                seconds = min(Fraction(60), 7200 / rational(test)) if standard == "ieee" else min(
                    Fraction(60), max(Fraction(15), 120 * rational(hz) / rational(test)))
                relative(EXACT, f"seconds at {test} Hz by {standard}", answer["duration_s"], seconds, 1e-14)
                relative(EXACT, "induced volts", answer["test_v"], 2 * rational(rated), 1e-14)
                relative(EXACT, "lowest frequency", answer["lowest_test_hz"], 2 * rational(hz), 1e-14)


if __name__ == "__main__":
    unittest.main()
