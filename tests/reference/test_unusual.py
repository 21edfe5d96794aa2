# SPDX-License-Identifier: MIT
"""Unusual but legal inputs of every topic of `calc`, each answer computed a second time with mpmath at 50 digits: every
vector group that windings can form on limbs of arbitrary reluctance, three windings of mixed metals, frost, negative
phase errors, edges of dates and ranges, one-sided limits. The forms of the formulas are typed in anew from the sources
that `benchward calc --list` names; what these say from memory is from memory here."""
import csv
import cmath
import datetime
import itertools
import math
import os
import random
import unittest

import mpmath
import numpy
from mpmath import mpf

from reference import SOURCE, calc, external, relative

mpmath.mp.dps = 50
UNUSUAL = "mpmath 1.2.1, 50 digits, unusual inputs"
NETWORK = "coils on limbs of random reluctance, least magnetic energy (this script, NumPy)"
LIMB = [cmath.exp(-2j * math.pi * k / 3) for k in range(3)]


def m(text):
    return mpf(str(text))


def arrangements(form):
    """Every way to put the coils of one winding on three limbs: lists of coils as sums over the limbs' volts, in units of
    the line volts; coil k from terminal k to the neutral, of a delta from terminal k to the next."""
    for first, sign in itertools.product(range(3), (1, -1)):
        for second in (1, 2) if form == "z" else (0,):
            coils = [[0.0] * 3 for _ in range(3)]
            for k in range(3):
                coils[k][(k + first) % 3] += sign * {"z": 1 / 3, "d": 1.0, "y": 1 / math.sqrt(3)}[form]
                if form == "z":
                    coils[k][(k + first + second) % 3] -= sign / 3
            yield numpy.array(coils)


def volts_between(form, coils, a, b):
    if form == "d":
        return coils[a - 1] if a % 3 + 1 == b else -coils[b - 1]
    return (coils[a - 1] if a else numpy.zeros(3)) - (coils[b - 1] if b else numpy.zeros(3))


def phasor(form, coils, a, b):
    return complex(numpy.dot(volts_between(form, coils, a, b), LIMB))


def possible(high, low, clock):
    """Pairs of arrangements whose low-voltage line volts lag by the clock number, both of positive sequence."""
    turn = cmath.exp(-2j * math.pi / 3)
    for hv, lv in itertools.product(arrangements(high), arrangements(low)):
        of_hv, of_lv = phasor(high, hv, 1, 2), phasor(low, lv, 1, 2)
        if abs(phasor(high, hv, 2, 3) / of_hv - turn) < 1e-9 and abs(phasor(low, lv, 2, 3) / of_lv - turn) < 1e-9 \
                and abs(of_lv / of_hv - cmath.exp(-1j * math.pi * clock / 6)) < 1e-9:
            yield hv, lv


def terminals(text):
    return [[int(name[1:]) for name in side.split("+")] for side in text.split("-")]


def read_volts(high, low, hv, lv, pair, weights):
    """Volts of the low-voltage pair at one volt on the fed pair: fluxes of least magnetic energy under the conditions."""
    conditions = [(numpy.sum(coils, axis=0), 0.0) for form, coils in ((high, hv), (low, lv)) if form == "d"]
    fed = terminals(pair.get("feed", pair["hv"]))
    conditions += [(volts_between(high, hv, *tied), 0.0) for tied in fed if len(tied) == 2]
    conditions.append((volts_between(high, hv, fed[0][0], fed[1][0]), 1.0))
    if "short" in pair:
        conditions.append((volts_between(low, lv, *(side[0] for side in terminals(pair["short"]))), 0.0))
    rows, sides = numpy.array([row for row, _ in conditions]), numpy.array([side for _, side in conditions])
    compliance = numpy.diag(1.0 / numpy.array(weights))
    flux = compliance @ rows.T @ numpy.linalg.pinv(rows @ compliance @ rows.T) @ sides
    if not numpy.allclose(rows @ flux, sides, atol=1e-9):
        raise AssertionError(f"{pair} cannot be fed so")
    return float(numpy.dot(volts_between(low, lv, *(side[0] for side in terminals(pair["lv"]))), flux))


