"""Who does what in which session: the plan followed through the weeks to come, as it is expected to go."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta

from simstore.scenario.returning.sheet import DELIVERY, EXCHANGE, LOAD, UNLOAD
from simstore.scenario.scenario import Scenario
from simstore.sim.inspecting import Inspecting
from simstore.sim.record import IDLE, RunRecord
from simstore.sim.run import simulate
from simstore.store.calendar import working_sessions
from simstore.store.windows import away_days
from simstore.study.rota.due_dates import Limit, limits_of
from simstore.study.rota.expected import expected
from simstore.units import DAYS_PER_WEEK

ROUND, ORDER = "round", "order"
"""Work that a sheet has not: a round is its readings there, and an order is sent by nobody in a session."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do.

    Attributes
    ----------
    work : str
        ``exchange``, ``round``, ``load oven``, ``unload oven``, ``order`` or ``delivery``.
    subject : str
        Enclosure, oven or sort of packet.
    place, kind, metal : str
        Of the enclosure; empty otherwise.
    packet : str
        Sort of packet.
    packets : int
        How many; on a round, how many enclosures are read.
    reason : str
        Why an enclosure is due.
    fell_due : date or None
    """

    work: str
    subject: str
    place: str = ""
    kind: str = ""
    metal: str = ""
    packet: str = ""
    packets: int = 0
    reason: str = ""
    fell_due: date | None = None


@dataclass(slots=True, kw_only=True)
class Sitting:
    """One session of one person with the steps in the order of the shelves.

    Attributes
    ----------
    begins, ends : datetime
        By the clock on the wall.
    technician : str
    steps : list of Step
    minutes : dict of str to int
        What each task is expected to take. [min]
    """

    begins: datetime
    ends: datetime
    technician: str
    steps: list[Step] = field(default_factory=list)
    minutes: dict[str, int] = field(default_factory=dict)

    @property
    def ready(self) -> Counter[str]:
        """Dry packets to have at hand, by sort."""
        found: Counter[str] = Counter()
        for step in self.steps:
            if step.work == EXCHANGE:
                found[step.packet] += step.packets
        return found

    @property
    def busy_min(self) -> int:
        """Minutes of work. [min]."""
        return sum(self.minutes.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Rota:
    """The work of some weeks.

    Attributes
    ----------
    scenario : Scenario
        As read.
    plan : str
    first : date
    weeks : int
    sittings : sequence of Sitting
        Sessions in which there is something to do, in order.
    orders : sequence of (date, Step)
        Orders and deliveries, which are nobody's session.
    limits : sequence of Limit
        When each enclosure comes to its ceiling, if nothing is done.
    """

    scenario: Scenario
    plan: str
    first: date
    weeks: int
    sittings: Sequence[Sitting]
    orders: Sequence[tuple[date, Step]]
    limits: Sequence[Limit]


def rota_of(scenario: Scenario, plan: str, *, first: date, weeks: int) -> Rota:
    """Follow a plan from the register of ``first`` for so many weeks.

    Parameters
    ----------
    scenario : Scenario
    plan : str
        Name of a plan of the scenario.
    first : date
        Day that the register describes.
    weeks : int
        Weeks to lay out, from that day.

    Raises
    ------
    SimstoreError
        If there is no such plan, or the register is of a later day.
    """
    days = weeks * DAYS_PER_WEEK
    store = expected(scenario, plan, first=first, days=days)
    record = simulate(store, plan)
    sittings = _sittings(store, days)
    _put_work(record, store, first, sittings)
    for sitting in sittings:
        sitting.steps.sort(key=_walk)
    return Rota(
        scenario=scenario, plan=plan, first=first, weeks=weeks,
        sittings=[sitting for sitting in sittings if sitting.steps or sitting.minutes],
        orders=list(_orders(record, first)),
        limits=limits_of(scenario, plan, first=first),
    )  # fmt: skip


def _walk(step: Step) -> tuple[int, str, str]:
    """Order of steps in a session: the oven first, then along the shelves, and what comes back last."""
    place = {UNLOAD: 0, ROUND: 1, EXCHANGE: 2, LOAD: 3}[step.work]
    return place, step.place, step.subject


def _sittings(store: Scenario, days: int) -> list[Sitting]:
    """Every session of everybody, in order."""
    settings = store.settings
    found = []
    for name, person in settings.technicians.items():
        away = away_days(settings, name=name, days=days)
        sessions = working_sessions(person, start=settings.start, days=days, holidays=settings.holidays, off_days=away)
        found += [
            Sitting(
                begins=_clock(settings.start, session.start_min),
                ends=_clock(settings.start, session.end_min),
                technician=name,
            )
            for session in sessions
        ]
    return sorted(found, key=lambda sitting: (sitting.begins, sitting.technician))


def _put_work(record: RunRecord, store: Scenario, first: date, sittings: Sequence[Sitting]) -> None:
    """Put each thing that was done into the session in which it was done."""
    by_start = {(sitting.begins, sitting.technician): sitting for sitting in sittings}
    for spent in record.staff:
        sitting = by_start.get((_clock(first, spent.session_min), spent.technician))
        if sitting is not None and spent.task != IDLE and spent.minutes:
            sitting.minutes[spent.task] = sitting.minutes.get(spent.task, 0) + spent.minutes
    rows = {each.id: each for each in store.enclosures}
    year = record.enclosures

    def put(minute: int, step: Step, technician: str = "") -> None:
        now = _clock(first, minute)
        there = [each for each in sittings if each.begins <= now <= each.ends]
        own = [each for each in there if each.technician == technician] or there
        if own:
            own[0].steps.append(step)

    for change in record.exchanges:
        name = year.id[change.enclosure]
        place = rows[name].place if name in rows else ""
        step = Step(
            work=EXCHANGE, subject=name, place=place, kind=year.kind[change.enclosure],
            metal=year.metal[change.enclosure], packet=change.packet, packets=change.packets, reason=change.reason,
            fell_due=_clock(first, change.due_min).date(),
        )  # fmt: skip
        put(change.minute, step, change.technician)
    for load in record.loads:
        put(load.loaded_min, Step(work=LOAD, subject=load.oven, packets=load.packets), load.technician)
        if load.unloaded_min is not None:
            put(load.unloaded_min, Step(work=UNLOAD, subject=load.oven, packets=load.packets))
    for tour in record.rounds:
        begun = _clock(first, tour.started_min)
        reads = (each for each in sittings if each.begins >= begun and Inspecting.task in each.minutes)
        begins = next(reads, None)
        if begins is not None:
            step = Step(work=ROUND, subject=f"round: {tour.metal}", metal=tour.metal, packets=tour.due_count)
            begins.steps.append(step)


def _orders(record: RunRecord, first: date) -> Iterator[tuple[date, Step]]:
    """Orders to send and deliveries to expect, in order."""
    found = []
    for order in record.orders:
        sent = Step(work=ORDER, subject=order.packet, packet=order.packet, packets=order.packets)
        found.append((_clock(first, order.ordered_min).date(), sent))
        if order.arrived_min is not None:
            found.append((_clock(first, order.arrived_min).date(), replace(sent, work=DELIVERY)))
    return iter(sorted(found, key=lambda each: (each[0], each[1].subject)))


def _clock(first: date, minute: float) -> datetime:
    """Time on the wall so many minutes after the first midnight."""
    return datetime.combine(first, time()) + timedelta(minutes=minute)
