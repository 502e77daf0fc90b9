"""``simstore find``: the cheapest plan that is proven to keep every metal class, and what more would buy."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simstore.cli.options import OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    from simstore.prose.blocks import Said
    from simstore.study.find.search import Found


def find(
    scenario: ScenarioPath,
    out: OutFolder,
    target: Annotated[
        float,
        typer.Option(min=0.01, max=0.999, help="Share of runs in which every metal class must be held."),
    ] = 0.9,
    confidence: Annotated[float, typer.Option(min=0.5, max=0.9999, help="Confidence of the proof.")] = 0.95,
    budget: Annotated[int, typer.Option(min=50, help="Most simulated years for the search.")] = 4000,
    marginal: Annotated[int, typer.Option(min=0, help="Runs for each line of the marginal table; 0 for none.")] = 12,
    years: Annotated[
        int | None,
        typer.Option(min=1, max=30, help="Years over which plans are judged. Default: the scenario's horizon_years."),
    ] = None,
    seed: Seed = None,
    workers: Workers = None,
    keep: Annotated[
        Path | None,
        typer.Option(
            "--keep",
            "--resume",
            metavar="FILE",
            help="Keep finished runs in FILE, and do not simulate again what it has. Default: beside DIR until done.",
        ),
    ] = None,
) -> None:
    """Find the cheapest plan of SCENARIO that keeps its promise, prove it on fresh years, and write it to DIR."""
    from simstore.cli.begun_bench import processors
    from simstore.cli.progress import shown_search
    from simstore.errors import SimstoreError
    from simstore.lab.bench import Bench
    from simstore.lab.cache import open_cache
    from simstore.prose.answers.find import find_blocks
    from simstore.prose.blocks import Said
    from simstore.prose.terminal import text_of
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.reading.load import load_scenario
    from simstore.study.find.options import FindOptions
    from simstore.study.find.search import find_plan, over_horizon

    given = over_horizon(load_scenario(scenario, changes={} if seed is None else {"seed": seed}), years)
    refuse_foreign(out, out)
    options = FindOptions(target=target, confidence=confidence, budget=budget, marginal_replications=marginal)
    file = keep or out.parent / f".{out.name}.simulations.sqlite"
    try:
        with open_cache(file, stays=keep is not None) as cache, shown_search() as (tick, say):
            with Bench(given, workers=workers or processors(), cache=cache) as bench:
                found = find_plan(bench, options, say=say, tick=tick)
            title = "How the plan was found, and what one more of something buys"
            said = Said(title=title, blocks=list(find_blocks(found)))
            write_find(out, found, said)
    except KeyboardInterrupt:
        msg = f"interrupted; finished simulations are kept in {file}: the same command goes on from there"
        raise SimstoreError(msg) from None
    typer.echo(text_of(said.blocks))
    typer.echo(f"Results: {out}")


def write_find(out: Path, found: Found, said: Said) -> None:
    """Write tables, summary, document and words of a search into its folder, in one step."""
    from simstore.cli.study_folder import write_said
    from simstore.report.charts.answers import find_pictures
    from simstore.report.charts.save import save_picture
    from simstore.results.csv_text import write_csv
    from simstore.results.folder import write_json
    from simstore.results.manifest import manifest_of, write_manifest
    from simstore.results.staging import staged_folder
    from simstore.results.summary import summary_document
    from simstore.study.find.tables import document_of, summary_of_choice, tables_of

    settings = found.scenario.settings
    summary, replications = summary_of_choice(found)
    facts = manifest_of(found.scenario, command="find", plans=list(summary), replications=replications)
    with staged_folder(out) as stage:
        for name, table in tables_of(found).items():
            write_csv(table, stage / f"{name}.csv")
        document = summary_document(summary, scenario=settings.title, seed=settings.seed, replications=replications)
        write_json(document, stage / "summary.json")
        write_json(document_of(found), stage / "find.json")
        pictures = find_pictures(found)
        write_said(stage, said, dict(pictures))
        if pictures:
            (stage / "pictures").mkdir()
        for name, picture in pictures:
            save_picture(picture, stage / "pictures", name=name)
        write_manifest(stage, facts)
