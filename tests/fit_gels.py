"""Fits the narrow-pore gels of simstore to measured points; run it to see the table and how far each point is off.

    python tests/fit_gels.py

The points are in `measured_gels.csv`, typed from their sources. Each gel gets a curve of its own, two Dubinin-Astakhov
terms fitted to the logarithm of its water at 15 degC and warmer, against the adsorption potential -R T ln h. At each
humidity of the table the *middle* gel is the geometric mean of the five curves, the *weak* one the lowest and the
*strong* one the highest. Not all five are measured everywhere:

- below 5 %RH two are (Wang and LeVan, Sapienza): the middle is their mean, lowered to join the mean of five at 5 %RH,
  and the weak and strong gels keep their share of it;
- above 45 %RH Sapienza's is not: the other four carry on, joined in the same way.

The gel of Sakoda and Suzuki (three points) and the isotherm of Wang and LeVan at 0 degC are not fitted; they are there
to compare. Polanyi's rule carries the points to 25 degC. The sources lie on either side of it: on the points of
Sapienza alone the potential of the same water rises by 0.2 % a kelvin, on those of Wang and LeVan it falls by as much.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from simstore.physics.air import GAS_CONSTANT_J_PER_MOL_K, kelvin, saturation_pressure_pa

FloatArray = NDArray[np.float64]
POINTS_FILE = Path(__file__).with_name("measured_gels.csv")
FIVE = ("wang_levan", "thu_636", "thu_769", "thu_837", "sapienza")
DRY = ("wang_levan", "sapienza")
WET = ("wang_levan", "thu_636", "thu_769", "thu_837")
DRY_BELOW_PCT, WET_ABOVE_PCT = 5.0, 45.0
COLDEST_FITTED_C = 15.0
TABLE_C = 25.0
TABLE_RH_PCT = (
    0.1, 0.2, 0.5, 1, 2, 3, 5, 7.5, 10, 12.5, 15, 17.5, 20, 22.5, 25, 27.5, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90,
    100,
)  # fmt: skip
# Two terms: water [kg/kg], energy [J/mol] and exponent of each.
START = (0.2, 2500.0, 2.0, 0.2, 5000.0, 0.9)


class Point(NamedTuple):
    """One measured point: water in equilibrium with air of a relative humidity."""

    gel: str
    branch: str
    temp_c: float
    rh_pct: float
    kg_per_kg: float


def measured(gel: str = "", branch: str = "adsorption") -> list[Point]:
    """Points of one gel, or of all, on one branch."""
    with POINTS_FILE.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["branch"] == branch and gel in ("", row["gel"])]
    points = []
    for row in rows:
        temp_c = float(row["temp_c"])
        rh_pct = row["rh_pct"] or 100.0 * float(row["vapour_pa"]) / float(saturation_pressure_pa(temp_c))
        points.append(Point(row["gel"], row["branch"], temp_c, float(rh_pct), float(row["kg_per_kg"])))
    return points


def potential_j_per_mol(rh_pct: FloatArray, temp_c: FloatArray | float) -> FloatArray:
    return np.asarray(-GAS_CONSTANT_J_PER_MOL_K * kelvin(temp_c) * np.log(rh_pct / 100.0))


def two_terms(constants: FloatArray, potential: FloatArray) -> FloatArray:
    """Water of two Dubinin-Astakhov terms; the constants are logarithms, so that they stay above 0. [kg/kg]."""
    first, first_j, first_n, second, second_j, second_n = np.exp(constants)
    one = first * np.exp(-((potential / first_j) ** first_n))
    return np.asarray(one + second * np.exp(-((potential / second_j) ** second_n)))


def fitted(gel: str) -> Callable[[FloatArray], FloatArray]:
    """Curve of one gel through its own points: water against the potential."""
    points = [one for one in measured(gel) if one.temp_c >= COLDEST_FITTED_C]
    potential = np.array([float(potential_j_per_mol(np.array(one.rh_pct), one.temp_c)) for one in points])
    water = np.array([one.kg_per_kg for one in points])
    best = least_squares(
        lambda constants: np.log(two_terms(constants, potential) / water), np.log(START), max_nfev=5000, xtol=1e-12
    )
    return lambda at: two_terms(best.x, at)


def table() -> FloatArray:
    """Rows of %RH, then water of the weak, the middle and the strong gel [kg/kg], to four places."""
    rh = np.array(TABLE_RH_PCT)
    at = np.maximum(potential_j_per_mol(rh, TABLE_C), 0.0)
    of = {gel: fitted(gel)(at) for gel in FIVE}

    def mean(gels: tuple[str, ...]) -> FloatArray:
        return np.asarray(np.exp(np.mean([np.log(of[gel]) for gel in gels], axis=0)))

    middle = mean(FIVE)
    for gels, edge_pct, there in ((DRY, DRY_BELOW_PCT, rh < DRY_BELOW_PCT), (WET, WET_ABOVE_PCT, rh > WET_ABOVE_PCT)):
        edge = TABLE_RH_PCT.index(edge_pct)
        middle[there] = mean(gels)[there] * middle[edge] / mean(gels)[edge]
    five, wet = np.array([of[gel] for gel in FIVE]), np.array([of[gel] for gel in WET])
    weak = np.where(rh > WET_ABOVE_PCT, wet.min(axis=0), five.min(axis=0))
    strong = np.where(rh > WET_ABOVE_PCT, wet.max(axis=0), five.max(axis=0))
    edge, dry = TABLE_RH_PCT.index(DRY_BELOW_PCT), rh < DRY_BELOW_PCT
    for end in (weak, strong):
        end[dry] = middle[dry] * end[edge] / middle[edge]
    return np.column_stack((rh, *(np.round(each, 4) for each in (weak, middle, strong))))


def main() -> None:
    """Print the table as it stands in `simstore/physics/narrow_pore.py`, and the measured points against it."""
    from simstore.physics.sorption import Tabulated

    rows = table()
    for rh_pct, *water in rows:
        print(f"    ({rh_pct:g}, {', '.join(f'{each:.4f}' for each in water)}),")
    weak, middle, strong = (Tabulated(TABLE_C, rows[:, 0] / 100.0, rows[:, column]) for column in (1, 2, 3))
    print("\ngel          degC    %RH   water   over weak  over middle  over strong")
    for one in measured():
        over = [
            one.kg_per_kg / float(g.uptake_kg_per_kg(one.rh_pct / 100.0, one.temp_c)) for g in (weak, middle, strong)
        ]
        said = "".join(f"{each:11.3f}" for each in over)
        print(f"{one.gel:11s}{one.temp_c:6.1f}{one.rh_pct:7.2f}{one.kg_per_kg:8.4f}{said}")


if __name__ == "__main__":
    main()
