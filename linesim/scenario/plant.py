"""The places of the plant and the work that is planned in them: positions, packages, flight test, acceptance."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator

from .declared import (
    Above0,
    Count,
    Days,
    Declared,
    Factor,
    Hours,
    Name,
    Number,
    Share,
    ShareAbove0,
    Weekday,
    WeekHours,
    YesNo,
    says,
)
from .spread import Spread, SpreadOf

ALL_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri")


def _one_or_many(value: object) -> object:
    return (value,) if isinstance(value, str) else value


Names = Annotated[tuple[Name, ...], BeforeValidator(_one_or_many)]


class Crewed(Declared):
    """How many people may work on a package at once."""

    crew: Number | None = says(None, "Exactly so many people work on it at once.", unit="people")
    crew_min: Number | None = says(None, "Fewest people that may work on it.", unit="people")
    crew_max: Number | None = says(
        None, "Most people that may work on it: a safety ceiling as well as a space one. Alone it means 1 to so many.",
        unit="people")

    @property
    def people(self) -> tuple[int, int]:
        """Fewest and most people that may work on it."""
        if self.crew is not None:
            return self.crew, self.crew
        most = self.crew_max or self.crew_min or 1
        return self.crew_min or 1, most


class Package(Crewed):
    """A work package: hands-on work, a hold that only waits, a buy-off by an inspector, or an appointment."""

    id: Name = says(..., "Short name, used once in the plant.")
    name: str = says("", "What is done, in words.")
    kind: Literal["work", "hold", "buy-off", "appointment"] = says("work", "What it is.")
    trade: Name | None = says(None, "Trade that does it; left out, nobody is needed.", names="trade")
    hours: SpreadOf = says(Spread("fixed", (0.0,)), "Work in it, at the reference serial.", unit="labour hours")
    elapsed_hours: SpreadOf | None = says(None, "Length of a hold, day and night.", unit="elapsed hours")
    after: Names | None = says(None, "Packages of this position that must be closed first; left out: the one written "
                                     "above; []: none.", unit="names of packages")
    inspection_hours: Hours = says(0.0, "Buy-off that follows the work, by one inspector.", unit="labour hours")
    inspector: Name | None = says(None, "Trade of that inspector; left out: INS.", names="trade")
    cure_hours: Hours = says(0.0, "Cure after (or before) the work, day and night.", unit="elapsed hours")
    cure_first: YesNo = says(False, "The cure comes before the work.")
    stripe: YesNo = says(False, "A stripe step of the paint scheme: done in the stripe bay if there is one.")
    models: Names | None = says(None, "Only aircraft of these models have it.", unit="names of models")
    schemes: Names | None = says(None, "Only aircraft of these paint schemes have it.", unit="names of schemes")
    chance: Share = says(1.0, "Share of the aircraft that have it, by one draw each.", unit="share")
    rework: YesNo = says(False, "Counted as rework, not as planned work.")
    can_travel: YesNo = says(False, "Unfinished, it may move on with the aircraft on a pulse line.")
    latest_position: Name | None = says(None, "Where travelled work must be closed; left out: the last pulse position.",
                                        names="position")
    needs_daylight: YesNo = says(False, "Worked only in daylight.")
    torque: YesNo = says(False, "Torque-marked: recalled if a torque tool is found out.")
    avionics: YesNo = says(False, "Its planted defects are found by the avionics check.")
    gate: Literal["position", "end of line", "avionics check"] | None = says(
        None, "Quality gate that it is.")
    close_up: YesNo = says(False, "Closes panels: later repairs are dearer.")
    can_be_short: YesNo = says(True, "Whether parts.short_chance applies to it.")
    weekdays: tuple[Weekday, ...] = says(ALL_WEEKDAYS, "Appointment: days on which it is given.")
    slots_per_day: Number = says(1, "Appointment: slots on each such day.", unit="slots")
    records: Name | None = says(None, "Appointment: package that is worked again when the papers are returned.",
                               unit="name of a package")
    return_chance: Share = says(0.0, "Appointment: share that is returned.", unit="share")
    certificate: YesNo = says(False, "Appointment: it gives the airworthiness certificate.")


class Repaint(Crewed):
    """Touch-up in place after the last paint step, drawn after each round."""

    chance: Share = says(..., "Share of the rounds that need another.", unit="share")
    trade: Name = says(..., "Trade that does it.", names="trade")
    hours: SpreadOf = says(..., "Work of one round.", unit="labour hours")
    cure_hours: Hours = says(0.0, "Its own cure, day and night.", unit="elapsed hours")


class BackTo(Declared):
    """Textbook feedback: a finished aircraft goes back to a place, where its work is drawn anew."""

    position: Name = says(..., "Place it goes back to; its own place: it stays in its dock.", names="position")
    chance: Share = says(..., "Share that goes back.", unit="share")


class OutOfService(Declared):
    """When hands-on work in a place stops although people are there; cures and holds run on."""

    weekly_hours: WeekHours = says(0.0, "Service in the first working hours of a week's first work day.",
                                   unit="working hours")
    climate_share: Share = says(0.0, "Share of work days lost to climate out of limits, one draw each.", unit="share")
    hours_up: SpreadOf | None = says(None, "Time between outages.", unit="elapsed hours")
    hours_down: SpreadOf | None = says(None, "Length of an outage.", unit="elapsed hours")


class Squawks(Declared):
    """Faults written up in flight, and what each of them needs."""

    mean_by_flight: tuple[Factor, ...] = says(..., "Mean count on flight 1, 2, ...; the last repeats.", unit="squawks")
    k: Above0 | None = says(None, "Over-dispersion of the count (variance = mean + mean^2/k); left out: Poisson.")
    dial: Factor = says(1.0, "Multiplies every mean.", unit="factor")
    learning_slope: ShareAbove0 | None = says(None, "Squawks left at each doubling of the unit number.", unit="share")
    needs_reflight_share: Share = says(0.0, "Share that needs a re-flight.", unit="share")
    grounding_share: Share = says(0.0, "Share that must be fixed before the next flight.", unit="share")
    fix_hours: SpreadOf = says(..., "Work to fix one, by one person.", unit="labour hours")
    trades: dict[Name, Factor] = says(..., "Share fixed by each trade.", unit="share", names="trade")
    needs_part_share: Share = says(0.0, "Share that waits for a part.", unit="share")
    part_delay_work_days: SpreadOf = says(Spread("fixed", (0.0,)), "Wait for that part.", unit="work days")
    inspection_hours: Hours = says(0.0, "Buy-off of each fix.", unit="labour hours")


class Flights(Declared):
    """Production flight test on a spot: mechanic's preflight, flight, squawks, and again while a flight is due."""

    pilots: Name = says(..., "Trade that flies.", names="trade")
    pilot_hours: Above0 = says(..., "One flight block: brief, airborne, debrief.", unit="elapsed hours")
    flight_hours: Above0 = says(..., "Airborne part of the block.", unit="elapsed hours")
    mechanics: Name | None = says(None, "Trade of the preflight; left out: none is needed.", names="trade")
    preflight_hours: Hours = says(0.0, "All mechanic's work per flight, by one person.", unit="labour hours")
    preflight_valid: Literal["until flown", "same shift"] = says("until flown", "How long a preflight holds.")
    min_flights: Count = says(1, "Fewest flights of each aircraft.", unit="flights")
    max_flights_per_day: Number | None = says(None, "Most flights of one pilot in a day.", unit="flights")
    max_duty_hours: Above0 | None = says(None, "Longest time from first block start to last block end of a pilot's "
                                               "day.", unit="elapsed hours")
    squawks: Squawks | None = says(None, "Faults written up; left out: none.")


