"""What was learnt as tables, and as the file that a scenario reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simstore.study.fit.fit import Fit, innermost_per_day

if TYPE_CHECKING:
    import pandas as pd


def tables_of(found: Fit) -> dict[str, pd.DataFrame]:
    """Make the tables: leaks of enclosures and kinds, and each measurement beside what is predicted."""
    import pandas as pd

    base = {one.kind: innermost_per_day(found.scenario, one.kind) for one in found.kinds}
    leaks = [
        {
            "enclosure": one.enclosure, "kind": one.kind, "measurements": one.measurements,
            "leak_per_day": one.ratio * base[one.kind], "low_per_day": one.ratio_low * base[one.kind],
            "high_per_day": one.ratio_high * base[one.kind], "ratio": one.ratio, "slip_pct": one.slip_pct,
            "bounded": "yes" if one.bounded else "no", "suspect": "yes" if one.suspect else "no",
        }
        for one in found.leaks
    ]  # fmt: skip
    kinds = [
        {
            "kind": one.kind, "enclosures": one.enclosures, "before_per_day": base[one.kind],
            "median_per_day": one.times_median * base[one.kind], "low_per_day": one.times_low * base[one.kind],
            "high_per_day": one.times_high * base[one.kind], "sigma_ln": one.sigma_ln,
            "sigma_low_ln": one.sigma_low, "sigma_high_ln": one.sigma_high,
        }
        for one in found.kinds
    ]  # fmt: skip
    rows = [
        {
            "line": one.line, "enclosure": one.enclosure, "put_in": one.put_in.isoformat(),
            "measured": one.measured.isoformat(), "dry_g": one.dry_g, "wet_g": one.wet_g,
            "read_rh_pct": one.read_rh_pct,
            "predicted_g": None if one.wet_g is None else value,
            "predicted_rh_pct": value if one.wet_g is None else None,
        }
        for one, value in zip(found.measurements, found.predicted, strict=True)
    ]  # fmt: skip
    return {"leaks": pd.DataFrame(leaks), "kinds": pd.DataFrame(kinds), "measured": pd.DataFrame(rows)}


def leaks_file(found: Fit) -> bytes:
    """Write the file that a scenario names as its fit."""
    import tomlkit

    document = found.document()
    text = tomlkit.document()
    text.add(tomlkit.comment("Leaks learnt from measurements, written by `simstore fit`; read by fit = ..."))
    kinds = tomlkit.table(is_super_table=True)
    for name, kind in document.kinds.items():
        one = tomlkit.table()
        one.update(kind.model_dump())
        kinds.add(name, one)
    text.add("kinds", kinds)
    enclosures = tomlkit.table()
    enclosures.update(document.enclosures)
    text.add("enclosures", enclosures)
    return tomlkit.dumps(text).encode("utf-8")
