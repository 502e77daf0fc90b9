"""Every table of the results with its columns, types and units; this is also their manual."""

from __future__ import annotations

from typing import Final, NamedTuple


class Column(NamedTuple):
    """One column: name, pandas type, unit ("-" for none), meaning."""

    name: str
    dtype: str
    unit: str
    meaning: str


_RUN: Final = (
    Column("plan", "str", "-", "name of the plan"),
    Column("replication", "int64", "-", "replication, from 0"),
)

TABLES: Final[dict[str, tuple[Column, ...]]] = {
    "enclosures": (
        *_RUN,
        Column("enclosure", "str", "-", "id in the register"),
        Column("kind", "str", "-", "kind of enclosure as housed under the plan"),
        Column("metal", "str", "-", "metal class"),
        Column("objects", "int64", "-", "objects inside"),
        Column("days", "int64", "d", "days on which they were in the store"),
        Column("leak_per_day", "float64", "1/d", "air changes a day of the innermost layer, as drawn"),
        Column("held_pct", "float64", "%", "share of these days with the mean RH at or under the ceiling"),
        Column("hours_over", "int64", "h", "hours whose mean RH was over the ceiling"),
        Column("hours_liquid", "int64", "h", "hours at whose end liquid water stood inside"),
        Column("excess_pct_days", "float64", "%RH d", "integral of RH over the ceiling"),
        Column("worst_rh_pct", "float64", "%RH", "highest hourly mean"),
        Column("mean_rh_pct", "float64", "%RH", "mean over the run"),
        Column("exchanges", "int64", "-", "packet changes"),
    ),
    "weeks": (
        *_RUN,
        Column("enclosure", "str", "-", "id in the register; weeks under the ceiling throughout have no row"),
        Column("week", "int64", "-", "week of the run, from 0"),
        Column("hours_over", "int64", "h", "hours of it whose mean RH was over the ceiling, 168 at most"),
    ),
    "days": (
        *_RUN,
        Column("day", "int64", "d", "day of the run, from 0"),
        Column("date", "str", "-", "date, year-month-day"),
        Column("metal", "str", "-", "metal class"),
        Column("form", "str", "-", "box or bag"),
        Column("enclosures", "int64", "-", "enclosures in the store on that day"),
        Column("rh_p05_pct", "float64", "%RH", "5 % of enclosures have a lower daily mean"),
        Column("rh_p25_pct", "float64", "%RH", "25 %"),
        Column("rh_p50_pct", "float64", "%RH", "median"),
        Column("rh_p75_pct", "float64", "%RH", "75 %"),
        Column("rh_p95_pct", "float64", "%RH", "95 %"),
        Column("over_pct", "float64", "%", "share of objects whose daily mean is over the ceiling"),
        Column("room_rh_pct", "float64", "%RH", "daily mean of the room"),
        Column("room_temp_c", "float64", "degC", "daily mean of the room"),
    ),
    "rounds": (
        *_RUN,
        Column("started_min", "int64", "min", "minutes since the run's first midnight"),
        Column("ended_min", "Int64", "min", "empty if the run ended first"),
        Column("technician", "str", "-", "who began it"),
        Column("due", "int64", "-", "enclosures to be read"),
        Column("inspected", "int64", "-", "enclosures read"),
        Column("called", "int64", "-", "judged spent"),
        Column("truly_over", "int64", "-", "over their ceiling when read"),
    ),
    "exchanges": (
        *_RUN,
        Column("minute", "int64", "min", "minutes since the run's first midnight"),
        Column("date", "str", "-", "date, year-month-day"),
        Column("enclosure", "str", "-", "id in the register"),
        Column("technician", "str", "-", "who did it"),
        Column("packet", "str", "-", "sort of packet"),
        Column("packets", "int64", "-", "packets changed"),
        Column("reason", "str", "-", "why it was due"),
        Column("waited_days", "float64", "d", "from due to done"),
        Column("rh_before_pct", "float64", "%RH", "inside, just before opening"),
        Column("water_out_pct", "float64", "% of dry gel", "water of the packet taken out"),
        Column("water_in_pct", "float64", "% of dry gel", "water of the packet put in"),
    ),
    "loads": (
        *_RUN,
        Column("oven", "str", "-", "oven"),
        Column("technician", "str", "-", "who loaded it"),
        Column("loaded_min", "int64", "min", "heating began"),
        Column("hot_min", "Int64", "min", "heat off"),
        Column("cool_min", "Int64", "min", "cool enough to pack"),
        Column("unloaded_min", "Int64", "min", "oven empty again"),
        Column("packets", "int64", "-", "packets in the load"),
        Column("gel_kg", "float64", "kg", "dry gel in the load"),
        Column("water_in_kg", "float64", "kg", "water in the load"),
        Column("water_out_kg", "Float64", "kg", "water left in it"),
        Column("energy_kwh", "float64", "kWh", "electricity"),
    ),
    "stock": (
        *_RUN,
        Column("day", "int64", "d", "end of this day of the run"),
        Column("packet", "str", "-", "sort of packet"),
        Column("ready", "int64", "-", "dry packets in sealed containers"),
        Column("spent", "int64", "-", "wet packets waiting"),
        Column("in_oven", "int64", "-", "packets in ovens"),
        Column("in_enclosures", "int64", "-", "packets in use"),
        Column("on_order", "int64", "-", "packets ordered and not yet here"),
        Column("discarded", "int64", "-", "packets thrown away so far"),
        Column("gel_kg", "float64", "kg", "dry gel in all of these"),
        Column("lost_kg", "float64", "kg", "dry gel that has become waste so far: dust, spillage, thrown away"),
    ),
    "staff": (
        *_RUN,
        Column("session_min", "int64", "min", "start of the session"),
        Column("date", "str", "-", "date, year-month-day"),
        Column("technician", "str", "-", "who"),
        Column("task", "str", "-", "what; idle is the rest of the session"),
        Column("minutes", "int64", "min", "time spent"),
    ),
    "orders": (
        *_RUN,
        Column("ordered_min", "int64", "min", "minutes since the run's first midnight"),
        Column("date", "str", "-", "date of the order"),
        Column("arrived_min", "Int64", "min", "empty if the run ended first"),
        Column("packet", "str", "-", "sort of packet"),
        Column("packets", "int64", "-", "quantity"),
        Column("gel_kg", "float64", "kg", "dry gel in it"),
        Column("price", "float64", "currency", "price paid"),
    ),
    "costs": (
        *_RUN,
        Column("line", "str", "-", "what the money goes on"),
        Column("sort", "str", "-", "running (this run's spending) or capital (annual equivalent)"),
        Column("quantity", "float64", "-", "of the unit; running: per year of the run, capital: in all"),
        Column("unit", "str", "-", "what is counted"),
        Column("price", "float64", "currency", "of one unit; of what is bought: mean of the prices paid"),
        Column("life_years", "Float64", "a", "life over which capital is written off; empty for running costs"),
        Column("amount_per_year", "float64", "currency/a", "per year of the run, rounded to the cent"),
    ),
    "undone": (
        *_RUN,
        Column("task", "str", "-", "work still waiting at the end"),
        Column("subject", "str", "-", "enclosure or oven"),
        Column("due_min", "int64", "min", "when it became due"),
    ),
    "balance": (
        *_RUN,
        Column("book", "str", "-", "gel (dry) or water"),
        Column("entry", "str", "-", "start, what came in (above 0) and went out (below 0), end"),
        Column("kg", "float64", "kg", "over the run, in the whole store: enclosures, stock and ovens"),
    ),
    "fill_rule": (
        *_RUN,
        Column("kind", "str", "-", "kind of enclosure, at the end of the run"),
        Column("metal", "str", "-", "metal class"),
        Column("enclosures", "int64", "-", "how many of both"),
        Column("empty_m3", "float64", "m3", "empty volume of one, mean"),
        Column("rule_kg", "float64", "kg", "gel in one if it fills a third of the empty volume, as is common practice"),
        Column("filled_kg", "float64", "kg", "gel in one as the scenario fills it, mean"),
        Column("need_p50_kg", "float64", "kg", "gel that takes a year's leak up to the ceiling; half need less"),
        Column("need_p95_kg", "float64", "kg", "the same; 95 % need less"),
        Column("exchanges_per_year", "float64", "1/a", "packet changes of one in a year"),
        Column("held_pct", "float64", "%", "share of object-days held"),
    ),
    "mishaps": (
        *_RUN,
        Column("what", "str", "-", "enclosure or oven"),
        Column("subject", "str", "-", "id of the enclosure, or name of the oven"),
        Column("minute", "int64", "min", "when it failed"),
        Column("date", "str", "-", "date, year-month-day"),
        Column("mended_min", "Int64", "min", "when it was in order again; empty if the run ended first"),
        Column("cost", "float64", "currency", "price of the repair or replacement"),
    ),
    "watched": (
        *_RUN,
        Column("enclosure", "str", "-", "id of an enclosure that the scenario watches"),
        Column("hour", "int64", "h", "hour of the run, from 0"),
        Column("rh_pct", "float64", "%RH", "inside, mean of the hour; empty before it arrived"),
    ),
    "summary": (
        *_RUN,
        Column("metric", "str", "-", "what; a metal class or task follows after a dot"),
        Column("unit", "str", "-", "unit of the value"),
        Column("value", "float64", "-", "value"),
    ),
}
"""Tables by name; the name is also the file's."""
