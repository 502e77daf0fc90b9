"""One step more or less of each means: cadence, trigger, hours, ovens, ready stock."""

from __future__ import annotations

import math

from simstore.scenario.values.plan import Plan, Scalar
from simstore.scenario.values.sessions import WEEKDAYS, parse_session
from simstore.scenario.values.settings import Settings
from simstore.units import MINUTES_PER_DAY, MINUTES_PER_HOUR

LEAST_WEEKS = 0.5


def cadence_ladder(name: str, plan: Plan) -> dict[str, tuple[Scalar, ...]]:
    """Half, whole and twice the cadence of a plan, by dotted key; each metal for itself where the plan says so."""
    weeks = plan.cadence_weeks
    own = f"plans.{name}.cadence_weeks"
    by_key = {own: weeks} if not isinstance(weeks, dict) else {f"{own}.{metal}": each for metal, each in weeks.items()}
    return {key: (max(LEAST_WEEKS, each / 2.0), each, 2.0 * each) for key, each in by_key.items()}


def more_hours(settings: Settings, hours_per_week: float) -> tuple[str, str, str] | None:
    """Lengthen one session a week, so that the weekly time grows by ``hours_per_week``.

    Returns
    -------
    tuple of (str, str, str) or None
        Dotted key of the session, how it is now, and how it becomes; None where no session can grow so far.
    """
    for name, person in settings.technicians.items():
        parsed = [parse_session(text) for text in person.sessions]
        for place, (weekday, start_min, end_min) in enumerate(parsed):
            longer_min = end_min + round(hours_per_week * MINUTES_PER_HOUR)
            clashes = any(
                day == weekday and place != other and start_min < until and since < longer_min
                for other, (day, since, until) in enumerate(parsed)
            )
            if longer_min >= MINUTES_PER_DAY or clashes:
                continue
            text = f"{WEEKDAYS[weekday]} {_clock(start_min)}-{_clock(longer_min)}"
            return f"technicians.{name}.sessions.{place}", person.sessions[place], text
    return None


def _clock(minute: int) -> str:
    return f"{minute // MINUTES_PER_HOUR:02d}:{minute % MINUTES_PER_HOUR:02d}"


def packets_for(settings: Settings, packet: str, gel_kg: float) -> int:
    """Whole packets that hold at least ``gel_kg`` of dry gel."""
    return math.ceil(gel_kg / settings.packets[packet].gel_kg - 1e-9)
