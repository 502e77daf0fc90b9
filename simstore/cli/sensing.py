"""``simstore sensitivity``: which uncertain inputs matter, and what to measure first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from simstore.cli.options import FoundFolder, HalfWidths, Keep, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    from simstore.report.charts.picture import Picture
    from simstore.study.sensitivity.effects import Sensitivity


def sensitivity(
    scenario: ScenarioPath,
    out: OutFolder,
    plan: Annotated[str | None, typer.Option(metavar="NAME", help="Plan to look at. Default: the scenario's.")] = None,
    choose_from: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Plans that may be chosen. Default: all.")
    ] = None,
    decide: Annotated[int, typer.Option(min=0, help="Inputs whose worth of knowing is worked out.")] = 4,
    morris: Annotated[int, typer.Option(min=0, help="Trajectories of a screening of all inputs at once.")] = 0,
    found: FoundFolder = None,
    seed: Seed = None,
    replications: Annotated[int, typer.Option(min=1, help="Simulated runs at each end of each range.")] = 5,
    half_width: HalfWidths = None,
    keep: Keep = None,
    workers: Workers = None,
    no_pictures: NoPictures = False,
) -> None:
    """Move each uncertain input of SCENARIO; say which matters and what to measure first."""
    from simstore.cli.begun_bench import begun_bench
    from simstore.cli.running import chosen_plans
    from simstore.cli.study_folder import write_study
    from simstore.lab.precision import precision_of
    from simstore.lab.runs_table import runs_table
    from simstore.plans.found import FOUND, with_plan_found_in
    from simstore.prose.answers.sensitivity import sensitivity_blocks
    from simstore.prose.blocks import Said
    from simstore.prose.terminal import text_of
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.reading.load import load_scenario
    from simstore.study.sensitivity.effects import sensitivity as moved
    from simstore.study.sensitivity.tables import tables_of

    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    whole, chosen = with_plan_found_in(given, found)
    name = chosen_plans(whole, [plan] if plan else [FOUND] if chosen else [])[0]
    others = chosen_plans(whole, choose_from) if choose_from else []
    precision = precision_of(given, replications, half_width or [])
    with begun_bench(whole, "ends x runs", workers=workers, keep=keep) as bench:
        outcome = moved(bench, name, precision, decide=decide, plans=others, morris=morris)
    said = Said(title="What to measure first", blocks=list(sensitivity_blocks(outcome)))
    write_study(
        out,
        given,
        command="sensitivity",
        asked={
            "plan": name, "choose_from": others, "decide": decide, "morris": morris,
            "half_widths": precision.half_widths,
        },
        replications=outcome.replications,
        tables={**tables_of(outcome), "summary": runs_table(outcome.runs)},
        summary=outcome.summary,
        said=said,
        found=chosen,
        pictures=() if no_pictures else pictures_of(outcome),
    )  # fmt: skip
    typer.echo(text_of(said.blocks))
    typer.echo(f"Results: {out}")


def pictures_of(found: Sensitivity) -> list[tuple[str, Picture]]:
    """Draw how far each input moves the held share, and the cost."""
    from simstore.prose.phrases import source_line
    from simstore.report.charts.decisions import what_to_measure
    from simstore.study.sensitivity.effects import BASE
    from simstore.study.sensitivity.tables import drawn_rows

    settings = found.scenario.settings
    held, cost = found.metrics
    source = source_line(settings.title, settings.note, replications=found.replications)
    said = {
        held: (f"{found.metal} held", "% of object-days", settings.metals[found.metal].standard_pct, "held"),
        cost: ("cost with capital", f"{settings.prices.currency} a year", None, "cost"),
    }
    pictures = []
    for metric, (result, unit, limit, name) in said.items():
        rows = drawn_rows(found, metric)
        base = found.summary[BASE][metric].estimate.mean
        picture = what_to_measure(rows, base=base, result=result, unit=unit, limit=limit, source=source)
        pictures.append((f"{picture.name}_{name}", picture))
    return pictures