class AcceptanceSquawks(Declared):
    """Faults written up by the customer; what is left out here is as in flight test."""

    mean: Factor = says(..., "Mean count at each acceptance.", unit="squawks")
    k: Above0 | None = says(None, "Over-dispersion; left out: as in flight test.")
    trades: dict[Name, Factor] = says(..., "Share fixed by each trade.", unit="share", names="trade")
    fix_hours: SpreadOf | None = says(None, "Work to fix one; left out: as in flight test.", unit="labour hours")
    needs_part_share: Share | None = says(None, "Left out: as in flight test.", unit="share")
    part_delay_work_days: SpreadOf | None = says(None, "Left out: as in flight test.", unit="work days")


class Acceptance(Declared):
    """The customer's acceptance in a delivery bay, at an appointment after notice."""

    weekdays: tuple[Weekday, ...] = says(ALL_WEEKDAYS, "Days on which an acceptance may begin.")
    slots_per_day: Number = says(1, "Acceptances that may begin on each such day.", unit="slots")
    duration_work_days: Days = says(0.0, "Least length of an acceptance.", unit="work days")
    notice_work_days: Days = says(0.0, "Notice to the customer.", unit="work days")
    notice_from: Literal["flight line", "certificate"] = says("flight line", "What the notice waits for: the flight "
                                                                             "line closed, or the certificate.")
    earliest_days_before_promise: Count | None = says(
        None, "The customer takes it at most so many days before the promised date; left out: any time.",
        unit="calendar days")
    delivery_trade: Name | None = says(None, "Trade of the delivery work.", names="trade")
    delivery_hours: SpreadOf = says(Spread("fixed", (0.0,)), "Delivery work, by one person.", unit="labour hours")
    pilots: Name | None = says(None, "Trade of the pilot's part.", names="trade")
    pilot_hours: Hours = says(0.0, "Pilot's hours, on the ground unless `pilot_flies`.",
                             unit="labour hours (elapsed if `pilot_flies`)")
    pilot_flies: YesNo = says(False, "The pilot's hours are a flight under the rules of flight test.")
    squawks: AcceptanceSquawks | None = says(None, "Faults written up at acceptance; left out: none.")
    refusal_chance: Share = says(0.0, "Share of acceptances that are refused and done again.", unit="share")


