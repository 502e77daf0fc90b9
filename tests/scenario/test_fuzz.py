"""Random damage to a good scenario is always one SimstoreError or no error, never anything else."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from simstore.errors import SimstoreError
from simstore.scenario.reading.load import load_scenario, scenario_from_toml_text

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
TOML = (TINY / "scenario.toml").read_text(encoding="utf-8")
REGISTER = (TINY / "register.csv").read_text(encoding="utf-8")
SNIPPETS = st.sampled_from(
    ["-1", "0", "1e400", "nan", "[]", "{}", "''", '"x"', "true", "[[]]", "{ a = 1 }", "2026-01-01", "99999999999999999999",
     "[1, 'a']", "07:30:00", "[[groups]]", "[x", '"""', ",", "\n", "=", "ü", "\x00", "[plans]", '"a.b" = 1', "[{}]", "1,5"]
)  # fmt: skip


def outcome(text: str, register: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "scenario.toml").write_text(text, encoding="utf-8")
        (folder / "register.csv").write_text(register, encoding="utf-8")
        try:
            scenario = load_scenario(folder)
        except SimstoreError as error:
            assert "problem" in str(error)  # noqa: PT017 - any other error fails the test
            return
        for plan in scenario.settings.plans:
            scenario.under(plan)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_values_replaced_by_anything_never_raise_anything_else(data):
    lines = TOML.splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        places = [n for n, line in enumerate(lines) if "=" in line]
        place = data.draw(st.sampled_from(places))
        key = lines[place].partition("=")[0]
        lines[place] = f"{key}= {data.draw(SNIPPETS)}"
    outcome("\n".join(lines), REGISTER)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_lines_lost_doubled_or_moved_never_raise_anything_else(data):
    lines = TOML.splitlines()
    for _ in range(data.draw(st.integers(1, 5))):
        place = data.draw(st.integers(0, len(lines) - 1))
        what = data.draw(st.sampled_from(["lose", "double", "move", "cut", "insert"]))
        if what == "lose":
            del lines[place]
        elif what == "double":
            lines.insert(data.draw(st.integers(0, len(lines))), lines[place])
        elif what == "move":
            lines.insert(data.draw(st.integers(0, len(lines) - 1)), lines.pop(place))
        elif what == "cut":
            lines[place] = lines[place][: data.draw(st.integers(0, 40))]
        else:
            lines.insert(place, data.draw(SNIPPETS))
    outcome("\n".join(lines), REGISTER)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_damage_to_the_register_never_raises_anything_else(data):
    text = REGISTER
    for _ in range(data.draw(st.integers(1, 6))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(len(text), start + 20)))
        text = text[:start] + data.draw(st.one_of(SNIPPETS, st.text(max_size=5))) + text[end:]
    outcome(TOML, text.encode("utf-8", "replace").decode("utf-8"))


GOOD = load_scenario(TINY)
KEYS = st.sampled_from(
    ["ovens.small.count", "kinds.clip_box.layers.0.leak_per_day", "plans.quarterly.changes", "title", "groups.0", "",
     "metals.iron", "ovens", "kinds.clip_box.layers", "plans.by_metal.cadence_weeks", "seed", ".", "start", "holidays.0",
     "sorbents.narrow_pore.isotherm.form", "plans.two_ovens.changes.ovens", "technicians.anna.leave.0.1", "prices.currency"]
)  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(
    changes=st.dictionaries(KEYS, st.one_of(st.booleans(), st.integers(), st.floats(), st.text(max_size=5)), max_size=3)
)
def test_changes_of_any_kind_never_raise_anything_else(changes):
    for attempt in (
        lambda: GOOD.with_changes(changes),
        lambda: scenario_from_toml_text(TOML, folder=TINY, changes=changes),
    ):
        try:
            attempt()
        except SimstoreError as error:
            assert "problem" in str(error)  # noqa: PT017 - any other error fails the test
