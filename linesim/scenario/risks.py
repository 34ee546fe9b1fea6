"""What can go wrong or differ: hours, learning, parts, quality, weather, and luck that many aircraft share."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator

from .declared import (
    Above0,
    Amount,
    AtLeastOne,
    Bearing,
    ClockSpan,
    Count,
    Day,
    Declared,
    Factor,
    Hours,
    Moment,
    Name,
    Number,
    Share,
    ShareAbove0,
    Units,
    says,
)
from .plant import Names
from .spread import Spread, SpreadOf


def _months(value: object) -> object:
    """Month numbers 1 to 12 as keys, however they were typed."""
    if not isinstance(value, dict):
        return value
    months = {}
    for key, item in value.items():
        if str(key) not in {str(n) for n in range(1, 13)}:
            raise ValueError(f"{key!r} is not a month 1 to 12")
        months[int(key)] = item
    if len(months) != 12:
        missing = ", ".join(str(n) for n in range(1, 13) if n not in months)
        raise ValueError(f"all twelve months are needed; missing: {missing}")
    return months


ShareByMonth = Annotated[dict[int, Share], BeforeValidator(_months)]
SpanByMonth = Annotated[dict[int, ClockSpan], BeforeValidator(_months)]


class ConfigurationChange(Declared):
    """A change of configuration that takes back part of the learning."""

    serial: Name = says(..., "First serial with it.", names="serial")
    share_reset: Share = says(..., "Share of the learning that is lost.", unit="share")


class Learning(Declared):
    """Hours fall with the unit number."""

    slope: ShareAbove0 = says(..., "Hours left at each doubling of the unit number.", unit="share")
    floor: Factor = says(0.0, "Least factor.", unit="factor")
    curve: Literal["Crawford", "Wright"] = says("Crawford", "Unit curve, or the derivative of the cumulative average.")
    units_before_start: Units = says(0, "Aircraft built before the first serial of the order book.", unit="aircraft")
    hours_stated_at: Name | None = says(None, "Serial at which the file's hours are stated.", names="serial")
    hours_stated_at_unit: AtLeastOne | None = says(None, "Or its unit number.", unit="unit number")
    configuration_changes: tuple[ConfigurationChange, ...] = says((), "Changes that take learning back.")


class WorkTime(Declared):
    """How the hours of one aircraft differ from the standard."""

    spread: SpreadOf = says(Spread("fixed", (1.0,)), "Spread of actual over standard hours, with mean 1.",
                            unit="factor")
    model_factors: dict[Name, Above0] = says(dict, "Hours of a model against the standard.", unit="factor")
    scheme_factors: dict[Name, Above0] = says(dict, "Hours of a scheme against the standard.", unit="factor")
    learning: Learning | None = says(None, "Learning; left out: none.")


class LongLead(Declared):
    """A bought item of which a late one is discovered when the aircraft enters the position."""

    item: Name = says(..., "Item.")
    position: Name = says(..., "Position that needs it.", names="position")
    packages: Names | None = says(None, "Packages that need it; left out: all of the position.", names="package")
    late_chance: Share = says(..., "Share of aircraft for which it is late.", unit="share")
    delay_work_days: SpreadOf = says(..., "How late.", unit="work days")
    counts_from: Literal["arrival", "plan"] = says("arrival", "What the delay counts from.")


class Parts(Declared):
    """Parts that are not there."""

    short_chance: Share = says(0.0, "Chance per aircraft and package that a part is short.", unit="chance")
    delay_work_days: SpreadOf = says(Spread("fixed", (0.0,)), "Until a short part comes.", unit="work days")
    long_lead: tuple[LongLead, ...] = says((), "Long-lead items.")


class WhereFound(Declared):
    """What a repair costs by where the defect is found, against its own position."""

    own_position: Factor = says(1.0, "Found in its own position.", unit="factor")
    later_position: Factor = says(1.0, "Found in a later position.", unit="factor")
    after_close_up: Factor = says(1.0, "Found after panels are closed.", unit="factor")
    flight_line: Factor = says(1.0, "Found on the flight line.", unit="factor")


class Engineering(Declared):
    """What a gate finds may need an answer by engineering before it is mended."""

    chance: Share = says(..., "Chance per rework package.", unit="chance")
    work_days: SpreadOf = says(..., "Until the answer.", unit="work days")


class Quality(Declared):
    """Defects planted by work and found by gates."""

    defects_per_100_hours: Factor = says(..., "Defects planted.", unit="defects per 100 labour hours")
    learning_slope: ShareAbove0 | None = says(None, "Defects left at each doubling of the unit number.", unit="share")
    dial: Factor = says(1.0, "Multiplies defects.", unit="factor")
    travelled_multiplier: Factor = says(1.0, "Defects per hour of travelled work.", unit="factor")
    overtime_multiplier: Factor = says(1.0, "Defects per hour of overtime.", unit="factor")
    found_in_position: Share = says(0.0, "Chance that a position buy-off finds a defect.", unit="share")
    found_end_of_line: Share = says(0.0, "Chance that the end-of-line inspection finds it.", unit="share")
    found_avionics_check: Share = says(0.0, "Chance that the avionics check finds an avionics defect.", unit="share")
    repair_hours: SpreadOf = says(..., "Repair of one defect.", unit="labour hours")
    where_found: WhereFound | None = says(None, "Price of a late find.")
    second_round_chance: Share = says(0.0, "Chance that a repair is not accepted.", unit="share")
    engineering: Engineering | None = says(None, "Answers by engineering; left out: none is needed.")
    gates_left_out: tuple[Literal["position", "end of line", "avionics check"], ...] = says(
        (), "Gates that find nothing: to see what a gate is worth. The squawks of the file are those with all gates.")


class Limits(Declared):
    """Flight limits of the plant; never below the rule's floor."""

    rules: Name = says("day VFR", "Rule that gives the floor.")
    ceiling_ft: Amount | None = says(None, "Lowest ceiling.", unit="feet")
    visibility_sm: Factor | None = says(None, "Least visibility.", unit="statute miles")
    wind_kt: Factor | None = says(None, "Most wind.", unit="knots")
    crosswind_kt: Factor | None = says(None, "Most crosswind.", unit="knots")


