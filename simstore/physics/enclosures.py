"""What is known of the inside of many enclosures: the room's air, capacities, conductances and water."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from simstore.physics.air import R_VAPOUR_J_PER_KG_K, saturation_pressure_pa
from simstore.physics.pair import FloatArray


class Curves(Protocol):
    """The isotherms of the gel in each enclosure."""

    def log_activity_terms(
        self, index: NDArray[np.intp] | slice, q: FloatArray, temp_c: float
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Ln of the RH over the gel of the enclosures ``index``, and its derivatives with respect to 1/T [K] and q."""


@dataclass(frozen=True, slots=True)
class Room:
    """Hourly air of the room in the form that the step needs; arrays of shape (hours,).

    Attributes
    ----------
    temp_c : ndarray
        Temperature. [degC]
    activity : ndarray
        Relative humidity as a fraction.
    psat_pa : ndarray
        Saturation vapour pressure. [Pa]
    content_kg_per_m3 : ndarray
        Saturated vapour content. [kg/m3]
    inverse_k : ndarray
        1/T. [1/K]
    """

    temp_c: FloatArray
    activity: FloatArray
    psat_pa: FloatArray
    content_kg_per_m3: FloatArray
    inverse_k: FloatArray

    @classmethod
    def from_hours(cls, temp_c: FloatArray, rh_pct: FloatArray) -> Room:
        """Prepare hourly temperature [degC] and relative humidity [%RH], both of shape (hours,)."""
        temp = np.asarray(temp_c, dtype=np.float64)
        inverse_k = 1.0 / (temp + 273.15)
        psat = saturation_pressure_pa(temp)
        content = psat * inverse_k / R_VAPOUR_J_PER_KG_K
        return cls(temp, np.asarray(rh_pct, dtype=np.float64) / 100.0, psat, content, inverse_k)


@dataclass(slots=True)
class Pairs:
    """What the step needs of each enclosure; arrays of shape (enclosures,) unless said otherwise.

    Attributes
    ----------
    wall_temps_c : ndarray, shape (temperatures,)
        Evenly spaced temperatures at which ``wall_kg_per_s_pa`` is given. [degC]
    wall_kg_per_s_pa : ndarray, shape (temperatures, enclosures)
        Conductance from the room to the inside. [kg/(s Pa)]
    packet_kg_per_s_pa : ndarray
        Conductance from the inside air to the gel; 0 without a packet. [kg/(s Pa)]
    air_m3 : ndarray
        Air inside, with its share of the air between nested layers. [m3]
    packing_kg : ndarray
        Water that packing and objects take up from 0 to 100 %RH. [kg]
    gel_kg : ndarray
        Dry gel; 0 without a packet. [kg]
    source_kg_per_h : ndarray or None
        Water that objects give off into the air; it is added at the start of each step. [kg/h]
    near_kg, water_kg : ndarray
        State: water in air and packing, and in the gel. [kg]
    """

    wall_temps_c: FloatArray
    wall_kg_per_s_pa: FloatArray
    packet_kg_per_s_pa: FloatArray
    air_m3: FloatArray
    packing_kg: FloatArray
    gel_kg: FloatArray
    near_kg: FloatArray
    water_kg: FloatArray
    curves: Curves
    source_kg_per_h: FloatArray | None = None
    ln_h: FloatArray = field(init=False)
    per_inverse_k: FloatArray = field(init=False)
    per_kg: FloatArray = field(init=False)
    inverse_k: FloatArray = field(init=False)

    def __post_init__(self) -> None:
        count = len(self.gel_kg)
        self.ln_h, self.per_inverse_k, self.per_kg, self.inverse_k = (np.zeros(count) for _ in range(4))
        self.refresh(20.0)

    def refresh(self, temp_c: float, index: NDArray[np.intp] | slice = slice(None)) -> None:
        """Make the isotherms linear about the present water of ``index``; needed after water was changed by hand."""
        gel = self.gel_kg[index]
        packed = gel > 0
        safe = np.where(packed, gel, 1.0)
        ln_h, per_inverse_k, per_q = self.curves.log_activity_terms(index, self.water_kg[index] / safe, temp_c)
        self.ln_h[index] = ln_h
        self.per_inverse_k[index] = per_inverse_k
        self.per_kg[index] = np.where(packed, per_q / safe, 0.0)
        self.inverse_k[index] = 1.0 / (temp_c + 273.15)

    def capacity_kg(self, content_kg_per_m3: float) -> FloatArray:
        """Water of air and packing at 100 %RH, at a saturated vapour content [kg/m3]."""
        return self.packing_kg + self.air_m3 * content_kg_per_m3

    def wall_at(self, temp_c: float) -> FloatArray:
        """Conductance of all walls at one temperature, interpolated, shape (enclosures,)."""
        temps = self.wall_temps_c
        position = (temp_c - float(temps[0])) / float(temps[1] - temps[0])
        low = min(max(int(position), 0), len(temps) - 2)
        wall: FloatArray = self.wall_kg_per_s_pa[low + 1] - self.wall_kg_per_s_pa[low]
        wall *= position - low
        wall += self.wall_kg_per_s_pa[low]
        return wall

    def walls_of(self, index: NDArray[np.intp], temp_c: FloatArray) -> FloatArray:
        """Conductance of the walls of ``index``, interpolated in temperature, shape (temperatures, enclosures)."""
        temps = self.wall_temps_c
        position = (temp_c - temps[0]) / (temps[1] - temps[0])
        low = np.minimum(np.maximum(position.astype(np.intp), 0), len(temps) - 2)
        below: FloatArray = self.wall_kg_per_s_pa[low[:, None], index]
        above: FloatArray = self.wall_kg_per_s_pa[low[:, None] + 1, index]
        above -= below
        above *= (position - low)[:, None]
        above += below
        return above

    def gel_activity(self, temp_c: float, index: NDArray[np.intp] | slice = slice(None)) -> FloatArray:
        """Relative humidity over the gel as a fraction; 1 where there is none."""
        shift = 1.0 / (temp_c + 273.15) - self.inverse_k[index]
        ln_h = self.ln_h[index] + self.per_inverse_k[index] * shift
        return np.where(self.gel_kg[index] > 0, np.exp(np.minimum(ln_h, 0.0)), 1.0)


@dataclass(frozen=True, slots=True)
class Trace:
    """What happened over a block of hours.

    Attributes
    ----------
    mean_activity : ndarray, shape (hours, enclosures)
        RH of the inside air as a fraction, mean of each hour.
    end_activity : ndarray, shape (hours or 1, enclosures)
        RH of the inside air as a fraction, at the end of each hour or of the last one only.
    inflow_kg : ndarray, shape (enclosures,)
        Water that came through the wall, less what left.
    """

    mean_activity: FloatArray
    end_activity: FloatArray
    inflow_kg: FloatArray

    def replace(self, columns: NDArray[np.intp], part: Trace) -> None:
        """Put ``part`` in the place of the enclosures ``columns``."""
        self.mean_activity[:, columns] = part.mean_activity
        self.end_activity[:, columns] = part.end_activity[-len(self.end_activity) :]
        self.inflow_kg[columns] = part.inflow_kg