class Unusual(unittest.TestCase):
    def test_every_vector_group_on_unequal_limbs(self):
        chance, known = random.Random(11), 0
        for high, low, clock in itertools.product(("D", "Y", "YN", "Z", "ZN"), ("d", "y", "yn", "z", "zn"), range(12)):
            ways = list(possible(high[0].lower(), low[0], clock))
            if not ways:
                continue
            known += 1
            group = f"{high}{low}{clock}"
            answer = calc("phase-relation", vector_group=group)
            self.assertEqual(answer["displacement_deg"], 30 * clock, group)
            self.assertEqual(len(answer["pairs"]), 3, group)
            for pair in answer["pairs"]:
                factors = [1.0 / read_volts(high[0].lower(), low[0], hv, lv, pair, [chance.uniform(0.2, 5.0) for _ in range(3)])
                           for hv, lv in ways]
                farthest = max(factors, key=lambda factor, of=pair["factor"]: abs(factor - of))
                relative(NETWORK, f"{group} {pair['hv']}:{pair['lv']}", pair["factor"], farthest, 1e-9)
        self.assertEqual(known, 150)

    def test_ratio(self):
        third, half = mpmath.sqrt(3), m("1.5")
        for group, factor in (("Dyn7", third), ("Yd5", 2 / third), ("YNd11", 1 / third), ("Yzn5", third), ("Dz6", half), ("Ii6", 1), ("Zy11", None)):
            for hv, lv, tap, measured in ((34500, 240, -10, 88.25), (400, 11000, 7.5, 0.021)):
                answer = calc("ratio", vector_group=group, hv_rated_v=hv, lv_rated_v=lv, tap_percent=tap, measured_ratio=measured)
                by = m(calc("phase-relation", vector_group=group)["pairs"][0]["factor"]) if factor is None else factor
                expected = by * m(hv) * (1 + m(tap) / 100) / m(lv)
                relative(UNUSUAL, f"ratio {group} {hv}/{lv}", answer["expected_turns_ratio"], expected, 1e-14)
                relative(UNUSUAL, f"ratio error {group} {hv}/{lv}", answer["error_percent"], 100 * (m(measured) / expected - 1), 1e-10)

    def test_resistances(self):
        for ohm, at, to, metal, standard, zero in ((4.2e-5, -40, 20, "aluminum", "iec", 225), (911.5, 95, -20.5, "copper", "iec", 235),
                                                   (0.0123, -234.4, 85, "copper", "ieee", 234.5), (3, 25, 25, "aluminum", "ieee", 225)):
            found = calc("resistance-at-temperature", resistance_ohm=ohm, measured_at_c=at, reference_c=to, metal=metal, standard=standard)
            relative(UNUSUAL, f"{ohm} ohm from {at} to {to}", found["resistance_ohm"], m(ohm) * (m(to) + m(zero)) / (m(at) + m(zero)), 1e-11)
        for a, b, c in ((1, 100, 1), (1e-6, 1.1e-6, 5e-6), (0.7, 0.7, 0.7000001)):
            a, b, c = m(a), m(b), m(c)
            lines = [a * (b + c) / (a + b + c), b * (c + a) / (a + b + c), c * (a + b) / (a + b + c)]
            found = calc("phase-resistances", line_to_line_ohm=[float(x) for x in lines], connection="delta")
            for got, winding in zip(found["phase_ohm"], (a, b, c)):
                relative(UNUSUAL, f"delta of {float(a):g}, {float(b):g}, {float(c):g}", got, winding, 1e-11)
            relative(UNUSUAL, "delta total", found["total_ohm"], m("1.5") * sum(lines), 1e-14)
            external(UNUSUAL, "delta unbalance", found["unbalance_percent"], 300 * (max(a, b, c) - min(a, b, c)) / (a + b + c), 1e-8)
            found = calc("phase-resistances", line_to_line_ohm=[float(a + b), float(b + c), float(c + a)], connection="wye")
            # Legs of terminals 1, 2, 3: 1-2 = a + b, 2-3 = b + c, 3-1 = c + a.
            for got, leg in zip(found["phase_ohm"], (a, b, c)):
                relative(UNUSUAL, f"wye of {float(a):g}, {float(b):g}, {float(c):g}", got, leg, 1e-11)
            relative(UNUSUAL, "wye total", found["total_ohm"], a + b + c, 1e-14)

    def test_no_load_loss(self):
        for watts, rms, average, eddy, core, to, rated in ((12.5, 118, 121, 0, -15, 20, 120), (12.5, 118, 121, 1, 40, 75, None),
                                                          (9100, 14.9e3, 13.8e3, 0.3, 20, 20, 13.8e3), (700, 252.0, 240, 0.5, 20, 20, 250)):
            keys = {"rated_v": rated} if rated else {}
            found = calc("no-load-loss", measured_w=watts, rms_v=rms, average_v=average, eddy_fraction=eddy, core_c=core, reference_c=to, **keys)
            k = (m(rms) / m(average)) ** 2
            sine = m(watts) / (1 - m(eddy) + m(eddy) * k)
            relative(UNUSUAL, f"k of {rms}/{average}", found["k"], k, 1e-14)
            relative(UNUSUAL, f"sine loss at P2 {eddy}", found["sine_w"], sine, 1e-14)
            relative(UNUSUAL, f"no-load loss from {core} to {to} degC", found["corrected_w"], sine * (1 + m("0.00065") * (m(core) - m(to))), 1e-14)
            external(UNUSUAL, "wave correction, percent", found["correction_percent"], abs(100 * (sine / m(watts) - 1)), 1e-11)
            self.assertEqual(found["retest_required"], abs(sine / m(watts) - 1) > m("0.05"))
            self.assertEqual("voltage_error_percent" in found, rated is not None)
            if rated:
                external(UNUSUAL, "voltage error, percent", found["voltage_error_percent"], 100 * (m(average) / m(rated) - 1), 1e-11)

    def test_load_loss(self):
        def winding(ohm, at, metal, current):
            return {"total_resistance_ohm": ohm, "measured_at_c": at, "metal": metal, "rated_phase_current_a": current}
        cases = (
            # watts, test, rated, lm, to, windings, S, B: three windings of mixed metals; stray below zero; leading error at PF 0.012
            (811.25, 9.1, 13.9, -8.5, 85, [winding(3.1, -9, "copper", 13.9), winding(0.011, -8, "aluminum", 104), winding(0.012, -8.5, "aluminum", 104)], None, None),
            (150, 3.4, 3.4722, 21, 55, [winding(8, 35, "copper", 3.4722), winding(0.02, 10, "copper", 104)], None, None),
            (240, 21.5, 23.15, 30.25, 75, [winding(0.5, 30, "aluminum", 13.37)], 20000, -0.0031),
            (20000, 23.15, 23.15, 85, 85, [winding(9, 20, "copper", 13.37)], 20000, 0.0005),
        )
        for watts, test, rated, lm, to, windings, apparent, error in cases:
            keys = {"apparent_power_va": apparent, "phase_error_rad": error} if apparent else {}
            found = calc("load-loss", measured_w=watts, test_current_a=test, rated_current_a=rated, winding_c=lm, reference_c=to, windings=windings, **keys)
            true = m(apparent) * mpmath.cos(mpmath.acos(m(watts) / m(apparent)) + m(error)) if apparent else m(watts)
            at_rated = true * (m(rated) / m(test)) ** 2
            ohmic = hot = mpf(0)
            zeros = [m("234.5") if one["metal"] == "copper" else mpf(225) for one in windings]
            for one, zero in zip(windings, zeros):
                square = m(one["rated_phase_current_a"]) ** 2 * m(one["total_resistance_ohm"]) / (zero + m(one["measured_at_c"]))
                ohmic, hot = ohmic + square * (zero + m(lm)), hot + square * (zero + m(to))
            zero = zeros[0] if len(set(zeros)) == 1 else mpf(229)
            stray = at_rated - ohmic
            stray_hot = stray * (zero + m(lm)) / (zero + m(to))
            for key, expected in (("at_rated_current_w", at_rated), ("ohmic_w", ohmic), ("stray_w", stray), ("ohmic_reference_w", hot),
                                  ("stray_reference_w", stray_hot), ("corrected_w", hot + stray_hot)):
                relative(UNUSUAL, f"load loss {watts} W, {key}", found[key], expected, 1e-11)

    def test_impedance_circuit_regulation(self):
        # The second reads exactly as many watts as volt-amperes: no reactance.
        for volts, rated_v, test, rated, watts, kva, hot in ((18.1, 240, 88, 104.17, 390, 25, 0), (100, 1000, 10, 10, 1000, 10, 1200), (9.9e3, 138e3, 300, 418.4, 0, 1e5, 3e5)):
            found = calc("impedance", impedance_voltage_v=volts, rated_voltage_v=rated_v, test_current_a=test, rated_current_a=rated,
                         load_loss_w=watts, rated_kva=kva, load_loss_reference_w=hot)
            z, r = 100 * m(volts) * m(rated) / m(test) / m(rated_v), m(watts) / (10 * m(kva))
            x = mpmath.sqrt(z * z - r * r)
            relative(UNUSUAL, "z percent", found["z_percent"], z, 1e-13)
            external(UNUSUAL, "r percent", found["r_percent"], r, 1e-12)
            external(UNUSUAL, f"x percent of {kva} kVA", found["x_percent"], x, 1e-12)
            relative(UNUSUAL, "z percent at reference", found["z_reference_percent"], mpmath.sqrt(x * x + (m(hot) / (10 * m(kva))) ** 2), 1e-12)
        for opened, short in (((240, 0.02, 4.7), (11000, 2.5, 27499)), ((2400, 1, 1), (0.5, 1000, 499.9)), ((7.2e3, 0.11, 400), (200, 14, 30))):
            found = calc("equivalent-circuit", open=dict(zip(("voltage_v", "current_a", "power_w"), opened)),
                         short=dict(zip(("voltage_v", "current_a", "power_w"), short)))
            v, i, p = map(m, opened)
            relative(UNUSUAL, "core resistance", found["core_resistance_ohm"], v * v / p, 1e-13)
            relative(UNUSUAL, "magnetising reactance", found["magnetizing_reactance_ohm"], v * v / mpmath.sqrt((v * i) ** 2 - p * p), 1e-11)
            v, i, p = map(m, short)
            relative(UNUSUAL, "series impedance", found["series_impedance_ohm"], v / i, 1e-13)
            relative(UNUSUAL, "series resistance", found["series_resistance_ohm"], p / i ** 2, 1e-13)
            external(UNUSUAL, "series reactance", found["series_reactance_ohm"], mpmath.sqrt((v / i) ** 2 - (p / i ** 2) ** 2), 1e-9)
        for r, x, pf, leading, load in ((0, 5.75, 0, False, 1), (0, 5.75, 0, True, 1.3), (2.1, 0, 1, True, 1), (1.02, 3.3, 0.05, True, 2), (1, 4, 0.8, False, 0)):
            found = calc("regulation", r_percent=r, x_percent=x, power_factor=pf, leading=leading, load_fraction=load)
            q = mpmath.sqrt(1 - m(pf) ** 2) * (-1 if leading else 1)
            expected = 100 * (abs(1 + m(load) * mpmath.mpc(m(r), m(x)) / 100 * mpmath.mpc(m(pf), -q)) - 1)
            external(UNUSUAL, f"regulation {r} {x} pf {pf} {'leading' if leading else 'lagging'} load {load}", found["regulation_percent"], expected, 1e-12)

    def test_polarity_at_its_edges(self):
        for join, key, above, below in (("adjacent", "polarity", "additive", "subtractive"), ("like_marked", "marking", "wrong", "right")):
            for across, word in ((104, above), (102, above), (101.999, "undetermined"), (98.001, "undetermined"), (98, below), (0, below)):
                self.assertEqual(calc("polarity", join=join, applied_v=100, expected_lv_v=4, across_v=across)[key], word, across)

    def test_efficiency(self):
        for kva, no_load, load, fraction, pf in ((10, 0, 120, 1, 1), (2500, 2300, 0, 0.01, 0.2), (37.5, 55.5, 360, 1.8, 0.707)):
            found = calc("efficiency", rated_kva=kva, no_load_loss_w=no_load, load_loss_w=load, load_fraction=fraction, power_factor=pf)
            total, output = m(no_load) + m(load) * m(fraction) ** 2, 1000 * m(kva) * m(fraction) * m(pf)
            relative(UNUSUAL, "total loss", found["total_loss_w"], total, 1e-14)
            relative(UNUSUAL, "efficiency", found["efficiency_percent"], 100 * output / (output + total), 1e-14)
        for sample, represented in (([50, 99.9], 75), ([99.5] * 7, 99.5), ([98.1], 98.2)):
            found = calc("represented-efficiency", efficiencies_percent=sample, represented_percent=represented)
            mean, factor = sum(map(m, sample)) / len(sample), 1 + m("0.08") / mpmath.sqrt(len(sample))
            bound = 100 / (1 + factor * (100 / m(represented) - 1))
            relative(UNUSUAL, "mean of the sample", found["mean_percent"], mean, 1e-14)
            relative(UNUSUAL, "bound of the mean", found["bound_percent"], bound, 1e-14)
            relative(UNUSUAL, "highest represented", found["highest_represented_percent"], 100 / (1 + (100 / mean - 1) / factor), 1e-14)
            self.assertEqual(found["compliant"], mean >= bound)

    def test_the_regulation_changes_on_its_day(self):
        with open(os.path.join(SOURCE, "tests/reference/data/us_10cfr431_196_liquid_immersed.csv"), encoding="utf-8") as file:
            rows = list(csv.DictReader(file))

        def by_table(phases, kva, day, submersible):
            for row in rows:
                fits = row["category"] == "all_liquid_immersed" or (row["category"] == "submersible") == submersible
                inside = row["effective_from"] <= day and (not row["effective_until"] or day < row["effective_until"])
                if fits and inside and int(row["phases"]) == phases and m(row["kva"]) == m(kva):
                    return m(row["efficiency_percent"])
            raise AssertionError(f"{phases} {kva} {day}")
        days = sorted({row["effective_from"] for row in rows})
        before = [(datetime.date.fromisoformat(day) - datetime.timedelta(days=1)).isoformat() for day in days[1:]]
        for day, (phases, kva), submersible in itertools.product(days + before + ["2028-02-29"], ((1, 10), (1, 833), (3, 15), (3, 2500)), (False, True)):
            eta = by_table(phases, kva, day, submersible)
            found = calc("efficiency-minimum", phases=phases, rated_kva=kva, manufactured_on=day, submersible=submersible)
            what = f"{phases} phases, {kva} kVA, {day}, submersible {submersible}"
            relative(UNUSUAL, f"least efficiency, {what}", found["efficiency_percent"], eta, 1e-14)
            relative(UNUSUAL, f"loss left, {what}", found["allowed_loss_w"], 500 * m(kva) * (100 / eta - 1), 1e-10)

    def test_induced_test(self):
        for standard, rated, hz, test, case, winding, ceiling in (
                ("ieee", 240, 60, 120, "twice_rated", None, None), ("iec", 400, 50, 100, "twice_rated", None, None),
                ("iec", 400, 50, 400.5, "twice_rated", None, None), ("ieee", 120, 50, 233.3, "line_to_ground", 2400, None),
                ("ieee", 277, 60, 200, "line_to_ground", 19920, 50000), ("ieee", 240, 60, 400, "line_to_ground", 14400, 1e6), ("ieee", 240, 25, 50, "twice_rated", None, None)):
            keys = {key: value for key, value in (("winding_v", winding), ("ceiling_v", ceiling)) if value}
            found = calc("induced-test", standard=standard, rated_v=rated, rated_hz=hz, test_hz=test, case=case, **keys)
            level = mpf(2)
            if winding:
                level = min(1000 + m("3.46") * m(winding), m(ceiling or 1e9)) / m(winding)
            seconds = min(mpf(60), 7200 / m(test)) if standard == "ieee" else min(mpf(60), max(mpf(15), 120 * m(hz) / m(test)))
            relative(UNUSUAL, f"induced volts {case} {winding}", found["test_v"], level * m(rated), 1e-14)
            relative(UNUSUAL, f"induced seconds at {test} Hz, {standard}", found["duration_s"], seconds, 1e-14)
            relative(UNUSUAL, f"lowest hertz {case} {winding}", found["lowest_test_hz"], level * m(hz), 1e-14)

    def test_uncertainty(self):
        def t_quantile(coverage, freedom):
            p, n = (1 + m(coverage)) / 2, m(freedom)
            def below(t):
                return 1 - mpmath.betainc(n / 2, mpf(1) / 2, 0, n / (n + t * t), regularized=True) / 2
            return mpmath.findroot(lambda t: below(t) - p, (mpf(1), mpf(3)), solver="anderson", tol=1e-30)
        for parts, coverage in (([(0.3, -2.5, 4.5), (0, 7, 1)], 0.9973), ([(1e-9, 1e6, 2), (4e-4, -1, 60), (2e-3, 0.5, None)], 0.5), ([(2, 1, 1.5)], 0.99)):
            components = [{"name": f"c{i}", "standard_uncertainty": u, "sensitivity": c, **({"degrees_of_freedom": n} if n else {})} for i, (u, c, n) in enumerate(parts)]
            found = calc("uncertainty", components=components, coverage=coverage)
            squares = [(m(u) * m(c)) ** 2 for u, c, _ in parts]
            freedom = sum(squares) ** 2 / sum(s * s / m(n) for s, (_, _, n) in zip(squares, parts) if n)
            factor = t_quantile(coverage, freedom)
            relative(UNUSUAL, "combined", found["combined"], mpmath.sqrt(sum(squares)), 1e-14)
            relative(UNUSUAL, "effective degrees of freedom", found["effective_degrees_of_freedom"], freedom, 1e-12)
            relative(UNUSUAL, f"coverage factor at {float(freedom):g}, {coverage}", found["coverage_factor"], factor, 1e-11)
            relative(UNUSUAL, "expanded", found["expanded"], factor * mpmath.sqrt(sum(squares)), 1e-11)

    def test_conformity(self):
        for value, u, lower, upper, guard in ((0.5, 0.1, None, 0.7, 1), (0.5, 0.1, None, 0.7, 0.99), (0.5, 0.1, None, 0.7, 1.01), (-3, 2, -2, None, 0.4), (-3, 2, -2, None, 0),
                                              (1, 0, 1, 1, 1), (99.31, 0.04, 99.35, 99.9, 1), (99.2, 0.04, 99.35, None, 1), (5, 4, 0, 6, 3), (7, 0.2, 0, 6, 0.5)):
            keys = {key: limit for key, limit in (("lower", lower), ("upper", upper)) if limit is not None}
            found = calc("conformity", value=value, standard_uncertainty=u, guard_factor=guard, **keys)
            below = lambda x: mpmath.ncdf((m(x) - m(value)) / m(u))
            if u:
                probability = (below(upper) if upper is not None else 1) - (below(lower) if lower is not None else 0)
                external(UNUSUAL, f"conforming, {value} +- {u}", found["probability_conforming"], probability, 1e-13)
            room = min(m(value) - m(lower) if lower is not None else mpmath.inf, m(upper) - m(value) if upper is not None else mpmath.inf)
            band = 2 * m(guard) * m(u)
            word = ("pass" if room >= band else "conditional pass") if room >= 0 else ("conditional fail" if room > -band else "fail")
            if abs(abs(room) - band) > 1e-12 or not band:  # exactly on the edge the binary fractions decide
                self.assertEqual(found["verdict"], word, (value, u, lower, upper, guard))
            self.assertEqual(found["prior"], "flat")

    def test_capability_and_charts(self):
        for values, lower, upper in (([1e6 + 1, 1e6 + 2, 1e6 + 4], 1e6, None), ([-0.4, 0.1, 0.35, -0.1], None, 0.3), ([5, 6], 5.4, 5.6)):
            keys = {key: limit for key, limit in (("lower", lower), ("upper", upper)) if limit is not None}
            found = calc("capability", values=values, **keys)
            mean = sum(map(m, values)) / len(values)
            sigma = mpmath.sqrt(sum((m(v) - mean) ** 2 for v in values) / (len(values) - 1))
            external(UNUSUAL, "mean", found["mean"], mean, 1e-9)
            relative(UNUSUAL, "standard deviation", found["standard_deviation"], sigma, 1e-9)
            rooms = [m(upper) - mean] if upper is not None else []
            rooms += [mean - m(lower)] if lower is not None else []
            relative(UNUSUAL, "cpk", found["cpk"], min(rooms) / (3 * sigma), 1e-8)
            self.assertEqual("cp" in found, len(rooms) == 2)
            if len(rooms) == 2:
                relative(UNUSUAL, "cp", found["cp"], (m(upper) - m(lower)) / (6 * sigma), 1e-9)
        for values, target, sigma in (([1, 9, 2, 8, 40], None, None), ([1, 2, 3], 2, 0.1), ([4], 0, 1), ([3, 3.5], 3, None)):
            keys = {key: value for key, value in (("target", target), ("sigma", sigma)) if value is not None}
            found = calc("control-chart", values=values, kind="individuals", **keys)
            center = m(target) if target is not None else sum(map(m, values)) / len(values)
            # d2 of ranges of two as the handbook prints it, 1.128.
            spread = m(sigma) if sigma else sum(abs(m(b) - m(a)) for a, b in zip(values, values[1:])) / (len(values) - 1) / m("1.128")
            for key, expected in (("center", center), ("lower", center - 3 * spread), ("upper", center + 3 * spread)):
                external(UNUSUAL, f"individuals {key}", found[key], expected, 1e-3 * abs(spread))
            self.assertEqual(found["signals"], [i + 1 for i, v in enumerate(values) if abs(m(v) - center) > 3 * spread])
        for values, weight in (([1.5, -2, 7, 3], 1), ([0.5] * 6, 0.05), ([-3, 3, -3], 0.7)):
            found = calc("control-chart", values=values, kind="ewma", weight=weight, target=0, sigma=0.8)
            smoothed, signals = mpf(0), []
            for i, value in enumerate(values):
                smoothed = m(weight) * m(value) + (1 - m(weight)) * smoothed
                reach = 3 * m("0.8") * mpmath.sqrt(m(weight) / (2 - m(weight)) * (1 - (1 - m(weight)) ** (2 * i + 2)))
                external(UNUSUAL, f"EWMA {weight} {i}", found["smoothed"][i], smoothed, 1e-13)
                external(UNUSUAL, f"EWMA upper {weight} {i}", found["upper"][i], reach, 1e-12)
                external(UNUSUAL, f"EWMA lower {weight} {i}", found["lower"][i], -reach, 1e-12)
                signals += [i + 1] if abs(smoothed) > reach else []
            self.assertEqual(found["signals"], signals)

    def test_modbus_check_word(self):
        # Bit by bit as polynomial division over GF(2), reflected, apart from the program's shift register.
        for frame in ("00", "ff" * 64, "0A 10 00 05 00 01 02 BE EF"):
            data, remainder = bytes.fromhex(frame), 0
            bits = [(byte >> i) & 1 for byte in data for i in range(8)]
            bits = [bit ^ 1 if i < 16 else bit for i, bit in enumerate(bits + [0] * 16)]
            for bit in bits:
                remainder = (remainder << 1) | bit
                if remainder & 0x10000:
                    remainder ^= 0x18005
            reflected = int(f"{remainder:016b}"[::-1], 2)
            self.assertEqual(calc("modbus-crc", bytes=frame)["crc"].upper(), f"{reflected & 0xFF:02X}{reflected >> 8:02X}", frame)


if __name__ == "__main__":
    unittest.main()
