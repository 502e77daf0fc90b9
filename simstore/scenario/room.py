"""Where the room's hourly temperature and humidity come from."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simstore.scenario.fields import NotNegative, Value


class Climate(Value):
    """Hourly air of the store room."""

    source: Literal["seasonal", "logger", "epw", "tmy3"] = "seasonal"
    file: str | None = Field(default=None, description="CSV, EPW or TMY3 file of the room, relative to the scenario")
    gaps: Literal["refuse", "previous", "interpolate"] = Field(
        default="refuse", description="what to do about missing hours"
    )
    temp_mean_c: float = Field(default=16.0, ge=-20, le=45)
    temp_swing_c: float = Field(default=4.0, ge=0, le=30, description="half of summer minus winter")
    temp_peak_day: float = Field(default=205.0, ge=0, le=366, description="warmest day of the year, 1 for 1 January")
    temp_noise_c: NotNegative = Field(
        default=0.8, le=10, description="standard deviation of the weather about the season"
    )
    rh_mean_pct: float = Field(default=58.0, ge=0, le=100)
    rh_swing_pct: float = Field(default=10.0, ge=0, le=50)
    rh_peak_day: float = Field(default=250.0, ge=0, le=366, description="dampest day of the year")
    rh_noise_pct: NotNegative = Field(default=4.0, le=30)
    noise_h: float = Field(default=72.0, gt=0, le=2000, description="correlation time of the weather")
    shift_c: float = Field(default=0.0, ge=-10, le=10, description="added to every hour")
    shift_rh_pct: float = Field(default=0.0, ge=-50, le=50)
