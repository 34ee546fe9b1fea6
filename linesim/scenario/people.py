"""Who works when: shifts, trades, the rules by which people are given work, and what keeps them away."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator

from .declared import (
    Above0,
    Amount,
    ClockSpan,
    ClockTime,
    Count,
    Day,
    Days,
    Declared,
    Factor,
    Hours,
    Minutes,
    Name,
    Share,
    Weekday,
    WeekHours,
    YesNo,
    says,
)
from .plant import Names
from .spread import SpreadOf

WEEKS_OF_A_YEAR = 52
OTHERS = "others"


class Shift(Declared):
    """A shift on the clock. Either its start, end and what is taken out of it, or its work blocks outright."""

    start: ClockTime | None = says(None, "Start of the paid shift.", unit="clock time")
    end: ClockTime | None = says(None, "End of the paid shift; at or before the start: next day.", unit="clock time")
    meal_minutes: Minutes | None = says(None, "Unpaid meal in the middle.", unit="minutes")
    meal: ClockSpan | None = says(None, "Unpaid meal as written.", unit="clock times")
    paid_break_minutes: Minutes | None = says(None, "Paid breaks in all, half in the middle of each half.",
                                            unit="minutes")
    breaks: tuple[ClockSpan, ...] | None = says(None, "Paid breaks as written.", unit="clock times")
    meeting_minutes: Minutes = says(0, "Meeting at the start.", unit="minutes")
    clean_down_minutes: Minutes = says(0, "Clean-down at the end.", unit="minutes")
    work: tuple[ClockSpan, ...] | None = says(None, "Work blocks outright: nothing else is taken out of them.",
                                              unit="clock times")
    weekdays: tuple[Weekday, ...] | None = says(None, "Days on which it starts; left out: the plant's work days.")
    productivity: Above0 = says(1.0, "Work done per hour, against 1 on a normal shift.", unit="factor")


class HeadcountStep(Declared):
    """A dated change of the number of people of a trade on a shift."""

    day: Day = says(..., "First shift date on which it holds.", unit="date", alias="from")
    shift: Name = says(..., "Shift.", names="shift")
    people: Count = says(..., "People from then on.", unit="people")


class ByPlaces(Declared):
    """Order of serving by place: the listed places first, in this order."""

    places: tuple[Name, ...] = says(..., "Positions or areas, first served first.", names="position or area")


Dispatch = Literal["promised date", "first come", "furthest along"] | ByPlaces


def _roster(value: object) -> object:
    return {"": value} if isinstance(value, int) and not isinstance(value, bool) else value


class Trade(Declared):
    """A trade: people who can do the same work."""

    name: str = says("", "What they are called.")
    people: Annotated[dict[str, Count], BeforeValidator(_roster)] = says(
        dict, "People on each shift; a single number: on the first shift.", unit="people", names="shift/")
    headcount_steps: tuple[HeadcountStep, ...] = says((), "Dated changes of those numbers.")
    usd_per_hour: Amount | None = says(None, "Cost of one paid hour.", unit="USD for a paid hour")
    dispatch: Dispatch | None = says(None, "Own order of serving; left out: the plant's.")
    reserve: YesNo | None = says(None, "People are kept for a package whose crew is not complete; left out: the "
                                       "plant's rule.")
    cover: dict[Name, Factor] = says(dict, "Trades that may lend to it, in order, with their effectiveness.",
                                     unit="factor", names="trade")
    note: str = says("", "Remark; has no effect.")


class WorkRules(Declared):
    """How people are given work."""

    dispatch: Dispatch = says("promised date", "Who is served first.")
    crew_grows: YesNo = says(True, "Free people join running work up to its most people.")
    share: Literal["maximum first", "minimum first"] = says(
        "maximum first", "Whether the first in line takes all it may, or every one its least first.")
    reserve: YesNo = says(False, "People are kept for a package whose crew is not complete.")
    cover_in_force: YesNo = says(True, "Whether the declared cover between trades is used.")
    move_minutes: Hours = says(0.0, "Time of a move on the reference shift.", unit="working minutes")
    moves: Literal["day and night", "reference shift"] = says("day and night", "When aircraft move in free flow.")
    ring: Literal["stuck", "exchange"] = says("stuck", "What a ring of aircraft that wait for each other does.")
    pairing: Literal["by serial", "any of model"] = says("by serial", "Which wing goes to which fuselage.")
    halves: Literal["together", "each by itself"] = says("together", "How the halves are launched.")
    certificate_at: Literal["finishing", "acceptance"] = says(
        "finishing", "Where an aircraft waits for its certificate: on the finishing place or in the delivery bay.")


class Absence(Declared):
    """Unplanned absence."""

    share: Share = says(..., "Share of the shifts missed.", unit="share")
    spell_shifts: Above0 | None = says(None, "Mean length of a spell; left out: each shift by itself.", unit="shifts")
    paid: YesNo = says(True, "Absent hours are paid.")


class Leave(Declared):
    """Planned leave."""

    share: Share | None = says(None, "Share of the year.", unit="share")
    weeks: Count | None = says(None, "Weeks of each person in a year; instead of the share.", unit="calendar weeks",
                              le=52)
    in_blocks: YesNo = says(False, "Taken in whole booked weeks.")
    most_away: dict[Name, Count] = says(dict, "Most people of a trade away at once; `others` for the rest.",
                                        unit="people", names="trade/others")
    paid: YesNo = says(True, "Leave is paid.")

    @property
    def rate(self) -> float:
        """Share of the shift dates."""
        return self.share if self.share is not None else (self.weeks or 0) / WEEKS_OF_A_YEAR

    @property
    def weeks_each(self) -> int:
        """Whole weeks of each person in a year."""
        return self.weeks if self.weeks is not None else round((self.share or 0.0) * WEEKS_OF_A_YEAR)


class Proficiency(Declared):
    """How new people get up to speed."""

    start: Share = says(..., "Proficiency on the first day.", unit="share")
    weeks_to_full: Above0 = says(..., "Time to full proficiency.", unit="calendar weeks")
    trainer_drain: Share = says(0.0, "Loss per new person on an experienced one.", unit="share")
    trades: Names | None = says(None, "Trades it applies to; left out: all.", names="trade")


class Turnover(Declared):
    """People leave and are replaced."""

    annual_share: Share = says(..., "Share that leaves in a year.", unit="share")
    time_to_hire_work_days: Days = says(..., "Until the replacement starts.", unit="work days")


class Overtime(Declared):
    """When longer days are worked, how long, and what they yield. The caps are hard."""

    trades: Names = says(..., "Trades that may work it.", names="trade")
    max_hours_per_week: WeekHours = says(..., "Most extra hours of a person from Monday to Sunday.",
                                          unit="paid hours of each person")
    trigger_work_days_late: Days | None = says(None, "Lateness of the earliest promise that starts it.",
                                                 unit="work days")
    trigger_launches_behind_work_days: Days | None = says(None, "So far behind the plan must launches be to start it.",
                                                            unit="work days")
    when: Literal["end of day", "Saturday"] = says("end of day", "When it is worked.")
    people: Count | None = says(None, "Only so many of each trade; left out: all.", unit="people")
    premium: Factor = says(1.5, "Pay against normal pay.", unit="factor")
    effect_by_weekly_hours: dict[str, Share] = says(dict, "Effectiveness by scheduled (paid) hours of a week.",
                                                    unit="factor")
    extra_hours_only: YesNo = says(False, "The effect applies to the extra hours only, else to all of that week.")
    fatigue_after_weeks: Count | None = says(None, "Weeks in a row until the extra loss.", unit="calendar weeks")
    extra_loss_after: Share = says(0.0, "Extra loss from then on.", unit="share")


class Attendance(Declared):
    """What keeps people from work and makes them slower."""

    absence: Absence | None = says(None, "Unplanned absence.")
    leave: Leave | None = says(None, "Planned leave.")
    training_share: Share = says(0.0, "Share of the shifts spent in training.", unit="share")
    proficiency: Proficiency | None = says(None, "New people.")
    turnover: Turnover | None = says(None, "People who leave.")
    overtime: Overtime | None = says(None, "Longer days.")


class MissingTool(Declared):
    """A tool is missing at the closing check: the aircraft is locked until it is found."""

    chance: Share = says(..., "Chance per occupied position and shift.", unit="chance")
    search_hours: SpreadOf = says(..., "Search, on the reference shift; it is nobody's labour.", unit="working hours")


class TorqueRecall(Declared):
    """A torque tool found out of tolerance at the start check recalls the work of the shift before."""

    chance: Share = says(..., "Chance per trade and shift.", unit="chance")
    hours: SpreadOf = says(..., "Re-torque of each aircraft, by one person.", unit="labour hours")
    trades: Names | None = says(None, "Trades with torque tools; left out: all with torque-marked packages.",
                                names="trade")
    extra_minutes: Minutes = says(0, "Torque check beyond the start check.", unit="minutes")


class ToolControl(Declared):
    """Tool checks at both ends of every shift."""

    start_check_minutes: Minutes = says(0, "Tool check at the start of every shift.", unit="minutes")
    end_check_minutes: Minutes = says(0, "Tool check at the end of every shift.", unit="minutes")
    missing_tool: MissingTool | None = says(None, "Missing tools.")
    torque_recall: TorqueRecall | None = says(None, "Torque tools out of tolerance.")

    @property
    def start_check(self) -> int:
        """Minutes of the check at the start of a shift, the torque check beyond it with it."""
        return self.start_check_minutes + (self.torque_recall.extra_minutes if self.torque_recall else 0)
