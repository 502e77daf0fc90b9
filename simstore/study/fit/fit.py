"""Learns the leak of each measured enclosure and of each kind from what was measured."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from simstore.errors import SimstoreError
from simstore.scenario.reading.measurements import Measurement
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.fields import Lognormal, middle_of
from simstore.scenario.values.fitted import Fitted, FittedKind
from simstore.scenario.values.housing import Kind
from simstore.statistics.partial_pooling import Pooled, pooled
from simstore.store.housed import Housed, housed
from simstore.study.fit.fills_up import GRID, Filling, Likelihood

SHARES: Final = np.array([0.05, 0.5, 0.95])
"""Ends and middle of what is told: nine of ten leaks lie between the ends."""
MIDDLE_SD_LN: Final = 1.0
"""How well the scenario's median of a kind is taken to be known beforehand (an assumption): a factor 2.7 either way."""
USUAL_SPREAD_LN: Final = 0.7
"""Spread of a kind beforehand where the scenario gives none."""
SUSPECT: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Leak:
    """What is known of one enclosure's leak.

    Attributes
    ----------
    enclosure, kind : str
    ratio, ratio_low, ratio_high : float
        Leak of all its layers over what the scenario gives as the median of its kind: likeliest middle, and limits
        between which nine of ten lie.
    measurements : int
    slip_pct : float
        Chance that a measurement is not of this enclosure. [%]
    bounded : bool
        Whether the measurements say how leaky it is at most.
    """

    enclosure: str
    kind: str
    ratio: float
    ratio_low: float
    ratio_high: float
    measurements: int
    slip_pct: float
    bounded: bool

    @property
    def suspect(self) -> bool:
        """Whether a measurement is likelier of another enclosure, or misread."""
        return self.slip_pct > 100.0 * SUSPECT


