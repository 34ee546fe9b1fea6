"""What is asked of the plant: the rate plan, the order book, the floor at the start, the money."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator

from .declared import (
    Above0,
    Amount,
    Count,
    Day,
    Days,
    Declared,
    Factor,
    Hours,
    Moment,
    Name,
    Number,
    Share,
    YesNo,
    says,
)
from .plant import Names
from .spread import Spread, SpreadOf


class TaktStep(Declared):
    """A dated change of the takt."""

    day: Day = says(..., "From this date on.", unit="date", alias="from")
    takt_work_days: Above0 = says(..., "Takt from then on; halves allowed.", unit="work days")


class Launches(Declared):
    """When aircraft are launched: by takt, at listed moments, at random, or whenever the first place is free."""

    takt_work_days: Above0 | None = says(None, "Planned interval between launches.", unit="work days")
    steps: tuple[TaktStep, ...] = says((), "Dated changes of the takt.")
    first: Moment | None = says(None, "Not before this; left out: the start.", unit="date and clock time")
    moments: tuple[Moment, ...] | None = says(None, "Planned moments, one for each order not yet on the line.",
                                              unit="date and clock time")
    between_hours: SpreadOf | None = says(None, "Time between planned launches, day and night.", unit="elapsed hours")
    saturated: YesNo = says(False, "An aircraft is launched whenever the first place is free.")
    launch_dates: Literal["ignore", "hold"] = says("ignore", "Whether an order's own launch date holds it back.")
    most_on_line: Number | None = says(None, "Launch cap: most aircraft from launch until they leave "
                                                 "`most_on_line_until`.", unit="aircraft")
    most_on_line_until: Name | None = says(None, "Position whose leaving ends the count; left out: roll-out.",
                                           names="position")


class Plan(Declared):
    """A rate plan by name, to be chosen instead of the launches above."""

    name: Name = says(..., "Name.")
    steps: tuple[TaktStep, ...] = says((), "Its dated changes of the takt.")


class Pulse(Declared):
    """A pulse line: its positions all move at once."""

    positions: Names = says(..., "Positions of the line, one dock each.", names="position")
    in_force: YesNo = says(True, "The line moves by the pulse; else in free flow.")
    takt_work_days: Above0 | None = says(None, "The pulse interval is the takt: a second value must agree with it.",
                                         unit="work days")
    first: Moment | None = says(None, "First pulse; left out: first launch.", unit="date and clock time")
    stops: Literal["whole line", "those behind"] = says("whole line", "Who stands when one aircraft may not move.")
    after_stop: Literal["takt starts anew", "keep the plan"] = says("takt starts anew", "Next pulse after a stop.")
    decide_hours_before: Hours = says(0.0, "So long before the pulse is unfinished work let go.", unit="working hours")
    roll_out: Literal["when closed", "on the pulse"] = says("when closed", "When the last position is left.")
    travel_max_share: Share = says(0.0, "Most of a position's hours that may travel.", unit="share")
    travel_multiplier: Factor = says(1.0, "Price of travelled hours.", unit="factor")


class Order(Declared):
    """One ordered aircraft."""

    serial: Name = says(..., "Serial.")
    model: Name | None = says(None, "Model.")
    scheme: Name | None = says(None, "Paint scheme.")
    promised: Day | None = says(None, "Promised date; left out: none.", unit="date")
    launch: Day | None = says(None, "Customer's view of the launch date.", unit="date")
    customer: Name | None = says(None, "Kind of customer.")
    price_usd: Amount | None = says(None, "Price.", unit="USD")
    deposit_usd: Amount | None = says(None, "Deposit.", unit="USD")


class Stock(Declared):
    """What is launched when the order book is at its end."""

    unsold_slots: Literal["build", "hold"] = says("hold", "Build for stock, or hold the launch.")
    model: Name | None = says(None, "Model of stock aircraft.", names="model")
    scheme: Name | None = says(None, "Scheme of stock aircraft.", names="scheme")


class OrderChange(Declared):
    """What happens to one order at a date, if it is not launched by then."""

    day: Day = says(..., "At 00:00 of this date.", unit="date", alias="date")
    serial: Name = says(..., "Serial.", names="serial")
    cancelled: YesNo = says(False, "It is cancelled.")
    deferred_days: Number | None = says(None, "It is launched, and promised, so much later.", unit="calendar days")
    swapped_with: Name | None = says(None, "It changes place in the order book, and promised date, with this one.",
                                     names="serial")


class OrderChanges(Declared):
    """Orders that move before their launch: by chance at the first of each month, or at a date."""

    cancel_chance: Share = says(0.0, "Chance that an order is cancelled.", unit="chance a month")
    defer_chance: Share = says(0.0, "Chance that an order is deferred.", unit="chance a month")
    defer_days: SpreadOf = says(Spread("fixed", (30.0,)), "How far it is deferred; whole days, rounded.",
                                unit="calendar days")
    swap_chance: Share = says(0.0, "Chance that an order changes place and promised date with the next in the book.",
                              unit="chance a month")
    cancelled: Literal["resold", "built for stock"] = says("resold", "What becomes of the serial of a cancelled order.")
    resold_after_work_days: Days = says(20.0, "Until it is sold again; it then is the last of the book, without a "
                                              "promised date.", unit="work days")
    stated: tuple[OrderChange, ...] = says((), "Changes that are known.")


class OpenSquawk(Declared):
    """A squawk open at the start."""

    trade: Name = says(..., "Trade that fixes it.", names="trade")
    hours: Hours = says(..., "Work left.", unit="labour hours")
    grounding: YesNo = says(False, "Must be fixed before the next flight.")
    needs_reflight: YesNo = says(False, "Needs a re-flight.")
    part_due: Day | None = says(None, "Its part comes at the start of this date's reference shift.", unit="date")


class Curing(Declared):
    """A cure under way at the start."""

    package: Name = says(..., "Step whose work is done.", names="package")
    until: Moment = says(..., "End of its cure.", unit="date and clock time")


def _places(value: object) -> object:
    return (value,) if isinstance(value, str) else value


class OnTheLine(Declared):
    """An aircraft that stands on the floor at the start."""

    serial: Name = says(..., "Serial, from the order book.", names="serial")
    at: Annotated[tuple[Name, ...], BeforeValidator(_places)] = says(
        ..., "Position; before mate the fuselage's and the wing's.", names="position")
    remaining_share: Share | None = says(None, "Share of the position's hours that is left (of those not in "
                                               "`packages_done`).", unit="share")
    packages_done: Names = says((), "Packages that are closed.", names="package")
    hours_left: dict[Name, Hours] = says(dict, "Hours left of named packages.", unit="labour hours", names="package")
    curing: Curing | None = says(None, "A cure under way.")
    flights_flown: Count = says(0, "Flights flown.", unit="flights")
    open_squawks: tuple[OpenSquawk, ...] = says((), "Squawks that are open.")
    notice_given: Day | None = says(None, "Date of the customer's notice; left out: the start.", unit="date")
    acceptance_booked: Day | None = says(None, "Date of its acceptance: that day's slot is its own.", unit="date")


class Payments(Declared):
    """When money moves."""

    deposit: Literal["at order"] = says("at order", "When the deposit is paid.")
    bought_out_share: Share = says(0.0, "Share of material that is paid ahead (engine, avionics).", unit="share")
    bought_out_days_before: Count = says(0, "Paid so long before the planned launch, whether or not that launch is "
                                            "made in time.", unit="calendar days")
    other_material: Literal["at launch"] = says("at launch", "When other material is paid.")
    wages: Literal["weekly"] = says("weekly", "When wages are paid.")
    balance: Literal["at acceptance"] = says("at acceptance", "When the balance is paid.")


class Money(Declared):
    """Prices and costs."""

    currency: Name = says("USD", "Currency.")
    material_per_aircraft: dict[Name, Amount] = says(dict, "Material by model.", unit="currency")
    carrying_rate_per_year: Share = says(0.0, "Cost of capital tied up.", unit="share a year")
    late_concession_per_day: Amount = says(0.0, "Concession for each calendar day after the promised date.",
                                          unit="currency/day")
    fixed_cost_per_month: Amount = says(0.0, "Fixed cost.", unit="currency/month")
    second_booth_capital: Amount | None = says(None, "Price of a second booth.", unit="currency")
    second_booth_lead_weeks: Days | None = says(None, "Time to build it.", unit="calendar weeks")
    evening_premium: Share = says(0.0, "Extra pay on the shift called evening.", unit="share")
    payments: Payments | None = says(None, "When money moves.")


class Comparison(Declared):
    """A named change of the scenario, to be compared with it."""

    name: Name = says(..., "Name.")
    plan: Name | None = says(None, "Rate plan.", names="plan")
    changes: dict[str, object] = says(dict, "Changed values by path.")
