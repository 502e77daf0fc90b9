"""What was learnt of leaks, in words: kinds before and after, what is suspect, what is not bounded, what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from simstore.prose.blocks import Block, Cell, Column, Paragraph, Points, Table, num
from simstore.prose.phrases import counted, figures, listed, some_named
from simstore.study.fit.fit import Fit, KindLeak, Leak, innermost_per_day

LIKE_BEFORE: Final = (0.8, 1.25)


def fit_blocks(found: Fit) -> Iterator[Block]:
    """Say what was learnt."""
    yield Paragraph(text=_answer(found))
    yield _table(found)
    points = [*_suspects(found), *_unbounded(found), _leakiest(found)]
    yield Points(points=[("", text) for text in points])
    yield Paragraph(
        text='To use it, put leaks.toml into the scenario\'s folder and write fit = "leaks.toml" into scenario.toml: '
        "kinds then leak as here, measured enclosures as measured, and plans that know measured leaks know these. "
        "Give all measurements each time, old and new."
    )
    yield Paragraph(
        text="Limits hold nine of ten. They take in the scale, the weather (5 % of the water), which of the "
        "narrow-pore gels it is, and 1 % of slips (assumptions); not a packet that was changed in between."
    )


def _answer(found: Fit) -> str:
    parts = [_kind_said(found, one) for one in found.kinds]
    count = counted(len(found.leaks), "enclosure")
    return f"From {counted(len(found.measurements), 'measurement')} in {count}: {listed(parts)}."


def _kind_said(found: Fit, one: KindLeak) -> str:
    base = innermost_per_day(found.scenario, one.kind)
    now = figures(one.times_median * base, 2)
    if one.times_low <= 1.0 <= one.times_high:
        return f"{one.kind} leaks {now} times a day in the middle, in keeping with the {base:g} of the scenario"
    more = "more" if one.times_median > 1.0 else "less"
    return f"{one.kind} leaks {now} times a day in the middle, {more} than the {base:g} of the scenario"


def _table(found: Fit) -> Table:
    rows = []
    for one in found.kinds:
        base = innermost_per_day(found.scenario, one.kind)
        rows.append(
            [
                Cell(one.kind),
                num(one.enclosures, 0),
                num(base),
                num(one.times_median * base),
                num(one.times_low * base),
                num(one.times_high * base),
                num(one.sigma_ln, 2),
            ]
        )
    return Table(
        caption="Leaks by kind",
        columns=[
            Column("Kind", numeric=False, short="air changes a day", most=24),
            Column("Measured", short="measured"),
            Column("Before", "a day", short="before"),
            Column("Now", "a day", short="now"),
            Column("From", "a day", short="from"),
            Column("To", "a day", short="to"),
            Column("Spread", "ln", short="spread"),
        ],
        rows=rows,
    )


def _suspects(found: Fit) -> list[str]:
    names = [one.enclosure for one in found.leaks if one.suspect]
    if not names:
        return []
    text = "Does not fit any leak, so perhaps weighed in another enclosure, misread or changed in between"
    return [f"{text}: {some_named(names)}. These are left out of leaks.toml."]


def _unbounded(found: Fit) -> list[str]:
    names = [one.enclosure for one in found.leaks if not one.bounded and not one.suspect]
    if not names:
        return []
    text = "The gel was full, or as good as, so that only a lower limit of the leak is known"
    return [f"{text}: {some_named(names)}. Measure again a few weeks after fresh gel."]


def _leakiest(found: Fit) -> str:
    sound = [one for one in found.leaks if not one.suspect]
    if not sound:
        return "No enclosure was measured without doubt."
    worst = max(sound, key=lambda one: _per_day(found, one))
    low, high = (_per_day(found, worst) * each / worst.ratio for each in (worst.ratio_low, worst.ratio_high))
    return (
        f"The leakiest is {worst.enclosure} ({worst.kind}): {figures(_per_day(found, worst), 2)} air changes a day, "
        f"{figures(low, 2)} to {figures(high, 2)}."
    )


def _per_day(found: Fit, one: Leak) -> float:
    return one.ratio * innermost_per_day(found.scenario, one.kind)
