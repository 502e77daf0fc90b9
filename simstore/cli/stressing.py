"""``simstore stress``: a plan when something goes wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from simstore.cli.options import HalfWidths, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.picture import Picture
    from simstore.study.stress import StressTest


def stress(
    scenario: ScenarioPath,
    out: OutFolder,
    plan: Annotated[str | None, typer.Option(metavar="NAME", help="Plan to test. Default: the scenario's.")] = None,
    seed: Seed = None,
    replications: Annotated[int, typer.Option(min=1, help="Simulated runs of each failure.")] = 10,
    half_width: HalfWidths = None,
    workers: Workers = None,
    no_pictures: NoPictures = False,
) -> None:
    """Run a plan of SCENARIO through failures: what is lost, and when it is recovered."""
    from simstore.cli.progress import shown_progress
    from simstore.cli.running import chosen_plans, processors
    from simstore.cli.study_folder import runs_table, write_study
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.read import load_scenario
    from simstore.study.cases import precision_of
    from simstore.study.stress import stress_test
    from simstore.study.stress_words import stress_words

    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    name = chosen_plans(given, [plan] if plan else [])[0]
    precision = precision_of(given, replications, half_width or [])
    with shown_progress("failures x runs") as progress:
        found = stress_test(given, name, precision, workers=workers or processors(), progress=progress)
    words = stress_words(found)
    metrics = {case: [run.metrics for run in kept] for case, kept in found.runs.items()}
    write_study(
        out,
        given,
        command="stress",
        asked={"plan": name, "half_widths": precision.half_widths},
        replications=found.replications,
        tables={**tables_of(found), "summary": runs_table(metrics)},
        summary=found.summary,
        words=words,
        pictures=() if no_pictures else pictures_of(found),
    )
    typer.echo(words)
    typer.echo(f"Results: {out}")


def tables_of(found: StressTest) -> dict[str, pd.DataFrame]:
    """Make the tables: losses, and the share held in each week."""
    import numpy as np
    import pandas as pd

    losses = pd.DataFrame(
        [
            (
                row.stress, row.metal, row.held.mean, row.held.low, row.held.high, row.excess.mean, row.excess.low,
                row.excess.high, row.worst_points, np.nan if row.back_week is None else float(row.back_week),
                found.undone[row.stress],
            )
            for row in found.losses
        ],
        columns=[
            "stress", "metal", "held_points", "held_points_low", "held_points_high", "excess_pct_days",
            "excess_pct_days_low", "excess_pct_days_high", "worst_week_points", "back_week", "undone_more",
        ],
    )  # fmt: skip
    weeks = pd.concat(
        [
            pd.DataFrame({"stress": case, "metal": metal, "week": np.arange(len(held)), "held_pct": held})
            for case in found.runs
            for metal in found.runs[case][0].week_held
            for held in [found.week_held(case, metal)]
        ],
        ignore_index=True,
    )
    return {"stresses": pd.DataFrame(found.stresses), "losses": losses, "weeks": weeks}


def pictures_of(found: StressTest) -> list[tuple[str, Picture]]:
    """Draw each metal class that loses anything worth a word; the hardest hit one in any case."""
    import pandas as pd

    from simstore.report.charts_decision import under_stress
    from simstore.report.phrases import source_line
    from simstore.report.save import file_part
    from simstore.study.stress import TOLERANCE_POINTS

    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    weeks = tables_of(found)["weeks"]
    spans = pd.DataFrame(found.stresses).rename(columns={"name": "stress"})
    ceilings = {name: metal.ceiling_rh_pct for name, metal in settings.metals.items()}
    worst = min(found.losses, key=lambda row: (row.held.mean, ceilings[row.metal], row.metal)).metal
    felt = {row.metal for row in found.losses if row.worst_points > TOLERANCE_POINTS} | {worst}
    pictures = []
    for metal in settings.metals:
        if metal in felt:
            own = weeks[weeks["metal"] == metal].drop(columns="metal")
            picture = under_stress(
                own,
                spans,
                standard_pct=settings.metals[metal].standard_pct,
                what=settings.metals[metal].label,
                start=settings.start,
                source=source,
            )
            pictures.append((f"{picture.name}_{file_part(metal)}", picture))
    return pictures
