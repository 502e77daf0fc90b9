"""``simstore sweep``: a grid over any keys of a scenario."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from simstore.cli.options import HalfWidths, KeepFolder, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.picture import Picture
    from simstore.study.sweep import Sweep
    from simstore.study.sweep_words import SweepJudged


def sweep(
    scenario: ScenarioPath,
    out: OutFolder,
    vary: Annotated[
        list[str],
        typer.Option(
            metavar="KEY=V1,V2,...",
            help="Scenario key and its values, such as ovens.small.count=1,2; plan.KEY for the plan's own. Repeat.",
        ),
    ],
    plan: Annotated[str | None, typer.Option(metavar="NAME", help="Plan to run. Default: the scenario's.")] = None,
    seed: Seed = None,
    replications: Annotated[int, typer.Option(min=1, help="Simulated runs of each point.")] = 10,
    half_width: HalfWidths = None,
    workers: Workers = None,
    keep: KeepFolder = None,
    no_pictures: NoPictures = False,
) -> None:
    """Run a plan of SCENARIO at every point of a grid, and show what more cost or work buys."""
    from simstore.cli.progress import shown_progress
    from simstore.cli.running import chosen_plans, processors
    from simstore.cli.study_folder import runs_table, write_study
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.read import load_scenario
    from simstore.study.cases import precision_of
    from simstore.study.sweep import sweep as swept
    from simstore.study.sweep import varied
    from simstore.study.sweep_words import judge, sweep_words

    values = varied(vary)
    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    name = chosen_plans(given, [plan] if plan else [])[0]
    precision = precision_of(given, replications, half_width or [])
    with shown_progress("points x runs") as progress:
        found = swept(given, name, values, precision, workers=workers or processors(), progress=progress, keep=keep)
    judged = judge(found)
    words = sweep_words(found, judged)
    write_study(
        out,
        given,
        command="sweep",
        asked={"plan": name, "vary": values, "half_widths": precision.half_widths},
        replications=found.replications,
        tables={"points": points_table(found, judged), "summary": runs_table(found.runs)},
        summary=found.summary,
        words=words,
        pictures=() if no_pictures else pictures_of(found, judged),
    )
    typer.echo(words)
    typer.echo(f"Results: {out}")


def points_table(found: Sweep, judged: SweepJudged) -> pd.DataFrame:
    """Lay out one row a point: keys, whether it meets and is on the front, then mean, low and high of each metric."""
    import pandas as pd

    from simstore.study.sweep import said

    rows: list[dict[str, Any]] = []
    for point in found.points:
        row: dict[str, Any] = {"point": point.name}
        row |= {key: value if _is_number(value) else said(value) for key, value in point.chosen.items()}
        row["meets_all"] = "yes" if judged.meets[point.name] else "no"
        row["on_front"] = "yes" if judged.on_front[point.name] else "no"
        for metric, measured in found.summary[point.name].items():
            row |= {metric: measured.estimate.mean, f"{metric} low": measured.estimate.low}
            row[f"{metric} high"] = measured.estimate.high
        rows.append(row)
    return pd.DataFrame(rows)


def pictures_of(found: Sweep, judged: SweepJudged) -> list[tuple[str, Picture]]:
    """Draw cost against held share, hours against excess, and cadence against ready stock where both vary."""
    import pandas as pd

    from simstore.report.charts_decision import cadence_and_stock, hours_and_excess, tradeoff
    from simstore.report.phrases import source_line
    from simstore.results.intervals import mean_interval
    from simstore.study.judged import total_excess
    from simstore.units import DAYS_PER_WEEK, DAYS_PER_YEAR

    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    metal = judged.metal
    standard, what = settings.metals[metal].standard_pct, settings.metals[metal].label
    rows = []
    for point in found.points:
        role = "chosen" if point is judged.cheapest else "today" if point is judged.today else ""
        row: dict[str, Any] = {"label": point.label, "role": role, "on_front": judged.on_front[point.name]}
        estimates = {
            "cost": found.summary[point.name]["annual_equivalent_cost"].estimate,
            "held": found.summary[point.name][f"held_pct.{metal}"].estimate,
            "excess": mean_interval(total_excess(found.runs[point.name])),
        }
        for name, estimate in estimates.items():
            known = estimate.low == estimate.low
            row |= {f"{name}_mean": estimate.mean, f"{name}_low": estimate.low if known else estimate.mean}
            row[f"{name}_high"] = estimate.high if known else estimate.mean
        row["held_high"] = min(row["held_high"], 100.0)
        row["excess_low"] = max(row["excess_low"], 0.0)
        row["hours_per_week"] = found.summary[point.name]["staff_h"].estimate.mean / DAYS_PER_YEAR * DAYS_PER_WEEK
        rows.append(row)
    points = pd.DataFrame(rows)
    pictures = [
        tradeoff(points, standard_pct=standard, currency=settings.prices.currency, what=what, source=source),
        hours_and_excess(points, source=source),
    ]
    grid = grid_rows(found, judged)
    if grid is not None:
        pictures.append(cadence_and_stock(grid, standard_pct=standard, what=what, source=source))
    return [(picture.name, picture) for picture in pictures]


def grid_rows(found: Sweep, judged: SweepJudged) -> pd.DataFrame | None:
    """Choose the rows of the chart of cadence and ready stock; None where these do not both vary.

    What varies besides stays at its first value.
    """
    import pandas as pd

    first = found.points[0].chosen
    cadence = next((key for key in first if key.rpartition(".")[2] == "cadence_weeks"), None)
    ready = next((key for key in first if key.startswith("stock.") and key.endswith(".ready")), None)
    if cadence is None or ready is None:
        return None
    rows = [
        (
            point.chosen[cadence],
            point.chosen[ready],
            found.summary[point.name][f"held_pct.{judged.metal}"].estimate.mean,
            judged.meets[point.name],
        )
        for point in found.points
        if all(point.chosen[key] == value for key, value in first.items() if key not in (cadence, ready))
    ]
    return pd.DataFrame(rows, columns=["cadence_weeks", "ready_packets", "held_pct", "meets"])


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
