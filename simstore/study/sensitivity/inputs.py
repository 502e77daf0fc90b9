"""The uncertain inputs of a scenario: those that it states, and common ranges for what it does not.

The common ranges are guesses that a user should replace by ranges of the store's own; each says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from simstore.errors import SimstoreError
from simstore.physics.narrow_pore import STRONG_PCT, WEAK_PCT
from simstore.scenario.checking.key_paths import unit_text
from simstore.scenario.checking.rules_uncertain import value_at
from simstore.scenario.scenario import Scenario
from simstore.scenario.values.fields import Lognormal
from simstore.scenario.values.plan import Scalar
from simstore.scenario.values.settings import Settings
from simstore.scenario.values.uncertain import Uncertain
from simstore.store.housed import housed

COMMON: Final = "common practice, no source"
FIVE_GELS: Final = "the weakest and the strongest of five measured narrow-pore gels; weigh yours at 20 %RH to know it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One uncertain input, ready to be moved.

    Attributes
    ----------
    name, label, unit : str
    stated : Uncertain
        Keys, ends and source.
    base : dict of str to float
        Value in use of each key, in its unit.
    default : bool
        The range is a common one, not the scenario's.
    """

    name: str
    label: str
    unit: str
    stated: Uncertain
    base: dict[str, float]
    default: bool

    @property
    def in_use(self) -> float:
        """Value in use on the scale of the ends: of the first key, or 1 for a factor, or 0 for what is added."""
        neutral = {"factor": 1.0, "added": 0.0}
        return neutral.get(self.stated.scale, next(iter(self.base.values())))

    def changes(self, value: float) -> dict[str, Scalar]:
        """Keys with their values when the input stands at ``value``, on the scale of the ends."""
        moved = {
            key: {"value": value, "factor": base * value, "added": base + value}[self.stated.scale]
            for key, base in self.base.items()
        }
        return {key: number if number != round(number) else _whole(number) for key, number in moved.items()}

    def at(self, share: float) -> float:
        """Value at a share of the way from the low end to the high end, on the scale of the ends."""
        return self.stated.low + share * (self.stated.high - self.stated.low)


def _whole(number: float) -> float:
    """Keep a whole number a float, so that it fits where a fraction would too."""
    return float(round(number))


def inputs_of(scenario: Scenario, plan: str) -> tuple[list[Input], list[str]]:
    """List the uncertain inputs that ``plan`` works with.

    Parameters
    ----------
    scenario : Scenario
    plan : str
        Name of a plan; what its own changes set is not uncertain for it.

    Returns
    -------
    list of Input
        Those of the scenario, then those with a common range.
    list of str
        Sentences about what was left out.

    Raises
    ------
    SimstoreError
        With every end at which the scenario would not be valid.
    """
    document = scenario.settings.model_dump(by_alias=True)
    stated = scenario.settings.uncertain
    taken = {key for one in stated.values() for key in one.keys}
    fixed = set(scenario.settings.plans[plan].changes)
    found, notes = [], []
    common = dict(_common(scenario.under(plan).settings, scenario, plan))
    for name, one in {**common, **stated}.items():
        default = name not in stated
        if default and taken & set(one.keys):
            continue
        if fixed & set(one.keys):
            notes.append(f"{one.label or name} is left out: the plan '{plan}' sets it itself.")
            continue
        base = {key: float(value_at(document, key)) for key in one.keys}
        if default and one.scale == "factor" and not any(base.values()):
            continue
        unit = {"factor": "times"}.get(one.scale, _unit_of(one.keys[0]))
        one_input = Input(
            name=name, label=one.label or name.replace("_", " "), unit=unit, stated=one, base=base, default=default
        )
        found.append(one_input)
    found.sort(key=lambda one: one.default)
    _check_ends(scenario, found)
    return found, notes


def _check_ends(scenario: Scenario, inputs: list[Input]) -> None:
    """Refuse ends at which the scenario would not be valid, all of them at once."""
    problems: dict[str, None] = {}
    for one in inputs:
        for end in (one.stated.low, one.stated.high):
            try:
                scenario.with_changes(one.changes(end))
            except SimstoreError as error:
                problems.update({f"{line}; in [uncertain.{one.name}]": None for line in str(error).split("\n")[1:]})
    if problems:
        msg = "\n".join(["uncertain inputs do not fit the scenario:", *problems])
        raise SimstoreError(msg)


def _unit_of(key: str) -> str:
    """Find the unit of a key; the median of a spread has that of the spread."""
    parts = key.split(".")
    if parts[-1].endswith("rh_pct"):
        return "%RH"
    return unit_text(parts[-2] if parts[-1] == "median" and len(parts) > 1 else parts[-1])


