"""``simstore compare``: two or more plans or programmes under the same luck."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from simstore.cli.options import HalfWidths, Keep, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.compare.comparison import Comparison


def compare(
    scenario: ScenarioPath,
    out: OutFolder,
    plan: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Plan to compare; repeat. The first is the reference.")
    ] = None,
    programme: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Compare each plan under each of these programmes.")
    ] = None,
    seed: Seed = None,
    replications: Annotated[int, typer.Option(min=1, help="Simulated runs of each plan.")] = 20,
    half_width: HalfWidths = None,
    indifference: Annotated[
        float | None,
        typer.Option(
            metavar="AMOUNT",
            help="Run on until the cheapest plan that keeps the standards is told from the others by AMOUNT a year.",
        ),
    ] = None,
    workers: Workers = None,
    keep: Keep = None,
    no_pictures: NoPictures = False,
) -> None:
    """Run plans of SCENARIO under the same luck; say what differs, how surely, and what changing over costs."""
    from simstore.cli.begun_bench import begun_bench
    from simstore.cli.running import chosen_plans
    from simstore.cli.study_folder import write_study
    from simstore.lab.precision import precision_of
    from simstore.prose.answers.compare import compare_blocks
    from simstore.prose.blocks import Said
    from simstore.prose.terminal import text_of
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.reading.load import load_scenario
    from simstore.study.compare.cheapest import cheapest_of
    from simstore.study.compare.comparison import compare as compared
    from simstore.study.compare.comparison import with_programmes
    from simstore.study.compare.tables import tables_of

    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    whole, names = with_programmes(given, chosen_plans(given, plan or []), programme or [])
    precision = precision_of(given, replications, half_width or [])
    with begun_bench(whole, f"{len(names)} plans", workers=workers, keep=keep) as bench:
        found = compared(bench, names, precision)
        cheapest = None if indifference is None else cheapest_of(bench, found, indifference)
    said = Said(title="Side by side, under the same luck", blocks=list(compare_blocks(found, cheapest)))
    write_study(
        out,
        given,
        command="compare",
        asked={
            "plans": names,
            "programmes": programme or [],
            "half_widths": precision.half_widths,
            "indifference": indifference,
        },
        replications=found.replications,
        tables=tables_of(found),
        summary=found.summary,
        said=said,
        pictures=() if no_pictures else pictures_of(found),
    )
    typer.echo(text_of(said.blocks))
    typer.echo(f"Results: {out}")


def pictures_of(found: Comparison) -> list[tuple[str, Picture]]:
    """Draw one chart of differences for each plan against the reference."""
    from simstore.prose.answers.compare import chart_of
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import paired_differences
    from simstore.study.compare.tables import drawn_rows

    if found.replications < 2:
        return []
    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    return [
        (
            chart_of(found, plan),
            paired_differences(drawn_rows(found, plan), first=plan, second=found.plans[0], source=source),
        )
        for plan in found.plans[1:]
    ]
