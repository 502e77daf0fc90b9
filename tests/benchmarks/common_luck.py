"""How much common luck cuts the variance of a box-against-bag difference, against independent replications.

Run ``python tests/benchmarks/common_luck.py [replications] [workers]``; it prints, for each rule and metric, the
standard deviations of both programmes, their correlation, and the ratio of variances
(var(boxes) + var(bags)) / var(bags - boxes): how many times as many independent replications the same interval would
need. The ratio is bounded by (s1^2 + s2^2) / (s1 - s2)^2, which is small where one programme varies much more than the
other, however well their luck is shared; the bound is printed too. It ends with 1 if no metric reaches 4.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from simstore.lab.bench import Bench
from simstore.lab.harvest import METRICS
from simstore.plans.variant import Variant
from simstore.results.series import series
from simstore.scenario.reading.load import load_scenario
from simstore.statistics.intervals import variance_ratio

SCENARIO = Path(__file__).parents[2] / "scenarios" / "river_depot"
RULES = {"when_due": "forecast", "today": "reading", "calendar": "calendar"}
SHOWN = (
    "held_pct.iron",
    "held_pct.copper",
    "excess_pct_days.iron",
    "exchanges",
    "staff_h",
    "staff_h.exchange",
    "energy_kwh",
    "annual_equivalent_cost",
    "swing_damping",
)
WANTED = 4.0
LAYERS = {"clip_box": 1, "triple_bag": 3}
KNOWN = {
    f"kinds.{kind}.layers.{layer}.leak_per_day.sigma_ln": 0.0
    for kind, layers in LAYERS.items()
    for layer in range(layers)
}
STORES = {
    "one year": {},
    "three years": {"years": 3},
    "three years, every leak known": {"years": 3, **KNOWN},
}
"""In the first year few boxes need an exchange, so that a count of them is rare luck that cannot be shared; in three
years it can. The leaks are the store's own luck: a box has one, a nested bag three, shared in their sum."""


def pair(scenario, plan):
    """The scenario with the plan under both programmes, as two plans."""
    plans = dict(scenario.settings.plans)
    for programme in ("boxes", "bags"):
        plans[programme] = plans[plan].model_copy(update={"programme": programme})
    return replace(scenario, settings=scenario.settings.model_copy(update={"plans": plans}))


def measured(scenario, plan, metrics, replications, workers=1, pairing=pair):
    """Rows of metric, both standard deviations, correlation, ratio, its bound."""
    with Bench(pairing(scenario, plan), workers=workers) as bench:
        runs = bench.run({name: Variant(name) for name in ("boxes", "bags")}, METRICS, range(replications))
    rows = []
    for metric in metrics:
        boxes, bags = (np.array(series(kept, metric)) for kept in runs.values())
        one, other = boxes.std(ddof=1), bags.std(ddof=1)
        if min(one, other) <= 1e-9 * max(abs(boxes).max(), abs(bags).max()):
            continue  # constant up to rounding: there is no luck to share
        bound = np.inf if one == other else (one**2 + other**2) / (one - other) ** 2
        rows.append((metric, one, other, np.corrcoef(boxes, bags)[0, 1], variance_ratio(boxes, bags), bound))
    return rows


def main(replications, workers):
    """Print the tables; return 1 if no metric reaches the wanted ratio."""
    best = 0.0
    for said, changes in STORES.items():
        scenario = load_scenario(SCENARIO, changes=changes)
        for plan, rule in RULES.items():
            print(f"{said}, rule {rule} ({replications} replications)")
            for metric, one, other, correlation, ratio, bound in measured(scenario, plan, SHOWN, replications, workers):
                best = max(best, ratio)
                print(
                    f"  {metric:24s} sd {one:10.4g} {other:10.4g}  r {correlation:5.2f}  {ratio:6.2f} of {bound:8.2f}"
                )
    print(f"largest ratio {best:.2f}, wanted {WANTED:g}")
    return 0 if best >= WANTED else 1


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    sys.exit(main(*[*numbers, 20, 2][:2] if not numbers else [*numbers, 2][:2]))
