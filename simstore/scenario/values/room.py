"""Where the room's hourly temperature and humidity come from."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simstore.scenario.values.fields import NotNegative, Positive, Value


class RoomModel(Value):
    """A room whose air follows from outdoor weather; then the climate's file is that of the weather."""

    volume_m3: Positive = Field(le=1_000_000, description="air in the room")
    air_changes_per_h: Positive = Field(default=0.3, le=50, description="with outdoor air")
    lag_h: Positive = Field(default=24.0, le=2000, description="time constant of the room's temperature")
    gain_c: float = Field(default=0.0, ge=-20, le=30, description="mean excess over outdoors: sun, ground, lights")
    heat_to_c: float = Field(default=-40.0, ge=-40, le=30, description="heating keeps it above this; -40 for none")
    moisture_gain_g_per_h: float = Field(default=0.0, ge=0, le=100_000, description="people, ground, wet finds")
    moisture_ratio: float = Field(default=3.0, ge=1, le=100, description="water held by room and fabric over air alone")
    dehumidify_to_pct: float = Field(default=100.0, ge=0, le=100, description="set point; 100 for no dehumidifier")
    dehumidifier_kg_per_day: NotNegative = Field(default=0.0, le=10_000, description="its capacity")
    humidify_to_pct: float = Field(default=0.0, ge=0, le=100, description="set point; 0 for no humidifier")


class Climate(Value):
    """Hourly air of the store room."""

    source: Literal["seasonal", "logger", "epw", "tmy3"] = Field(
        default="seasonal", description="seasons made from the figures below, or a file of hourly air"
    )
    file: str | None = Field(default=None, description="CSV, EPW or TMY3 file of the room, relative to the scenario")
    gaps: Literal["refuse", "previous", "interpolate"] = Field(
        default="refuse", description="what to do about missing hours"
    )
    temp_mean_c: float = Field(default=16.0, ge=-20, le=45, description="mean temperature of the year")
    temp_swing_c: float = Field(default=4.0, ge=0, le=30, description="half of summer minus winter")
    temp_peak_day: float = Field(default=205.0, ge=0, le=366, description="warmest day of the year, 1 for 1 January")
    temp_noise_c: NotNegative = Field(
        default=0.8, le=10, description="standard deviation of the weather about the season"
    )
    rh_mean_pct: float = Field(default=58.0, ge=0, le=100, description="mean relative humidity of the year")
    rh_swing_pct: float = Field(default=10.0, ge=0, le=50, description="half of dampest minus driest season")
    rh_peak_day: float = Field(default=250.0, ge=0, le=366, description="dampest day of the year")
    rh_noise_pct: NotNegative = Field(
        default=4.0, le=30, description="standard deviation of the weather about the season"
    )
    noise_h: float = Field(default=72.0, gt=0, le=2000, description="correlation time of the weather")
    room: RoomModel | None = Field(default=None, description="make the room's air from outdoor weather")
    year_sd_c: NotNegative = Field(default=0.0, le=10, description="standard deviation of one year's mean temperature")
    year_sd_rh_pct: NotNegative = Field(default=0.0, le=30, description="standard deviation of a year's mean RH")
    resample_years: bool = Field(
        default=False, description="measured air of several years: each simulated year takes one of them by lot"
    )
    shift_c: float = Field(default=0.0, ge=-10, le=10, description="added to every hour")
    shift_rh_pct: float = Field(default=0.0, ge=-50, le=50, description="added to the RH of every hour")
