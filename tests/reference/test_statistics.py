# SPDX-License-Identifier: MIT
"""Coverage factors, probabilities, budgets, capability and charts against mpmath (50 digits) and R."""
import unittest

import mpmath
from reference import calc, external, r_numbers, relative

mpmath.mp.dps = 50
MPMATH = f"mpmath {mpmath.__version__}, 50 digits"
R = "R (stats)"


def t_upper(t, freedom):
    """P(T > t) by the incomplete beta function."""
    x = freedom / (freedom + t * t)
    return mpmath.betainc(freedom / 2, mpmath.mpf(1) / 2, 0, x, regularized=True) / 2


class Statistics(unittest.TestCase):
    def test_coverage_factors_of_student_and_normal(self):
        cases = [(p, v) for p in (0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973) for v in (1, 2, 3, 4.5, 7, 16, 50, 1000.25)]
        factors = r_numbers([f"qt(1 - (1 - {p}) / 2, {v})" for p, v in cases])
        for (p, v), of_r in zip(cases, factors):
            k = calc("uncertainty", coverage=p, components=[
                {"name": "a", "standard_uncertainty": 1, "sensitivity": 1, "degrees_of_freedom": v}])["coverage_factor"]
            # 1 - p is exact to 1e-16 only, and the slope of the quantile is largest with one degree of freedom.
            relative(R, f"t factor, p {p}, {v} degrees of freedom", k, of_r)
            with mpmath.workdps(50):
                left = 2 * t_upper(mpmath.mpf(k), mpmath.mpf(v))
                external(MPMATH, f"tail of t beyond k, p {p}, {v} degrees of freedom", left, 1 - mpmath.mpf(p), 1e-12)
        for p in (0.5, 0.6827, 0.9, 0.95, 0.99, 0.9973):
            k = calc("uncertainty", coverage=p,
                     components=[{"name": "a", "standard_uncertainty": 1, "sensitivity": 1}])["coverage_factor"]
            relative(MPMATH, f"normal factor, p {p}", k, mpmath.sqrt(2) * mpmath.erfinv(mpmath.mpf(p)), 1e-12)

    def test_budgets(self):
        budgets = [[(0.3, 1.0, 9), (0.1, -2.0, 4), (0.05, 3.0, None)], [(1.2e-3, 450.0, 3), (0.4, 0.7, 12)],
                   [(2.0, 1.0, 2.5), (0.001, 1.0, 1)], [(0.29, 1.0, None), (0.58, 1.0, 99)]]
        for number, budget in enumerate(budgets):
            components = [{"name": f"c{i}", "standard_uncertainty": u, "sensitivity": c, **({"degrees_of_freedom": v} if v else {})}
                          for i, (u, c, v) in enumerate(budget)]
            answer = calc("uncertainty", components=components, coverage=0.95)
            square = sum((mpmath.mpf(u) * mpmath.mpf(c)) ** 2 for u, c, _ in budget)
            fourth = sum((mpmath.mpf(u) * mpmath.mpf(c)) ** 4 / mpmath.mpf(v) for u, c, v in budget if v)
            freedom = square ** 2 / fourth
            relative(MPMATH, f"budget {number} combined", answer["combined"], mpmath.sqrt(square), 1e-12)
            relative(MPMATH, f"budget {number} effective degrees of freedom", answer["effective_degrees_of_freedom"], freedom, 1e-12)
            of_r = r_numbers([f"qt(0.975, {mpmath.nstr(freedom, 17)}) * {mpmath.nstr(mpmath.sqrt(square), 17)}"])[0]
            relative(R, f"budget {number} expanded", answer["expanded"], of_r)

    def test_probability_of_conforming_and_its_verdict(self):
        for value in (-0.4, -0.1, 0.0, 0.15, 0.5, 0.93, 1.0, 1.12, 1.6):
            for u in (0.02, 0.1, 0.4):
                for lower, upper in ((0.0, 1.0), (None, 1.0), (0.0, None)):
                    limits = {key: limit for key, limit in (("lower", lower), ("upper", upper)) if limit is not None}
                    for guard in (0.0, 0.5, 1.0):
                        answer = calc("conformity", value=value, standard_uncertainty=u, guard_factor=guard, **limits)
                        inside = mpmath.ncdf((mpmath.mpf(upper) - value) / u) if upper is not None else mpmath.mpf(1)
                        inside -= mpmath.ncdf((mpmath.mpf(lower) - value) / u) if lower is not None else mpmath.mpf(0)
                        what = f"probability, {value} +- {u} in {lower}..{upper}"
                        external(MPMATH, what, answer["probability_conforming"], inside, 1e-13)
                        # Verdicts follow ILAC-G8:09/2019 with U = 2 u.
                        room = min([x for x in (value - lower if lower is not None else None,
                                                upper - value if upper is not None else None) if x is not None])
                        band = guard * 2 * u
                        if abs(abs(room) - band) < 1e-6 * u or abs(room) < 1e-12:
                            continue  # on the line itself: rounding decides
                        word = ("pass" if room >= band else "conditional pass") if room > 0 else (
                            "conditional fail" if room > -band else "fail")
                        self.assertEqual(answer["verdict"], word, f"{what}, guard {guard}")

    def test_capability_and_individuals(self):
        values = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1, 48.9, 50.35]
        text = "c(" + ",".join(map(str, values)) + ")"
        cases = [(44.0, 57.5), (None, 57.5), (44.0, None), (49.0, 57.5), (40.0, 53.0)]
        mean, deviation = r_numbers([f"mean({text})", f"sd({text})"])
        for lower, upper in cases:
            limits = {key: limit for key, limit in (("lower", lower), ("upper", upper)) if limit is not None}
            answer = calc("capability", values=values, **limits)
            relative(R, "capability mean", answer["mean"], mean)
            relative(R, "capability deviation", answer["standard_deviation"], deviation)
            sides = ([f"({upper} - mean({text})) / (3 * sd({text}))"] if upper is not None else []) + (
                [f"(mean({text}) - {lower}) / (3 * sd({text}))"] if lower is not None else [])
            relative(R, f"Cpk in {lower}..{upper}", answer["cpk"], r_numbers([f"min({', '.join(sides)})"])[0])
            if lower is not None and upper is not None:
                relative(R, f"Cp in {lower}..{upper}", answer["cp"], r_numbers([f"({upper} - {lower}) / (6 * sd({text}))"])[0])
        chart = calc("control-chart", values=values, kind="individuals")
        # d2 of two: the mean range of two normal values, 2 / sqrt(pi) = 1.12838; the chart uses the tables' 1.128.
        d2 = r_numbers(["integrate(function(x) 1 - pnorm(x)^2 - (1 - pnorm(x))^2, -Inf, Inf, rel.tol = 1e-12)$value"])[0]
        sigma = r_numbers([f"mean(abs(diff({text})))"])[0] / d2
        external(R, "individuals' upper limit, d2 by integration", chart["upper"], mean + 3 * sigma, 0.0005 / d2 * 3 * sigma)
        external(R, "individuals' lower limit, d2 by integration", chart["lower"], mean - 3 * sigma, 0.0005 / d2 * 3 * sigma)

    def test_ewma(self):
        values, target, sigma = [50.1, 52.3, 48.7, 49.9, 53.8, 54.1, 55.6, 50.0], 50.0, 2.05
        for weight in (0.1, 0.3, 0.7, 1.0):
            chart = calc("control-chart", values=values, kind="ewma", target=target, sigma=sigma, weight=weight)
            # R: a recursive filter with the target before the first value; limits by the sum of the weights' squares.
            text = "c(" + ",".join(map(str, values)) + ")"
            expected = r_numbers([f"stats::filter({weight} * {text}, {1 - weight!r}, 'recursive', init = {target})[{i + 1}]"
                                  for i in range(len(values))])
            reach = r_numbers([f"3 * {sigma} * sqrt(sum(({weight} * (1 - {weight})^(0:{i}))^2))" for i in range(len(values))])
            signals = []
            for i in range(len(values)):
                relative(R, f"EWMA {i + 1}, weight {weight}", chart["smoothed"][i], expected[i])
                relative(R, f"EWMA upper limit {i + 1}, weight {weight}", chart["upper"][i], target + reach[i])
                relative(R, f"EWMA lower limit {i + 1}, weight {weight}", chart["lower"][i], target - reach[i])
                if abs(expected[i] - target) > reach[i]:
                    signals.append(i + 1)
            self.assertEqual(chart["signals"], signals)


if __name__ == "__main__":
    unittest.main()
