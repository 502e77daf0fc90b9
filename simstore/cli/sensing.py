"""``simstore sensitivity``: which uncertain inputs matter, and what to measure first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

import typer

from simstore.cli.options import HalfWidths, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.picture import Picture
    from simstore.study.sensitivity import Sensitivity
    from simstore.study.uncertain_inputs import Input

LEAST_DRAWN: Final = 0.005
"""Inputs that move a result by less than this share of what the widest does are not drawn."""


def sensitivity(
    scenario: ScenarioPath,
    out: OutFolder,
    plan: Annotated[str | None, typer.Option(metavar="NAME", help="Plan to look at. Default: the scenario's.")] = None,
    choose_from: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Plans that may be chosen. Default: all.")
    ] = None,
    decide: Annotated[int, typer.Option(min=0, help="Inputs whose worth of knowing is worked out.")] = 4,
    morris: Annotated[int, typer.Option(min=0, help="Trajectories of a screening of all inputs at once.")] = 0,
    seed: Seed = None,
    replications: Annotated[int, typer.Option(min=1, help="Simulated runs at each end of each range.")] = 5,
    half_width: HalfWidths = None,
    workers: Workers = None,
    no_pictures: NoPictures = False,
) -> None:
    """Move each uncertain input of SCENARIO; say which matters and what to measure first."""
    from simstore.cli.progress import shown_progress
    from simstore.cli.running import chosen_plans, processors
    from simstore.cli.study_folder import runs_table, write_study
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.read import load_scenario
    from simstore.study.cases import precision_of
    from simstore.study.sensitivity import sensitivity as moved
    from simstore.study.sensitivity_words import sensitivity_words

    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    name = chosen_plans(given, [plan] if plan else [])[0]
    others = chosen_plans(given, choose_from) if choose_from else []
    precision = precision_of(given, replications, half_width or [])
    with shown_progress("ends x runs") as progress:
        found = moved(
            given, name, precision, decide=decide, plans=others, morris=morris, workers=workers or processors(),
            progress=progress,
        )  # fmt: skip
    words = sensitivity_words(found)
    write_study(
        out,
        given,
        command="sensitivity",
        asked={
            "plan": name, "choose_from": others, "decide": decide, "morris": morris,
            "half_widths": precision.half_widths,
        },
        replications=found.replications,
        tables={**tables_of(found), "summary": runs_table(found.runs)},
        summary=found.summary,
        words=words,
        pictures=() if no_pictures else pictures_of(found),
    )  # fmt: skip
    typer.echo(words)
    typer.echo(f"Results: {out}")


def tables_of(found: Sensitivity) -> dict[str, pd.DataFrame]:
    """Make the tables: inputs, effects, worth of knowing, and the screening if there was one."""
    import pandas as pd

    inputs = pd.DataFrame(
        [
            (
                one.name, one.label, one.unit, " ".join(one.stated.keys), one.stated.scale, one.in_use, one.stated.low,
                one.stated.high, one.stated.source,
            )
            for one in found.inputs
        ],
        columns=["input", "label", "unit", "keys", "scale", "in_use", "low", "high", "source"],
    )  # fmt: skip
    effects = pd.DataFrame(
        [
            (row.name, row.end, row.metric, row.result, row.difference.mean, row.difference.low, row.difference.high)
            for row in found.effects
        ],
        columns=["input", "end", "metric", "result", "difference", "low", "high"],
    )
    knowing = pd.DataFrame(
        [tuple(row) for row in found.knowing],
        columns=["input", "plan_now", "plan_at_low", "plan_at_high", "object_days", "money"],
    )
    tables = {"inputs": inputs, "effects": effects, "knowing": knowing}
    if found.screened:
        tables["screening"] = pd.concat(
            [
                pd.DataFrame(
                    {
                        "metric": metric, "input": [one.name for one in found.inputs], "mean": effects_.mean,
                        "mean_absolute": effects_.mean_absolute, "mean_absolute_error": effects_.mean_absolute_error,
                        "spread": effects_.spread,
                    }
                )
                for metric, effects_ in found.screened
            ],
            ignore_index=True,
        )  # fmt: skip
    return tables


def pictures_of(found: Sensitivity) -> list[tuple[str, Picture]]:
    """Draw how far each input moves the held share, and the cost."""
    import pandas as pd

    from simstore.report.charts_decision import what_to_measure
    from simstore.report.phrases import source_line
    from simstore.study.sensitivity import BASE
    from simstore.study.sensitivity_words import first_to_measure

    first = first_to_measure(found)
    settings = found.scenario.settings
    held, cost = found.metrics
    deciding = {row.name for row in found.knowing if row.changes_decision}
    source = source_line(settings.title, settings.note, replications=found.replications)
    said = {
        held: (f"{found.metal} held", "% of object-days", settings.metals[found.metal].standard_pct, "held"),
        cost: ("cost with capital", f"{settings.prices.currency} a year", None, "cost"),
    }
    pictures = []
    for metric, (result, unit, limit, name) in said.items():
        rows = pd.DataFrame(
            [
                (
                    one.label, one.unit, one.stated.low, one.stated.high, found.effect(one.name, "low", metric).result,
                    found.effect(one.name, "high", metric).result, one.name in deciding,
                    first is not None and one.name == first.name,
                )
                for one in drawn_inputs(found, metric)
            ],
            columns=[
                "label", "unit", "low_value", "high_value", "at_low", "at_high", "changes_decision", "measure_first",
            ],
        )  # fmt: skip
        base = found.summary[BASE][metric].estimate.mean
        picture = what_to_measure(rows, base=base, result=result, unit=unit, limit=limit, source=source)
        pictures.append((f"{picture.name}_{name}", picture))
    return pictures


def drawn_inputs(found: Sensitivity, metric: str) -> list[Input]:
    """Choose the inputs that visibly move a result, and the one to be measured first; the widest if none does."""
    from simstore.study.sensitivity_words import first_to_measure

    first = first_to_measure(found)
    widest = max(found.inputs, key=lambda one: found.swing(one.name, metric))
    least = LEAST_DRAWN * found.swing(widest.name, metric)
    return [
        one
        for one in found.inputs
        if found.swing(one.name, metric) > least or one is widest or (first is not None and one.name == first.name)
    ]
