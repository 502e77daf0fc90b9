"""A rota as tables: the work, the sheet that is filled in, and when each enclosure comes to its ceiling."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from simstore.scenario.returning.sheet import DELIVERY, READ, SHEET
from simstore.study.rota.work import ORDER, ROUND, Rota, Sitting, Step

if TYPE_CHECKING:
    import pandas as pd


def tables_of(found: Rota) -> dict[str, pd.DataFrame]:
    """Make the tables: sessions with their minutes, steps in walking order, the sheet, and limits."""
    import pandas as pd

    limits = [
        {
            "enclosure": one.enclosure, "place": one.place, "kind": one.kind, "metal": one.metal, "packet": one.packet,
            "packets": one.packets, "ceiling_rh_pct": one.ceiling_rh_pct, "earliest": one.earliest,
            "likely": one.likely, "latest": one.latest, "leak_known": "yes" if one.leak_known else "no",
        }
        for one in found.limits
    ]  # fmt: skip
    due = pd.DataFrame(limits, columns=list(limits[0]) if limits else ["enclosure"])
    for name in ("earliest", "likely", "latest"):
        due[name] = [NEVER if day is None else day.isoformat() for day in due[name]]
    return {
        "sessions": pd.DataFrame(
            [_session(one) for one in found.sittings],
            columns=["date", "begins", "ends", "technician", "minutes", "tasks", "ready_packets"],
        ),
        "work": pd.DataFrame(
            list(_work(found)),
            columns=[
                "date", "technician", "work", "subject", "place", "kind", "metal", "packet", "packets", "reason",
                "fell_due",
                "further",
            ],
        ),
        "sheet": pd.DataFrame(
            [{**dict.fromkeys(SHEET, ""), **row} for row in sheet_rows(found)], columns=list(SHEET)
        ),
        "due": due,
    }  # fmt: skip


NEVER: Final = "later"
"""Stands for a date more than three years off."""


def sheet_rows(found: Rota) -> Iterator[dict[str, Any]]:
    """Yield what stands on the sheet: each step, a round as the enclosures that are read on it."""
    for sitting in found.sittings:
        told = {"date": sitting.begins.date().isoformat(), "technician": sitting.technician}
        for step in sitting.steps:
            if step.work == ROUND:
                yield from ({**told, **row} for row in read_rows(found, step))
            else:
                yield {**told, **_told(step)}
    for day, step in found.orders:
        if step.work == DELIVERY:
            yield {"date": day.isoformat(), "technician": "", **_told(step)}


def read_rows(found: Rota, step: Step) -> list[dict[str, Any]]:
    """List the enclosures that are read on a round, along the shelves."""
    members = [one for one in found.limits if one.metal == step.metal and one.packet]
    return [
        {"work": READ, "subject": one.enclosure, "place": one.place, "packet": one.packet, "packets": one.packets}
        for one in sorted(members, key=lambda one: (one.place, one.enclosure))
    ]


def further_said(found: Rota, enclosure: str) -> str:
    """Say what the user's own list says of an enclosure beside the register."""
    return "; ".join(f"{heading}: {text}" for heading, text in found.scenario.further.get(enclosure, {}).items())


def _told(step: Step) -> dict[str, Any]:
    return {
        "work": step.work, "subject": step.subject, "place": step.place, "packet": step.packet,
        "packets": step.packets,
    }  # fmt: skip


def _session(sitting: Sitting) -> dict[str, Any]:
    return {
        "date": sitting.begins.date().isoformat(),
        "begins": f"{sitting.begins:%H:%M}",
        "ends": f"{sitting.ends:%H:%M}",
        "technician": sitting.technician,
        "minutes": sitting.busy_min,
        "tasks": "; ".join(f"{task} {minutes} min" for task, minutes in sitting.minutes.items()),
        "ready_packets": "; ".join(f"{count} {name}" for name, count in sorted(sitting.ready.items())),
    }


def _work(found: Rota) -> Iterator[dict[str, Any]]:
    lines = [(sitting.begins.date(), sitting.technician, step) for sitting in found.sittings for step in sitting.steps]
    lines += [(day, "", step) for day, step in found.orders if step.work in (ORDER, DELIVERY)]
    for day, technician, step in sorted(lines, key=lambda line: line[0]):
        yield {
            "date": day.isoformat(), "technician": technician, **_told(step), "kind": step.kind, "metal": step.metal,
            "reason": step.reason, "fell_due": "" if step.fell_due is None else step.fell_due.isoformat(),
            "further": further_said(found, step.subject),
        }  # fmt: skip
