"""``simstore sweep``: a grid over any keys of a scenario."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from simstore.cli.options import HalfWidths, Keep, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.sweep.front import SweepJudged
    from simstore.study.sweep.grid import Sweep


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
    keep: Keep = None,
    no_pictures: NoPictures = False,
) -> None:
    """Run a plan of SCENARIO at every point of a grid, and show what more cost or work buys."""
    from simstore.cli.begun_bench import begun_bench
    from simstore.cli.running import chosen_plans
    from simstore.cli.study_folder import write_study
    from simstore.lab.precision import precision_of
    from simstore.lab.runs_table import runs_table
    from simstore.prose.answers.sweep import sweep_blocks
    from simstore.prose.blocks import Said
    from simstore.prose.terminal import text_of
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.reading.load import load_scenario
    from simstore.study.sweep.front import judge
    from simstore.study.sweep.grid import sweep as swept
    from simstore.study.sweep.grid import varied
    from simstore.study.sweep.tables import points_table

    values = varied(vary)
    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    name = chosen_plans(given, [plan] if plan else [])[0]
    precision = precision_of(given, replications, half_width or [])
    with begun_bench(given, "points x runs", workers=workers, keep=keep) as bench:
        found = swept(bench, name, values, precision)
    judged = judge(found)
    said = Said(title="What more cost or work buys", blocks=list(sweep_blocks(found, judged)))
    write_study(
        out,
        given,
        command="sweep",
        asked={"plan": name, "vary": values, "half_widths": precision.half_widths},
        replications=found.replications,
        tables={"points": points_table(found, judged), "summary": runs_table(found.runs)},
        summary=found.summary,
        said=said,
        pictures=() if no_pictures else pictures_of(found, judged),
    )
    typer.echo(text_of(said.blocks))
    typer.echo(f"Results: {out}")


def pictures_of(found: Sweep, judged: SweepJudged) -> list[tuple[str, Picture]]:
    """Draw cost against held share, hours against excess, and cadence against ready stock where both vary."""
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import cadence_and_stock, hours_and_excess, tradeoff
    from simstore.study.sweep.tables import drawn_points, grid_rows

    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    metal = judged.metal
    standard, what = settings.metals[metal].standard_pct, settings.metals[metal].label
    points = drawn_points(found, judged)
    pictures = [
        tradeoff(points, standard_pct=standard, currency=settings.prices.currency, what=what, source=source),
        hours_and_excess(points, source=source),
    ]
    grid = grid_rows(found, judged)
    if grid is not None:
        pictures.append(cadence_and_stock(grid, standard_pct=standard, what=what, source=source))
    return [(picture.name, picture) for picture in pictures]