def _common(settings: Settings, scenario: Scenario, plan: str) -> Iterator[tuple[str, Uncertain]]:
    """Yield common ranges of what the plan uses."""
    rows = housed(settings, settings.plans[plan], scenario.enclosures)
    yield from _leaks(settings, sorted({row.kind_name for row in rows}))
    yield from _knowledge(settings, plan, {row.packet.sorbent for row in rows if row.packet is not None})
    beds = tuple(f"ovens.{name}.bed_depth_mm" for name in settings.ovens)
    if beds:
        yield "drying", _range(beds, 0.7, 1.5, label="depth of the gel on the trays")
    yield (
        "climate",
        Uncertain(
            keys=("climate.shift_rh_pct",),
            low=-5.0,
            high=5.0,
            scale="added",
            label="humidity of the room",
            source=COMMON,
        ),
    )
    yield "energy_price", _range(("prices.energy_per_kwh",), 0.7, 1.5, label="price of electricity")
    wages = tuple(f"technicians.{name}.wage_per_h" for name in settings.technicians)
    if wages:
        yield "wages", _range(wages, 0.9, 1.2, label="cost of an hour of work")
    yield from _gel(settings, {row.packet.sorbent for row in rows if row.packet is not None})
    kinds = sorted({row.kind_name for row in rows})
    for task, label in (("exchange_min", "minutes for an exchange"), ("inspect_min", "minutes to read an enclosure")):
        own = tuple(f"kinds.{kind}.{task}" for kind in kinds if getattr(settings.kinds[kind], task) is not None)
        yield f"time_{task}", _range((f"tasks.{task}", *own), 0.7, 1.5, label=label)


def _leaks(settings: Settings, kinds: list[str]) -> Iterator[tuple[str, Uncertain]]:
    for name in kinds:
        medians, spreads = [], []
        for place, layer in enumerate(settings.kinds[name].layers):
            key = f"kinds.{name}.layers.{place}.leak_per_day"
            if isinstance(layer.leak_per_day, Lognormal):
                medians.append(f"{key}.median")
                spreads.append(f"{key}.sigma_ln")
            else:
                medians.append(key)
        said = name.replace("_", " ")
        yield f"leak_{name}", _range(tuple(medians), 0.6, 1.7, label=f"middle leak of {said}")
        if spreads:
            yield f"leak_spread_{name}", _range(tuple(spreads), 0.7, 1.4, label=f"spread of leaks of {said}")


def _knowledge(settings: Settings, plan: str, sorbents: set[str]) -> Iterator[tuple[str, Uncertain]]:
    """Misreading where something is read, and the error of a leak where leaks are measured."""
    own = settings.plans[plan]
    if own.goes_by("indicator"):
        read = {own.indicator} if own.indicator else {settings.sorbents[name].indicator for name in sorbents}
        keys = tuple(f"indicators.{name}.misread_pct" for name in sorted(name for name in read if name))
        if keys:
            yield (
                "misreading",
                Uncertain(keys=keys, low=1.0, high=15.0, label="readings that are called wrongly", source=COMMON),
            )
    if own.goes_by("leak_error_sigma_ln") and own.leak_knowledge == "measured":
        yield "leak_error", Uncertain(
            keys=(f"plans.{plan}.leak_error_sigma_ln",), low=0.1, high=0.6, label="error of a measured leak",
            source=COMMON,
        )  # fmt: skip


def _gel(settings: Settings, sorbents: set[str]) -> Iterator[tuple[str, Uncertain]]:
    names = sorted(sorbents)
    if names:
        prices = tuple(f"sorbents.{name}.price_per_kg" for name in names)
        yield "gel_price", _range(prices, 0.8, 1.4, label="price of gel")
    unknown = tuple(
        f"sorbents.{name}.isotherm.water_at_20_rh_pct"
        for name in names
        if settings.sorbents[name].isotherm.form == "narrow_pore"
    )
    if unknown:
        yield (
            "gel_strength",
            Uncertain(keys=unknown, low=WEAK_PCT, high=STRONG_PCT, label="strength of the gel", source=FIVE_GELS),
        )
    capacities = tuple(
        f"sorbents.{name}.isotherm.capacity_kg_per_kg"
        for name in names
        if settings.sorbents[name].isotherm.form in ("dubinin_astakhov", "toth")
        and settings.sorbents[name].desorption is None
    )
    if capacities:
        yield "gel_capacity", _range(capacities, 0.9, 1.05, label="capacity of the gel")


def _range(keys: tuple[str, ...], low: float, high: float, *, label: str) -> Uncertain:
    return Uncertain(keys=keys, low=low, high=high, scale="factor", label=label, source=COMMON)
