"""What the stiff solver says of every whole-year case, kept in ``solved.npz``; made and checked by this command.

    python tests/years/solved.py            solve what has changed since, and write the file
    python tests/years/solved.py --all      solve everything anew, and with a hundredth of the tolerance

It takes a few seconds a case with numba, which compiles the solver. Tests solve parts of the years again by another
route, each time from a state in the middle, so that the file cannot say anything else than the equations do.
"""

from __future__ import annotations

import argparse
import functools
import hashlib
import os
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    os.environ["SIMSTORE_COMPILE_SOLVER"] = "1"

from years import store, weather, year
from years.enclosed import Enclosed, enclosed

FILE = Path(__file__).with_name("solved.npz")
STEP_PCT = 1e-4
"""RH is kept in whole steps of this [%RH]."""
KEPT_EVERY_H = 365
BELIEVED_PCT = 1e-4
"""Most that a hundredth of the tolerance may change. [%RH]"""


@dataclass(frozen=True)
class Question:
    """All that the solver needs of one case."""

    enclosed: Enclosed
    temp_c: np.ndarray
    rh_pct: np.ndarray
    start: year.State
    events: dict[int, list[year.Event]]
    source_kg_per_s: np.ndarray

    def fingerprint(self) -> str:
        """Change with anything that the answer follows from."""
        digest = hashlib.blake2b(digest_size=12)
        with np.printoptions(threshold=sys.maxsize, floatmode="unique"):
            digest.update(repr((self.enclosed, self.start, sorted(self.events.items()))).encode())
        for each in (self.temp_c, self.rh_pct, self.source_kg_per_s):
            digest.update(each.tobytes())
        return digest.hexdigest()

    def solve(self, **options) -> year.Solved:
        return year.solve(
            self.enclosed, self.temp_c, self.rh_pct, self.start,
            events=self.events, source_kg_per_s=self.source_kg_per_s, **options,
        )  # fmt: skip

    def solve_again(self, state: year.State, first_hour: int, hours: int, by=year.solve, **options) -> year.Solved:
        """Solve a part of the year from a state in its middle."""
        span = slice(first_hour, first_hour + hours)
        whole = self.enclosed
        for hour, events in sorted(self.events.items()):
            if hour < first_hour:
                whole = next((each.enclosed for each in events if isinstance(each, year.Torn)), whole)
        return by(
            whole, self.temp_c[span], self.rh_pct[span], state,
            events=self.events, source_kg_per_s=self.source_kg_per_s[span], first_hour=first_hour, **options,
        )  # fmt: skip


def question(case: store.Case, room: str | None = None) -> Question:
    """Read a case as numbers, in its own room or in another one."""
    room = room or case.room
    scenario = store.scenario(room)
    row = next(each for each in scenario.enclosures if each.id == case.id)
    temp_c, rh_pct = weather.room(room)
    box = enclosed(scenario.settings, row)
    q = None
    if box.gel is not None:
        supplied = scenario.settings.sorbents[
            scenario.settings.packets[scenario.settings.kinds[row.kind].packet].sorbent
        ]
        q = (supplied.supplied_water_pct if case.water_pct is None else case.water_pct) / 100.0
    events: dict[int, list[year.Event]] = {}
    for hour in range(case.opened_every_h or weather.HOURS, weather.HOURS, case.opened_every_h or weather.HOURS):
        events.setdefault(hour, []).append(year.Open())
    for hour, water_pct, left_pct in case.exchanges:
        events.setdefault(hour, []).append(year.Exchange(water_pct / 100.0, left_pct / 100.0))
    if case.torn_h is not None:
        events.setdefault(case.torn_h, []).append(year.Torn(enclosed(scenario.settings, row, torn=True)))
    return Question(
        box, temp_c, rh_pct, year.in_balance(box, float(temp_c[0]), float(rh_pct[0]), q), events,
        year.given_off_kg_per_s(case.object_water_g / 1000.0, case.release_days, len(temp_c)),
    )  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """A solved year as it is kept: RH [%] of each hour, mean and end, and water [kg]."""

    fingerprint: str
    mean_pct: np.ndarray
    end_pct: np.ndarray
    states: dict[int, year.State]
    inflow_kg: float
    liquid_h: int
    last: year.State

    @classmethod
    def of(cls, asked: Question) -> Answer:
        found = asked.solve(keep_states=range(0, weather.HOURS, KEPT_EVERY_H))
        return cls(
            asked.fingerprint(), 100.0 * found.mean, 100.0 * found.end, found.states,
            float(found.inflow_kg.sum()), int(np.count_nonzero(found.liquid_kg > 0.0)), found.last,
        )  # fmt: skip


