"""The scenario: what the plant is and what is asked of it. Frozen; a change makes a new one."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from .declared import WEEKDAYS, AtLeastOne, Day, Declared, Name, Weekday, Whole, YesNo, says
from .known import Known
from .orders import Comparison, Launches, Money, OnTheLine, Order, OrderChanges, Plan, Pulse, Stock
from .people import Attendance, Shift, ToolControl, Trade, WorkRules
from .plant import ALL_WEEKDAYS, Position
from .risks import CommonLuck, Daylight, FleetHold, Parts, Quality, Weather, WorkTime

LATITUDE = 90.0
LONGITUDE = 180.0


def _closed(value: object) -> object:
    """A list of dates, or dates with the name of the day."""
    if isinstance(value, list) and all(isinstance(day, str | date) for day in value):
        return dict.fromkeys(value, "")
    if not isinstance(value, dict):
        raise ValueError("must be dates, each alone in a list or with the name of the day")
    return value


def _orders(value: object) -> object:
    if value is None:  # an empty field must not turn into unlimited orders
        raise ValueError("must be a list of orders, a table, or `unlimited`")
    return None if value == "unlimited" else value


class Window(Declared):
    """The dates over which rates, loads and comparisons are read."""

    first: Day = says(..., "First day.", unit="date", alias="from")
    last: Day = says(..., "Last day.", unit="date", alias="to")


class Site(Declared):
    """Where the plant stands, for daylight."""

    latitude: Annotated[float, Field(strict=True)] = says(..., "North positive.", unit="degrees",
                                                              ge=-LATITUDE, le=LATITUDE)
    longitude: Annotated[float, Field(strict=True)] = says(..., "East positive.", unit="degrees",
                                                               ge=-LONGITUDE, le=LONGITUDE)


class Calendar(Declared):
    """Work days: listed weekdays that are not closed."""

    work_weekdays: tuple[Weekday, ...] | None = says(
        None, f"Work days; left out: {ALL_WEEKDAYS[0]} to {ALL_WEEKDAYS[-1]}, or every day if no shifts are declared.")
    closed: Annotated[dict[Day, str], BeforeValidator(_closed)] = says(dict, "Closed dates, with their names.",
                                                                       unit="date")


class Scenario(Declared):
    """One plant, what is asked of it, and how it is run."""

    name: Name = says(..., "Name of the scenario.")
    about: str = says("", "What it covers and the situation, in plain words.")
    invented: YesNo = says(False, "The data are invented: said wherever results are shown.")
    assumed: tuple[str, ...] = says((), "Inputs that are assumed and not from the plant's records.")
    start: Day = says(..., "First day, from 00:00.", unit="date")
    end: Day = says(..., "Last day, to 24:00.", unit="date")
    run_on_months: Whole = says(0, "Months the run goes on after the end, without launches.", unit="calendar months")
    window: Window | None = says(None, "Dates over which rates are read; left out: start to end.")
    runs: AtLeastOne = says(200, "Runs when the command names no number.", unit="runs")
    seed: Whole = says(1, "Seed of all luck.")
    time_zone: Name | None = says(None, "Time zone; left out: every day has 24 hours.", unit="name of a time zone")
    site: Site | None = says(None, "Where the plant stands.")
    calendar: Calendar = says(Calendar, "Work days.")
    shifts: dict[Name, Shift] = says(dict, "Shifts; the first is the reference shift. Left out: round the clock.")
    trades: dict[Name, Trade] = says(dict, "Trades and their people.")
    work_rules: WorkRules = says(WorkRules, "How people are given work and aircraft move.")
    attendance: Attendance | None = says(None, "What keeps people from work.")
    tool_control: ToolControl | None = says(None, "Tool checks.")
    work_time: WorkTime = says(WorkTime, "How hours vary.")
    parts: Parts | None = says(None, "Missing parts.")
    quality: Quality | None = says(None, "Defects and gates.")
    positions: tuple[Position, ...] = says(..., "The places, in order of flow.", min_length=1)
    weather: Weather | None = says(None, "Days that can be flown; left out: all.")
    daylight: Daylight | None = says(None, "When it is light; left out: sunrise to sunset at the site, or always.")
    launches: Launches = says(..., "When aircraft are launched.")
    plans: tuple[Plan, ...] = says((), "Rate plans to choose from.")
    pulse: Pulse | None = says(None, "A pulse line.")
    orders: Annotated[tuple[Order, ...] | None, BeforeValidator(_orders)] = says(
        ..., "The order book, or `unlimited`.")
    order_changes: OrderChanges | None = says(None, "Orders that are cancelled, deferred or swapped.")
    stock: Stock = says(Stock, "What is launched after the last order.")
    on_the_line: tuple[OnTheLine, ...] = says((), "Aircraft on the floor at the start.")
    fleet_holds: tuple[FleetHold, ...] = says((), "Holds by engineering.")
    common_luck: CommonLuck | None = says(None, "Luck that many aircraft share.")
    money: Money | None = says(None, "Prices and costs.")
    comparisons: tuple[Comparison, ...] = says((), "Named changes to compare.")
    known: Known = says(Known, "Facts instead of draws.")
    language: Literal[1] = says(1, "Version of this language.")

    @property
    def work_weekdays(self) -> tuple[str, ...]:
        """Weekdays that are worked."""
        return self.calendar.work_weekdays or (ALL_WEEKDAYS if self.shifts else WEEKDAYS)
