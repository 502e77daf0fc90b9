"""Enclosures that are not listed one by one: each group becomes rows like those of the register."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from simstore.scenario.values.fields import Lognormal
from simstore.scenario.values.housing import Enclosure, Group

LARGEST_M3 = 10.0


def group_name(group: Group) -> str:
    """Name that the ids of a group begin with: its own, or its metal and kind."""
    return group.name or f"{group.metal} {group.kind}"


def group_ids(group: Group) -> Iterator[str]:
    """Ids of the enclosures of a group, in order."""
    return (f"{group_name(group)} {position + 1:03d}" for position in range(group.count))


def enclosures_of(groups: tuple[Group, ...], *, seed: int, start: date) -> tuple[Enclosure, ...]:
    """All enclosures of ``groups``, in their order.

    Each group draws from a generator of its own, seeded by ``seed`` and its name, so that adding or removing a group
    shifts nothing in the others, and a larger count keeps the volumes of the smaller one.

    Parameters
    ----------
    groups : tuple of Group
        With distinct names.
    seed : int
        The scenario's seed.
    start : date
        First day of the run, from which days ago are counted.
    """
    return tuple(row for group in groups for row in _rows(group, seed, start))


def _rows(group: Group, seed: int, start: date) -> Iterator[Enclosure]:
    name = group_name(group)
    volumes_m3 = _volumes_m3(group, seed, name)
    early_days, late_days = group.regenerated_days_ago
    for position, key in enumerate(group_ids(group)):
        ago_days = early_days + (late_days - early_days) * (position + 0.5) / group.count
        yield Enclosure(
            id=key,
            kind=group.kind,
            metal=group.metal,
            objects=group.objects,
            volume_m3=None if volumes_m3 is None else volumes_m3[position],
            last_regenerated=start - timedelta(days=round(ago_days)),
            place=group.place,
        )


def _volumes_m3(group: Group, seed: int, name: str) -> list[float] | None:
    if group.volume_m3 is None:
        return None
    if not isinstance(group.volume_m3, Lognormal):
        return [group.volume_m3] * group.count
    stream = np.random.default_rng([seed, zlib.crc32(name.encode())])
    drawn = group.volume_m3.median * np.exp(group.volume_m3.sigma_ln * stream.standard_normal(group.count))
    return [float(volume) for volume in np.minimum(drawn, LARGEST_M3)]