def _row(state: year.State) -> np.ndarray:
    return np.concatenate((state.water_kg, [state.q, state.left, state.b]))


def _state(row: np.ndarray) -> year.State:
    return year.State(row[:-3].copy(), *row[-3:].tolist())


def write(answers: dict[str, Answer]) -> None:
    """Write the file; differences of neighbouring hours pack well."""
    arrays = {"cases": np.array(list(answers)), "fingerprints": np.array([a.fingerprint for a in answers.values()])}
    for number, answer in enumerate(answers.values()):
        for name, rh_pct in (("mean", answer.mean_pct), ("end", answer.end_pct)):
            steps = np.round(rh_pct / STEP_PCT).astype(np.int32)
            change = np.diff(steps, prepend=np.int32(0))
            arrays[f"{name}{number}"] = change.view(np.uint8).reshape(-1, 4).T.copy()
        arrays[f"states{number}"] = np.array([_row(each) for each in (*answer.states.values(), answer.last)])
        arrays[f"totals{number}"] = np.array([answer.inflow_kg, answer.liquid_h])
    np.savez_compressed(FILE, **arrays)


@functools.cache
def answers() -> dict[str, Answer]:
    """Read the file."""
    found = {}
    with np.load(FILE) as kept:
        for number, (name, fingerprint) in enumerate(zip(kept["cases"], kept["fingerprints"], strict=True)):
            mean_pct, end_pct = (
                STEP_PCT * np.cumsum(kept[f"{which}{number}"].T.copy().view(np.int32).ravel())
                for which in ("mean", "end")
            )
            *states, last = map(_state, kept[f"states{number}"])
            inflow_kg, liquid_h = kept[f"totals{number}"].tolist()
            hours = range(0, weather.HOURS, KEPT_EVERY_H)
            found[str(name)] = Answer(
                str(fingerprint), mean_pct, end_pct, dict(zip(hours, states, strict=True)),
                inflow_kg, int(liquid_h), last,
            )  # fmt: skip
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument(
        "--all", action="store_true", help="solve all cases anew, also with a hundredth of the tolerance"
    )
    everything = parser.parse_args().all
    known = answers() if FILE.exists() and not everything else {}
    found, worst = {}, 0.0
    for case in store.cases():
        asked = question(case)
        if case.id in known and known[case.id].fingerprint == asked.fingerprint():
            found[case.id] = known[case.id]
            continue
        found[case.id] = answer = Answer.of(asked)
        print(f"{case.id:34} {answer.mean_pct.min():6.2f} to {answer.mean_pct.max():6.2f} %RH, "
              f"{np.count_nonzero(answer.mean_pct > case.ceiling_pct):5} h over {case.ceiling_pct:g} %, "
              f"{answer.liquid_h:5} h with liquid water", flush=True)  # fmt: skip
        if everything:
            finer = asked.solve(tolerance=year.TOLERANCE / 100.0)
            apart = 100.0 * max(
                np.abs(finer.mean - answer.mean_pct / 100).max(), np.abs(finer.end - answer.end_pct / 100).max()
            )
            print(f"{'':34} a hundredth of the tolerance changes {apart:.1e} %RH", flush=True)
            worst = max(worst, apart)
    if worst > BELIEVED_PCT:
        sys.exit(f"error: the solver's own error may be {worst:.1e} %RH; tighten year.TOLERANCE")
    write(found)
    print(f"wrote {FILE.name}, {FILE.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
