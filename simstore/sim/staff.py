"""Technicians: they come for their sessions and take the most urgent work that still fits."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from simstore.scenario.values.work import Technician
from simstore.sim.record import IDLE, StaffTime
from simstore.sim.site import Site
from simstore.sim.work_source import Job, Work, WorkSource
from simstore.store.calendar import Session, working_sessions
from simstore.store.windows import Window, away_days, joined, pace, sick_days
from simstore.units import MINUTES_PER_DAY, MINUTES_PER_HOUR

ROUNDING = 1e-9
MOST_TURNS_A_MINUTE = 10_000
"""Nobody looks for work so often within a minute: the run would never end, and says so instead."""


@dataclass(slots=True)
class Worker:
    """One technician at work.

    Attributes
    ----------
    sources : sequence of WorkSource
        What there may be to do, most urgent first.
    attendance : tuple of pairs of int
        Stretches in which anybody is there, half open, in order. [min]
    geared : bool
        Whether gloves and mask are on in this session.
    """

    site: Site
    name: str
    spec: Technician
    sessions: list[Session]
    sources: Sequence[WorkSource]
    attendance: tuple[Window, ...] = ()
    spent_min: Counter[str] = field(default_factory=Counter)
    handled_min: Counter[int] = field(default_factory=Counter)
    ends_min: int = 0
    geared: bool = False

    def year(self) -> Work:
        """Come for every session and work through it."""
        for session in self.sessions:
            yield self.site.env.timeout(session.start_min - self.site.now_min)
            self.spent_min = Counter()
            self.geared = False
            self.ends_min = session.end_min
            yield from self._session()
            self._write_down(session)

    def _session(self) -> Work:
        env = self.site.env
        turn_min, turns = self.site.now_min, 0
        while self.site.now_min < self.ends_min:
            turns = turns + 1 if self.site.now_min == turn_min else 0
            turn_min = self.site.now_min
            if turns > MOST_TURNS_A_MINUTE:
                msg = f"{self.name} does not get on at minute {turn_min} of the run"
                raise RuntimeError(msg)
            source, job = next(self.jobs(), (None, None))
            if source is None or job is None:
                wake_min = min([self.ends_min, *(minute for each in self.sources for minute in each.wakes_min())])
                yield self.site.news | env.timeout(wake_min - self.site.now_min)
                continue
            if source.handling:
                if not self.geared:
                    self.geared = True
                    gear = math.ceil(self.site.settings.tasks.gear_min)
                    self.spent_min["gear"] += gear
                    if gear:
                        yield env.timeout(gear)
                        continue  # somebody else may have taken that work meanwhile
                self.handled_min[self.site.now_min // MINUTES_PER_DAY] += job.minutes
            self.spent_min[source.task] += job.minutes
            yield from job.work
            self.site.tell()

    def jobs(self) -> Iterator[tuple[WorkSource, Job]]:
        """Everything that could be done now, most urgent first; only the first is ever asked for."""
        return ((source, job) for source in self.sources for job in source.jobs(self))

    def _write_down(self, session: Session) -> None:
        idle = session.end_min - session.start_min - self.spent_min.total()
        self.spent_min[IDLE] = idle
        rows = self.site.record.staff
        rows += [StaffTime(session.start_min, self.name, task, m) for task, m in sorted(self.spent_min.items())]

    def left_min(self, source: WorkSource) -> int:
        """Minutes that may still go into work of one source in this session."""
        left = self.ends_min - self.site.now_min
        if source.handling:
            today = self.handled_min[self.site.now_min // MINUTES_PER_DAY]
            limit = round(self.spec.handling_limit_h_per_day * MINUTES_PER_HOUR)
            gear = 0 if self.geared else math.ceil(self.site.settings.tasks.gear_min)
            left = min(left - gear, limit - today)
        return left

    def pace_min(self, minutes: float) -> int:
        """Whole minutes that a task takes this person."""
        return math.ceil(minutes / self.speed() - ROUNDING)

    def speed(self) -> float:
        """Share of the usual pace at which this person works now."""
        return pace(self.spec, self.site.settings.start, self.site.now_min)


def staff_of(site: Site, sources: Sequence[WorkSource]) -> list[Worker]:
    """Return everybody who comes during the run, with the sessions of each; sick days and absences are left out."""
    settings = site.settings
    sessions = {}
    for name, person in settings.technicians.items():
        off = sick_days(settings, person, name=name, replication=site.replication, days=site.days)
        off |= away_days(settings, name=name, days=site.days)
        sessions[name] = working_sessions(
            person, start=settings.start, days=site.days, holidays=settings.holidays, off_days=off
        )
    attendance = joined([(s.start_min, s.end_min) for own in sessions.values() for s in own])
    return [
        Worker(site, name, person, sessions[name], sources, attendance) for name, person in settings.technicians.items()
    ]
