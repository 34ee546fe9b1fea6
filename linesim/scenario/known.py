"""Facts stated instead of drawn: today's floor, and examples worked by hand."""

from __future__ import annotations

from typing import Literal

from .declared import Count, Day, Days, Declared, Hours, Moment, Name, Number, YesNo, says


class KnownPresent(Declared):
    """People of a trade really present."""

    trade: Name = says(..., "Trade.", names="trade")
    shift: Name | None = says(None, "Shift; left out: the first.", names="shift")
    day: Day = says(..., "Shift date.", unit="date", alias="date")
    people: Count = says(..., "People present.", unit="people")


class KnownHours(Declared):
    """Hours that a package really takes."""

    serial: Name = says(..., "Serial.", names="serial")
    package: Name = says(..., "Package.", names="package")
    hours: Hours = says(..., "Actual hours.", unit="labour hours (elapsed for a hold)")
    repeat: Count = says(0, "Repeat number; 0 is the first time.", unit="number of the repeat")


class KnownPackage(Declared):
    """Whether an aircraft has a package."""

    serial: Name = says(..., "Serial.", names="serial")
    package: Name = says(..., "Package.", names="package")
    exists: YesNo = says(..., "Whether the aircraft has it.")


class KnownDefect(Declared):
    """One defect that a package plants; those stated are all that it plants on this aircraft."""

    serial: Name = says(..., "Serial.", names="serial")
    package: Name = says(..., "Package that plants it.", names="package")
    found_by: Literal["position", "end of line", "avionics check", "none"] = says(
        "none", "Gate that finds it; none: it escapes to flight test.")
    hours: Hours = says(0.0, "Its repair there.", unit="labour hours")


class KnownAnswer(Declared):
    """An answer by engineering that rework waits for."""

    serial: Name = says(..., "Serial.", names="serial")
    package: Name = says(..., "Package of rework, or the gate whose finds wait for it.", names="package")
    work_days: Days = says(..., "Until the answer; 0: none is needed.", unit="work days")


class KnownLatePart(Declared):
    """A part that is short."""

    serial: Name = says(..., "Serial.", names="serial")
    package: Name = says(..., "Package that waits for it.", names="package")
    work_days: Days = says(..., "Delay from its discovery; 0: not short.", unit="work days")


class KnownLock(Declared):
    """A missing-tool lock."""

    serial: Name = says(..., "Serial.", names="serial")
    begins: Moment = says(..., "From.", unit="date and clock time", alias="from")
    ends: Moment = says(..., "To.", unit="date and clock time", alias="to")


class KnownFlyable(Declared):
    """Whether a date, or one clock hour of it, can be flown."""

    day: Day = says(..., "Date.", unit="date", alias="date")
    hour: Count | None = says(None, "Clock hour, 9 from 09:00 to 10:00; left out: the whole day.", unit="clock hour",
                              le=23)
    flyable: YesNo = says(..., "Whether it can be flown.")


class KnownOutage(Declared):
    """A place out of service."""

    position: Name = says(..., "Position.", names="position")
    day: Day | None = says(None, "A whole date; or:", unit="date", alias="date")
    begins: Moment | None = says(None, "From.", unit="date and clock time", alias="from")
    ends: Moment | None = says(None, "To.", unit="date and clock time", alias="to")


class KnownSquawk(Declared):
    """One squawk with its traits."""

    trade: Name = says(..., "Trade that fixes it.", names="trade")
    hours: Hours = says(..., "Work.", unit="labour hours")
    grounding: YesNo = says(False, "Must be fixed before the next flight.")
    needs_reflight: YesNo = says(False, "Needs a re-flight.")
    part_work_days: Days = says(0.0, "Wait for its part from the debrief; 0: none.", unit="work days")


class KnownSquawks(Declared):
    """All squawks of one flight, or of one acceptance."""

    serial: Name = says(..., "Serial.", names="serial")
    flight: Number | None = says(None, "Flight number, 1 first.", unit="number of the flight")
    acceptance: Number | None = says(None, "Or number of the acceptance, 1 first.", unit="number of the acceptance")
    squawks: tuple[KnownSquawk, ...] = says((), "The squawks; empty: none.")


class KnownTimes(Declared):
    """How often something happens to an aircraft in a place."""

    serial: Name = says(..., "Serial.", names="serial")
    position: Name | None = says(None, "Position; left out: wherever the plant has it.", names="position")
    times: Count = says(..., "How often.", unit="times")


class Known(Declared):
    """Facts that take the place of draws; all other draws stay."""

    present: tuple[KnownPresent, ...] = says((), "People really present.")
    hours: tuple[KnownHours, ...] = says((), "Hours of packages.")
    packages: tuple[KnownPackage, ...] = says((), "Packages that exist or not.")
    defects: tuple[KnownDefect, ...] = says((), "Defects by package.")
    answers: tuple[KnownAnswer, ...] = says((), "Answers by engineering.")
    late_parts: tuple[KnownLatePart, ...] = says((), "Parts that are short.")
    tool_locks: tuple[KnownLock, ...] = says((), "Missing-tool locks.")
    flyable: tuple[KnownFlyable, ...] = says((), "Days and hours that can be flown or not.")
    out_of_service: tuple[KnownOutage, ...] = says((), "Places out of service.")
    squawks: tuple[KnownSquawks, ...] = says((), "Squawks by flight.")
    repeats: tuple[KnownTimes, ...] = says((), "Repeated engine runs.")
    repaints: tuple[KnownTimes, ...] = says((), "Repaint rounds.")
    returns: tuple[KnownTimes, ...] = says((), "Returned certificates.")
    refusals: tuple[KnownTimes, ...] = says((), "Refused acceptances.")
    goings_back: tuple[KnownTimes, ...] = says((), "Textbook feedback.")
