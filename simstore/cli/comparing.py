"""``simstore compare``: two or more plans or programmes under the same luck."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

import typer

from simstore.cli.options import HalfWidths, KeepFolder, NoPictures, OutFolder, ScenarioPath, Seed, Workers

if TYPE_CHECKING:
    import pandas as pd

    from simstore.report.picture import Picture
    from simstore.study.compare import Comparison

DRAWN: Final = (
    ("held_pct.{}", "object-days held: {}", "points", "higher"),
    ("excess_pct_days.{}", "over its ceiling: {}", "%RH days a year", "lower"),
    ("exchanges", "enclosures changed", "a year", "lower"),
    ("staff_h", "hours at work", "h a year", "lower"),
    ("peak_week_h", "busiest week", "h", "lower"),
    ("loads", "oven loads", "a year", "lower"),
    ("gel_bought_kg", "gel bought", "kg a year", "lower"),
    ("energy_kwh", "electricity", "kWh a year", "lower"),
    ("cost_per_year", "running costs", "{currency} a year", "lower"),
    ("annual_equivalent_cost", "cost with capital", "{currency} a year", "lower"),
)
"""Metric (a metal class where {} stands), label, unit and which way is better, in the chart's order."""


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
    workers: Workers = None,
    keep: KeepFolder = None,
    no_pictures: NoPictures = False,
) -> None:
    """Run plans of SCENARIO under the same luck; say what differs, how surely, and what changing over costs."""
    from simstore.cli.progress import shown_progress
    from simstore.cli.running import chosen_plans, processors
    from simstore.cli.study_folder import write_study
    from simstore.results.staging import refuse_foreign
    from simstore.scenario.read import load_scenario
    from simstore.study.cases import precision_of
    from simstore.study.compare import compare as compared
    from simstore.study.compare import with_programmes
    from simstore.study.compare_words import compare_words

    given = load_scenario(scenario, changes={} if seed is None else {"seed": seed})
    refuse_foreign(out, out)
    whole, names = with_programmes(given, chosen_plans(given, plan or []), programme or [])
    precision = precision_of(given, replications, half_width or [])
    with shown_progress(f"{len(names)} plans") as progress:
        found = compared(whole, names, precision, workers=workers or processors(), progress=progress, keep=keep)
    words = compare_words(found)
    write_study(
        out,
        given,
        command="compare",
        asked={"plans": names, "programmes": programme or [], "half_widths": precision.half_widths},
        replications=found.replications,
        tables=tables_of(found),
        summary=found.summary,
        words=words,
        pictures=() if no_pictures else pictures_of(found),
    )
    typer.echo(words)
    typer.echo(f"Results: {out}")


def tables_of(found: Comparison) -> dict[str, pd.DataFrame]:
    """Make the tables: inputs, differences, changing over, years, and the metrics of every run."""
    import pandas as pd

    from simstore.cli.study_folder import runs_table
    from simstore.study.compare import money_by_year

    changes = [
        (plan, line.what, line.count, line.unit_price, line.life_years, "yes" if line.bought else "no")
        for plan, change in found.changeovers.items()
        for line in change.purchases
    ]
    return {
        "inputs": pd.DataFrame([(row.key, *row.under) for row in found.inputs], columns=["key", *found.plans]),
        "differences": pd.DataFrame(found.differences).drop(columns="caution").assign(against=found.plans[0]),
        "changeover": pd.DataFrame(
            changes, columns=["plan", "what", "count", "unit_price", "life_years", "bought_at_start"]
        ),
        "years": pd.DataFrame(money_by_year(found), columns=["plan", "year", "paid", "discounted_sum"]),
        "summary": runs_table(found.runs),
    }


def pictures_of(found: Comparison) -> list[tuple[str, Picture]]:
    """Draw one chart of differences for each plan against the reference."""
    from simstore.report.charts_decision import paired_differences
    from simstore.report.phrases import source_line
    from simstore.report.save import file_part

    if found.replications < 2:
        return []
    settings = found.scenario.settings
    source = source_line(settings.title, settings.note, replications=found.replications)
    pictures = []
    for plan in found.plans[1:]:
        picture = paired_differences(drawn_rows(found, plan), first=plan, second=found.plans[0], source=source)
        name = picture.name if len(found.plans) == 2 else f"{picture.name}_{file_part(plan)}"
        pictures.append((name, picture))
    return pictures


def drawn_rows(found: Comparison, plan: str) -> pd.DataFrame:
    """Choose the rows of the chart of differences: the main metrics that differ in some run."""
    import pandas as pd

    settings = found.scenario.settings
    metals = [metal for metal in settings.metals if any(row.metric == f"held_pct.{metal}" for row in found.differences)]
    rows = []
    for name, label, unit, better in DRAWN:
        for metal in metals if "{}" in name else [""]:
            row = found.difference(plan, name.format(metal))
            if row.low != 0.0 or row.high != 0.0 or not metal:
                said = label.format(metal)
                rows.append((said, unit.format(currency=settings.prices.currency), row.mean, row.low, row.high, better))
    return pd.DataFrame(rows, columns=["label", "unit", "mean", "low", "high", "better"])