@dataclass(frozen=True, slots=True, kw_only=True)
class KindLeak:
    """What is known of a kind: median over the scenario's, with limits, and its spread."""

    kind: str
    enclosures: int
    times_median: float
    times_low: float
    times_high: float
    sigma_ln: float
    sigma_low: float
    sigma_high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Everything that was learnt; ``predicted`` has the mass [g] or RH [%] of each measurement at the leak found."""

    scenario: Scenario
    measurements: Sequence[Measurement]
    predicted: Sequence[float]
    leaks: Sequence[Leak]
    kinds: Sequence[KindLeak]

    def document(self) -> Fitted:
        """Give what the scenario is to read: kinds as they are now, and enclosures against them."""
        now = {one.kind: one.times_median for one in self.kinds}
        return Fitted(
            kinds={
                one.kind: FittedKind(
                    times_median=float(f"{one.times_median:.5g}"),
                    sigma_ln=min(float(f"{one.sigma_ln * math.sqrt(_layers(self.scenario, one.kind)):.4g}"), 2.5),
                )
                for one in self.kinds
            },
            enclosures={
                one.enclosure: float(f"{one.ratio / now[one.kind]:.5g}") for one in self.leaks if not one.suspect
            },
        )


def fit(scenario: Scenario, measurements: Sequence[Measurement], *, scale_g: float) -> Fit:
    """Learn leaks.

    Enclosures are taken as the register has them. A suspect measurement counts little, by its chance of being one.

    Parameters
    ----------
    scenario : Scenario
    measurements : sequence of Measurement
        Of enclosures of the register.
    scale_g : float
        Standard error of one weighing. [g]

    Raises
    ------
    SimstoreError
        If an enclosure that was weighed holds no packet.
    """
    plan = scenario.settings.plans[scenario.settings.default_plan].model_copy(update={"programme": "as_registered"})
    by_id: dict[str, list[int]] = {}
    for n, one in enumerate(measurements):
        by_id.setdefault(one.enclosure, []).append(n)
    own = tuple(each for each in scenario.enclosures if each.id in by_id)
    rows = {row.enclosure.id: row for row in housed(scenario.settings, plan, own)}
    bare = [name for name, row in rows.items() if row.packet is None]
    if bare:
        msg = f"measured but without a packet in the register: {', '.join(bare[:5])}; give packets, or leave them out"
        raise SimstoreError(msg)
    filling = Filling(scenario, list(rows.values()), scale_g=scale_g)
    found = {name: filling.likelihood(rows[name], [measurements[n] for n in by_id[name]]) for name in rows}
    leaks: list[Leak] = []
    kinds: list[KindLeak] = []
    for kind in dict.fromkeys(row.kind_name for row in rows.values()):
        members = [name for name, row in rows.items() if row.kind_name == kind]
        together = _pooled(scenario.settings.kinds[kind], [found[name] for name in members])
        kinds.append(_kind_leak(kind, len(members), together))
        leaks += [_leak(rows[name], found[name], together, n, len(by_id[name])) for n, name in enumerate(members)]
    order = {each.id: n for n, each in enumerate(own)}
    leaks.sort(key=lambda one: order[one.enclosure])
    return Fit(
        scenario=scenario, measurements=measurements, predicted=_predicted(measurements, found, leaks, by_id),
        leaks=leaks, kinds=kinds,
    )  # fmt: skip


def _pooled(kind: Kind, found: Sequence[Likelihood]) -> Pooled:
    return pooled(
        np.array([one.log for one in found]), GRID, middle=0.0, middle_sd=MIDDLE_SD_LN, spread=_usual_spread(kind)
    )


def _usual_spread(kind: Kind) -> float:
    """Spread of the whole wall's leak as the scenario has it: that of the layers' mean."""
    spreads = [layer.leak_per_day.sigma_ln for layer in kind.layers if isinstance(layer.leak_per_day, Lognormal)]
    own = math.sqrt(sum(each * each for each in spreads)) / len(kind.layers)
    return max(own, 0.1) if spreads else USUAL_SPREAD_LN


def _kind_leak(kind: str, count: int, together: Pooled) -> KindLeak:
    times, sigma = np.exp(together.middle_quantiles(SHARES)), together.spread_quantiles(SHARES)
    return KindLeak(
        kind=kind, enclosures=count, times_median=float(times[1]), times_low=float(times[0]),
        times_high=float(times[2]), sigma_ln=float(sigma[1]), sigma_low=float(sigma[0]), sigma_high=float(sigma[2]),
    )  # fmt: skip


def _leak(row: Housed, found: Likelihood, together: Pooled, unit: int, count: int) -> Leak:
    low, middle, high = np.exp(together.unit_quantiles(unit, SHARES))
    return Leak(
        enclosure=row.enclosure.id, kind=row.kind_name, ratio=float(middle), ratio_low=float(low),
        ratio_high=float(high), measurements=count, slip_pct=100.0 * found.slip, bounded=found.bounded,
    )  # fmt: skip


def _predicted(
    measurements: Sequence[Measurement],
    found: Mapping[str, Likelihood],
    leaks: Sequence[Leak],
    by_id: Mapping[str, Sequence[int]],
) -> list[float]:
    """Predict each measurement at the middle of the leak that was found for its enclosure."""
    values = [0.0] * len(measurements)
    for leak in leaks:
        curve = found[leak.enclosure].predicted
        for place, n in enumerate(by_id[leak.enclosure]):
            values[n] = float(np.interp(math.log(leak.ratio), GRID, curve[place]))
    return values


def _layers(scenario: Scenario, kind: str) -> int:
    """Layers whose leaks differ from enclosure to enclosure."""
    return len(scenario.settings.kinds[kind].layers)


def innermost_per_day(scenario: Scenario, kind: str) -> float:
    """Median of the innermost layer of a kind as the scenario has it. [1/d]."""
    return middle_of(scenario.settings.kinds[kind].layers[-1].leak_per_day)
