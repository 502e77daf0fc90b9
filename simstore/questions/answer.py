"""An answer: frames, words and charts of what was found, and the folder that holds them."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from simstore.errors import SimstoreError
from simstore.questions.options import PathText

if TYPE_CHECKING:
    import pandas as pd

    from simstore.prose.blocks import Block
    from simstore.report.charts.picture import Picture
    from simstore.results.summary import Summary
    from simstore.scenario.scenario import Scenario

Found = TypeVar("Found")


@dataclass(eq=False, repr=False, kw_only=True)
class Answer(Generic[Found]):
    """What came of a question.

    Attributes
    ----------
    question : str
        Name of the question, which is that of the command.
    scenario : Scenario
        As the user gave it, with the seed that was used.
    found : object
        The study's own record of what it found.
    replications : int
        Replications of each plan.
    measured : Summary
        Every metric of every plan, with its interval.
    blocks : sequence of Block
        What is said of it, for any renderer.
    asked : mapping, optional
        What was asked for beyond scenario, seed and replications.
    title : str
        Heads it in a report. Without one the folder holds no words.
    documents : mapping of str to mapping
        Further files of the folder, written as JSON.
    files : mapping of str to callable
        Further files of the folder, and what makes their bytes.
    """

    question: str
    scenario: Scenario
    found: Found
    replications: int
    measured: Summary
    blocks: list[Block]
    make_tables: Callable[[], Mapping[str, pd.DataFrame]]
    make_pictures: Callable[[], Iterable[tuple[str, Picture]]]
    asked: Mapping[str, Any] | None = None
    title: str = ""
    documents: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    files: Mapping[str, Callable[[], bytes]] = field(default_factory=dict)

    @cached_property
    def tables(self) -> dict[str, pd.DataFrame]:
        """The tables, as the folder holds them."""
        return dict(self.make_tables())

    @cached_property
    def summary(self) -> pd.DataFrame:
        """Mean and 95 % limits of each metric of each plan, one row each."""
        import pandas as pd

        rows = [
            (plan, metric, measured.unit, measured.estimate.mean, measured.estimate.low, measured.estimate.high)
            for plan, metrics in self.measured.items()
            for metric, measured in metrics.items()
        ]
        return pd.DataFrame(rows, columns=["plan", "metric", "unit", "mean", "low", "high"])

    @property
    def words(self) -> str:
        """What the command says on the terminal."""
        from simstore.prose.terminal import text_of

        return text_of(self.blocks)

    @property
    def charts(self) -> tuple[str, ...]:
        """Names of the charts."""
        return tuple(self._pictures)

    def chart(self, name: str) -> Picture:
        """Draw a chart.

        Parameters
        ----------
        name : str
            One of `charts`.

        Returns
        -------
        Picture
            With its ``figure``, the ``data`` behind it, its finding as ``title``; a notebook shows it.

        Raises
        ------
        SimstoreError
            If there is no such chart.
        """
        if name not in self._pictures:
            from simstore.scenario.checking.finding import suggestion

            msg = f"there is no chart '{name}'; {suggestion(name, self.charts, known_as='charts of this answer')}"
            raise SimstoreError(msg if self.charts else f"there is no chart '{name}': this answer has none")
        return self._pictures[name]

    def drawn(self) -> Iterable[tuple[str, Picture]]:
        """Draw the charts one after the other, by the names of their files; those drawn before are not drawn again."""
        return self._pictures.items() if "_pictures" in self.__dict__ else self.make_pictures()

    @cached_property
    def _pictures(self) -> dict[str, Picture]:
        return dict(self.make_pictures())

    def save(self, folder: PathText, *, pictures: bool = True, parquet: bool = False, report: bool = False) -> Path:
        """Write the folder that the command writes, in one step.

        Parameters
        ----------
        folder : path
            Missing, empty, or written by simstore before.
        pictures : bool
            Write the charts too.
        parquet : bool
            Write tables as Parquet too.
        report : bool
            Write the report and its workbook too; of a run only.

        Returns
        -------
        Path
            The folder.

        Raises
        ------
        SimstoreError
            If the folder holds what simstore did not write, or cannot be written.
        """
        from simstore.questions.folder import write_answer

        write_answer(self, Path(folder), pictures=pictures, parquet=parquet)
        if report:
            from simstore.report.writing import write_report

            write_report(Path(folder))
        return Path(folder)

    def __repr__(self) -> str:
        plans = ", ".join(self.measured)
        return f"<{self.question} of '{self.scenario.settings.title}': {plans}; {self.replications} replications>"

    def _repr_html_(self) -> str:
        return f"<p><b>{html.escape(repr(self)[1:-1])}</b></p><pre>{html.escape(self.words)}</pre>"
