"""What ``simstore run`` does between reading its arguments and printing."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from difflib import get_close_matches
from importlib import import_module
from pathlib import Path

from simstore.cli.begun_bench import processors
from simstore.cli.progress import shown_progress
from simstore.errors import SimstoreError
from simstore.lab.bench import Bench, Task
from simstore.lab.replicate import COLUMNS
from simstore.plans.found import FOUND, FOUND_FILE, with_plan_found_in
from simstore.plans.variant import Variant
from simstore.results.staging import refuse_foreign
from simstore.scenario.reading.load import load_scenario
from simstore.scenario.scenario import Scenario


def run_plans(
    path: Path,
    out: Path,
    *,
    plans: Sequence[str],
    seed: int | None,
    replications: int,
    workers: int | None,
    pictures: bool,
    parquet: bool,
    found: Path | None = None,
) -> str:
    """Simulate, write the result folder, and return the words for the terminal.

    With ``found``, the folder of a search, the plan that it chose is run as well.

    Raises
    ------
    SimstoreError
        If the scenario, a plan's name or the result folder is not in order.
    """
    scenario = load_scenario(path, changes={} if seed is None else {"seed": seed})
    scenario, chosen = with_plan_found_in(scenario, found)
    if chosen is not None:
        plans = [*plans, FOUND]
    names = chosen_plans(scenario, plans)
    refuse_foreign(out, out)
    with shown_progress(f"{len(names)} x {replications} runs") as shown:

        def progress(done: int, total: int) -> None:
            if done == 0:  # the workers simulate while this process loads what it needs afterwards
                threading.Thread(target=_load_later_needs, args=(pictures,), daemon=True).start()
            shown(done, total)

        tasks = [Task(Variant(name), number) for name in sorted(names) for number in range(replications)]
        with Bench(scenario, workers=workers or processors(), progress=progress) as bench:
            runs = list(bench.runs(tasks, COLUMNS))

    from simstore.prose.answers.run import plan_blocks
    from simstore.prose.cautions import cautions
    from simstore.prose.terminal import text_of
    from simstore.results.folder import write_json, write_results
    from simstore.results.summary import summary_of
    from simstore.results.tables import frames

    planned = {name: scenario.under(name) for name in names}
    tables = frames(runs)
    summary = summary_of(runs)

    def add(folder: Path) -> None:
        if chosen is not None:
            write_json(chosen, folder / FOUND_FILE)
        if pictures:
            from simstore.report.charts.save import write_pictures

            write_pictures(folder / "pictures", tables, {name: planned[name].settings for name in names})

    write_results(
        out,
        scenario,
        tables,
        summary,
        replications=replications,
        parquet=parquet,
        extras=add,
    )
    blocks = [
        block
        for name in names
        for block in plan_blocks(planned[name].settings, name, summary[name], tables["enclosures"], replications)
    ]
    return text_of([*blocks, *cautions((summary[name], planned[name].settings) for name in names)])


def chosen_plans(scenario: Scenario, wanted: Sequence[str]) -> list[str]:
    """Names of the plans to run, each once; the scenario's default where none is named.

    Raises
    ------
    SimstoreError
        With a suggestion for each unknown name.
    """
    settings = scenario.settings
    problems = []
    for name in wanted:
        if name not in settings.plans:
            near = get_close_matches(name, settings.plans, 1)
            cure = f"did you mean '{near[0]}'?" if near else f"the scenario has {', '.join(settings.plans)}"
            problems.append(f"no plan '{name}'; {cure}")
    if problems:
        raise SimstoreError("\n".join(problems))
    return list(dict.fromkeys(wanted)) or [settings.default_plan]


def _load_later_needs(pictures: bool) -> None:
    for name in ("pandas", "scipy.special", *(("simstore.report.charts.year",) if pictures else ())):
        import_module(name)
