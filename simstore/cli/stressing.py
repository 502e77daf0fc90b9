"""``simstore stress``: a plan when something goes wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from simstore.cli.options import FoundFolder, HalfWidths, Keep, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.stress.losses import StressTest


def stress(
    scenario: ScenarioPath,
    out: OutFolder,
    plan: Annotated[str | None, typer.Option(metavar="NAME", help="Plan to test. Default: the scenario's.")] = None,
    found: FoundFolder = None,
    seed: Seed = None,
    replications: Annotated[int, typer.Option(min=1, help="Simulated runs of each failure.")] = 10,
    half_width: HalfWidths = None,
    keep: Keep = None,
    workers: Workers = None,
    no_pictures: NoPictures = False,
) -> None:
    """Run a plan of SCENARIO through failures: what is lost, and when it is recovered."""
    from simstore.cli.begun_bench import begun_bench
    from simstore.cli.running import chosen_plans
    from simstore.cli.study_folder import write_study
    from simstore.lab.precision import precision_of
    from simstore.lab.runs_table import runs_table
    from simstore.plans.found import FOUND, with_plan_found_in
    from simstore.prose.answers.stress import stress_blocks
    from simstore.prose.blocks import Said
    from simstore.prose.terminal import text_of
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.reading.load import load_scenario
    from simstore.study.stress.losses import stress_test
    from simstore.study.stress.tables import tables_of

    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    whole, chosen = with_plan_found_in(given, found)
    name = chosen_plans(whole, [plan] if plan else [FOUND] if chosen else [])[0]
    precision = precision_of(given, replications, half_width or [])
    with begun_bench(whole, "failures x runs", workers=workers, keep=keep) as bench:
        tested = stress_test(bench, name, precision)
    said = Said(title="When something goes wrong", blocks=list(stress_blocks(tested)))
    metrics = {case: [run.metrics for run in kept] for case, kept in tested.runs.items()}
    write_study(
        out,
        given,
        command="stress",
        asked={"plan": name, "half_widths": precision.half_widths},
        replications=tested.replications,
        tables={**tables_of(tested), "summary": runs_table(metrics)},
        summary=tested.summary,
        said=said,
        found=chosen,
        pictures=() if no_pictures else pictures_of(tested),
    )
    typer.echo(text_of(said.blocks))
    typer.echo(f"Results: {out}")


def pictures_of(found: StressTest) -> list[tuple[str, Picture]]:
    """Draw each metal class that loses anything worth a word; the hardest hit one in any case."""
    from simstore.prose.answers.stress import chart_of_metal
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import under_stress
    from simstore.study.stress.losses import drawn_metals
    from simstore.study.stress.tables import spans_table, tables_of

    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    weeks = tables_of(found)["weeks"]
    spans = spans_table(found)
    pictures = []
    for metal in drawn_metals(found):
        picture = under_stress(
            weeks[weeks["metal"] == metal].drop(columns="metal"),
            spans,
            standard_pct=settings.metals[metal].standard_pct,
            what=settings.metals[metal].label,
            start=settings.start,
            source=source,
        )
        pictures.append((chart_of_metal(metal), picture))
    return pictures
