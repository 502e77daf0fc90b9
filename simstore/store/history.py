"""How wet the gel is when the run begins: from its weight, or from the date when it was last dried."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from simstore.store.gel import StoreCurves
from simstore.store.housed import Housed, Walls
from simstore.store.outlook import Outlook

FloatArray = NDArray[np.float64]
STEP_DAYS = 5
LONGEST_DAYS = 4 * 365


def days_since_drying(rows: list[Housed], start: date) -> FloatArray:
    """Days from the last drying to the start of the run, shape (enclosures,); NaN where it is not known."""
    ages = [
        np.nan if row.enclosure.last_regenerated is None else (start - row.enclosure.last_regenerated).days
        for row in rows
    ]
    return np.minimum(np.array(ages, dtype=np.float64), LONGEST_DAYS)


def water_at_start(
    rows: list[Housed],
    walls: Walls,
    curves: StoreCurves,
    outlook: Outlook,
    *,
    gel_kg: FloatArray,
    ages: FloatArray,
    dried: FloatArray,
) -> FloatArray:
    """Water on the gel of each enclosure at the start of the run [kg], shape (enclosures,).

    Parameters
    ----------
    gel_kg : ndarray, shape (enclosures,)
        Dry gel.
    ages : ndarray, shape (enclosures,)
        Days since the last drying, from `days_since_drying`.
    dried : ndarray, shape (enclosures,)
        Water on freshly dried gel. [kg/kg]

    Notes
    -----
    Weighed gel is taken at its weight. Dated gel has taken up water through its wall in the expected weather, in
    implicit steps of five days. Gel that was never dried, or is not known, is in balance with the room.
    """
    weighed = np.array(
        [np.nan if r.enclosure.gel_water_pct is None else r.enclosure.gel_water_pct / 100.0 for r in rows]
    )
    q = dried.copy()
    safe_gel = np.where(gel_kg > 0, gel_kg, np.inf)
    oldest = int(np.nanmax(ages, initial=0.0))
    for back in range(oldest, 0, -STEP_DAYS):
        low = -back - outlook.first_day
        span = slice(low, low + min(STEP_DAYS, back))
        psat, room = float(outlook.psat_pa[span].mean()), float(outlook.room_pa[span].mean())
        temp_c = float(outlook.temp_c[span].mean())
        ln_h, _, per_q = curves.log_activity_terms(q, temp_c)
        over = np.exp(np.minimum(ln_h, 0.0))
        active_s = np.clip(ages - (back - STEP_DAYS), 0.0, min(STEP_DAYS, back)) * 86400.0
        rate = walls.reference_kg_per_s_pa * np.nan_to_num(active_s) / safe_gel
        q = q + rate * (room - psat * over) / (1.0 + rate * psat * over * per_q)
    first = -outlook.first_day
    temp_c = float(outlook.temp_c[first])
    balance = curves.uptake_kg_per_kg(np.full(len(rows), outlook.room_pa[first] / outlook.psat_pa[first]), temp_c)
    q = np.where(np.isnan(ages), balance, q)
    return np.where(np.isnan(weighed), q, weighed) * gel_kg