class Position(Declared):
    """A place with its docks (bays, spots), the parking before it and the work planned in it."""

    id: Name = says(..., "Short name, used once in the plant.")
    name: str = says("", "What it is, in words.")
    area: Name | None = says(None, "Area of the plant that it is counted in; left out: itself.")
    half: Literal["fuselage", "wing"] | None = says(None, "Before mate: which half passes it; left out: the aircraft.")
    docks: Number = says(1, "Aircraft that can stand in it at once.", unit="aircraft")
    parking: Count = says(0, "Aircraft that can be parked before it.", unit="aircraft")
    shifts: Names | None = says(None, "Work is done only in these shifts; left out: whenever its people work.",
                                names="shift")
    next: Name | None = says(None, "Where the aircraft goes next; left out: the next one written; out: off the floor.",
                             names="position/out")
    back_to: BackTo | None = says(None, "Textbook feedback.")
    repeat_chance: Share = says(0.0, "Share of the rounds after which all its packages are done again (engine "
                                           "run).", unit="share")
    repaint: Repaint | None = says(None, "Touch-up rounds after the last step.")
    cure_bays: Count = says(0, "Bays to which it moves after the last hands-on step.", unit="aircraft")
    stripe_bays: Count = says(0, "Bays in which the stripe and later steps are done.", unit="aircraft")
    out_of_service: OutOfService | None = says(None, "Service and climate.")
    packages: tuple[Package, ...] = says((), "Work planned here.")
    flights: Flights | None = says(None, "Flight test on this place, after its packages.")
    acceptance: Acceptance | None = says(None, "Customer's acceptance in this place, after its packages.")
