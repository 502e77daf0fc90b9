"""What a run leaves behind: typed rows and arrays, written by the processes and never read by them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simstore.scenario.scenario import Scenario

IDLE: Final = "idle"
"""Task of the time for which there was nothing to do."""


@dataclass(slots=True)
class Round:
    """One inspection tour; ``ended_min`` is None when the run ended first."""

    started_min: int
    technician: str
    due_count: int
    inspected: int = 0
    called: int = 0
    truly_over: int = 0
    ended_min: int | None = None
    metal: str = ""


@dataclass(frozen=True, slots=True)
class Exchange:
    """One packet change in one enclosure (all of its packets at once)."""

    minute: int
    enclosure: int
    technician: str
    packet: str
    packets: int
    reason: str
    due_min: int
    rh_before_pct: float
    water_out_pct: float
    water_in_pct: float


@dataclass(slots=True)
class Load:
    """One oven batch; the ends are None when the run ended first."""

    oven: str
    technician: str
    loaded_min: int
    packets: int
    gel_kg: float
    water_in_kg: float
    hot_min: int | None = None
    cool_min: int | None = None
    unloaded_min: int | None = None
    water_out_kg: float | None = None
    energy_kwh: float = 0.0


@dataclass(frozen=True, slots=True)
class StockDay:
    """Packets of one sort at the end of one day; ``lost_kg`` is the dry gel that has become waste so far."""

    day: int
    packet: str
    ready: int
    spent: int
    in_oven: int
    in_enclosures: int
    on_order: int
    discarded: int
    gel_kg: float
    lost_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class StaffTime:
    """Minutes that one person spent on one task in one session; task ``idle`` is the rest of it."""

    session_min: int
    technician: str
    task: str
    minutes: int


@dataclass(slots=True)
class Order:
    """One purchase; ``arrived_min`` is None when the run ended first."""

    ordered_min: int
    packet: str
    packets: int
    gel_kg: float
    price: float
    arrived_min: int | None = None


@dataclass(frozen=True, slots=True)
class Undone:
    """Work that was still waiting when the run ended."""

    task: str
    subject: str
    due_min: int


@dataclass(slots=True)
class Mishap:
    """Something that failed; ``mended_min`` is None when the run ended first.

    Attributes
    ----------
    what : str
        ``enclosure`` or ``oven``.
    subject : str
        Id of the enclosure, or name of the oven.
    sort : str
        Kind of the enclosure, or sort of the oven.
    """

    what: str
    subject: str
    sort: str
    minute: int
    mended_min: int | None = None


@dataclass(slots=True, kw_only=True)
class EnclosureYear:
    """How each enclosure fared; arrays of shape (enclosures,) unless said otherwise.

    Attributes
    ----------
    kind, metal, programme : list of str
        As housed under the plan's programme.
    id : list of str
        Ids of the register, then of the finds that arrived during the run.
    counted_days : ndarray of int
        Days on which the objects were in the store.
    leak_per_day : ndarray
        Drawn air changes a day of the innermost layer.
    wall_kg_per_s_pa : ndarray
        Conductance of the whole wall at the room's mean temperature.
    liquid_hours : ndarray of int
        Hours at whose end there was liquid water inside.
    held_days, days, hours_over, excess_pct_days, worst_rh_pct, mean_rh_pct : ndarray
        ``excess_pct_days`` is the integral of (RH - ceiling)+ over time.
    exchanges : ndarray of int
    week_hours_over : ndarray of uint8, shape (enclosures, weeks)
        Hours of each week over the ceiling, 168 at most; the last week may be short.
    day_mean_rh_pct : ndarray of float32, shape (enclosures, days)
    """

    id: list[str]
    kind: list[str]
    metal: list[str]
    counted_days: NDArray[np.int64]
    objects: NDArray[np.int64]
    leak_per_day: NDArray[np.float64]
    wall_kg_per_s_pa: NDArray[np.float64]
    held_days: NDArray[np.int64]
    dry_days: NDArray[np.int64]
    lower_limit_rh_pct: NDArray[np.float64]
    days: int
    hours_over: NDArray[np.int64]
    liquid_hours: NDArray[np.int64]
    excess_pct_days: NDArray[np.float64]
    worst_rh_pct: NDArray[np.float64]
    mean_rh_pct: NDArray[np.float64]
    exchanges: NDArray[np.int64]
    week_hours_over: NDArray[np.uint8]
    day_mean_rh_pct: NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Ledger:
    """The two books that must close: kilograms of dry gel and of water.

    ``water_error`` is |in - out - stored| over the sum of the absolute flows.
    """

    gel_start_kg: float
    gel_bought_kg: float
    gel_lost_kg: float
    gel_end_kg: float
    water_start_kg: float
    water_through_walls_kg: float
    water_with_openings_kg: float
    water_with_purchases_kg: float
    water_driven_off_kg: float
    water_regained_kg: float
    water_lost_with_gel_kg: float
    water_end_kg: float
    gel_error: float
    water_error: float
    water_from_objects_kg: float = 0.0


@dataclass(slots=True, kw_only=True)
class RunRecord:
    """One replication of one plan.

    Attributes
    ----------
    scenario : Scenario
        What was lived through: with the plan's changes made, and no other plan in it.
    packets_placed : dict of str to int
        Packets in all enclosures as the plan houses them at the start, by sort.
    """

    scenario: Scenario = field(repr=False)
    plan: str
    replication: int
    days: int
    enclosures: EnclosureYear
    room_temp_c: NDArray[np.float32]
    room_rh_pct: NDArray[np.float32]
    ledger: Ledger
    rounds: list[Round] = field(default_factory=list)
    exchanges: list[Exchange] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    stock: list[StockDay] = field(default_factory=list)
    staff: list[StaffTime] = field(default_factory=list)
    orders: list[Order] = field(default_factory=list)
    undone: list[Undone] = field(default_factory=list)
    mishaps: list[Mishap] = field(default_factory=list)
    watched: dict[str, NDArray[np.float32]] = field(default_factory=dict)
    packets_placed: dict[str, int] = field(default_factory=dict)