class HourlyWeather(Declared):
    """What was observed in one clock hour. What a column lacks in every hour is not looked at."""

    at: Moment = says(..., "Time of the observation: it counts for the clock hour that it lies in.",
                      unit="date and clock time", alias="time")
    ceiling_ft: Amount | None = says(None, "Ceiling above the ground; left out: none.", unit="feet")
    visibility_sm: Factor | None = says(None, "Visibility; left out: not known, and not flyable.",
                                        unit="statute miles")
    wind_kt: Factor | None = says(None, "Wind; left out: not known, and not flyable.", unit="knots")
    gust_kt: Factor | None = says(None, "Gusts; left out: none.", unit="knots")
    wind_deg: Bearing | None = says(None, "Where the wind comes from; left out: any direction.", unit="degrees")


class Weather(Declared):
    """Which days can be flown."""

    flyable_share_by_month: ShareByMonth | None = says(None, "Share of calendar days that can be flown, by month.",
                                                       unit="share")
    day_to_day_correlation: Share | None = says(None, "Correlation of neighbouring days.", unit="correlation")
    bad_after_bad: ShareByMonth | None = says(None, "Chance of a bad day after a bad one, by month, instead of the "
                                                    "correlation.", unit="chance")
    hourly: tuple[HourlyWeather, ...] = says(
        (), "Observations hour by hour, instead of the monthly table: of the run's own dates, or of whole years, of "
            "which each year of a run draws one.")
    runway_deg: Bearing | None = says(None, "Runway direction for the crosswind.", unit="degrees")
    limits: Limits | None = says(None, "Flight limits.")


class Daylight(Declared):
    """When it is light: a table by month, or the sun at the site."""

    rule: Literal["sunrise to sunset", "civil twilight"] = says("sunrise to sunset", "What counts as daylight.")
    by_month: SpanByMonth | None = says(None, "First and last light by month.", unit="clock times")


class SupplierSpell(Declared):
    """A bad time of a supplier: inside it this share is short."""

    item: Name = says(..., "Long-lead item, or `parts` for every package's own shortage.", names="long-lead item/parts")
    day: Day = says(..., "First day.", unit="date", alias="from")
    days: Number = says(..., "Length.", unit="calendar days")
    share: Share = says(..., "Share short inside it.", unit="share")


class CommonLuck(Declared):
    """Luck that hits many aircraft at once, drawn once for all of them."""

    supplier_spells: tuple[SupplierSpell, ...] = says((), "Bad times of suppliers.")
    squawk_level_cv: Factor = says(0.0, "Spread of a quarter's squawk level about 1.", unit="coefficient of variation")
    sickness_waves_per_year: Factor = says(0.0, "Waves of sickness.", unit="waves a year")
    sickness_wave_factor: Factor = says(1.0, "Absence inside a wave against normal.", unit="factor")
    sickness_wave_days: Count = says(0, "Length of a wave.", unit="calendar days")
    weather_year_cv: Factor = says(0.0, "Spread of a year's share of bad days.", unit="coefficient of variation")


class FleetHold(Declared):
    """Engineering holds named aircraft until an inspection is closed."""

    day: Day = says(..., "From 00:00 of this date.", unit="date", alias="from")
    serials: Names = says(..., "Serials.", names="serial")
    trade: Name = says("INS", "Trade of the inspection.", names="trade")
    hours: Hours = says(..., "The inspection.", unit="labour hours")
