"""What the floor says of each aircraft: its reason in a few words, and all of it in one sentence."""

from __future__ import annotations

from collections.abc import Iterable

from ..line.records import State
from ..line.sheet import Sheet
from ..measures.moment import Jam, Standing
from .floor_picture import Mark


def marks(sheet: Sheet, standing: Iterable[Standing]) -> list[Mark]:
    """The aircraft of one instant, ready to be drawn."""
    names = {job.id: job.package.name or job.id for place in sheet.places for job in place.jobs}
    return [Mark(one.place, one.parked, one.spot, one.half, one.serial, reasons(sheet, one, names), one.family,
                 one.over_takt, sentence(sheet, one, names)) for one in standing]


def reasons(sheet: Sheet, one: Standing, names: dict[str, str]) -> tuple[str, ...]:
    """Wordings of the reason, the fullest first; the last is short."""
    trades = ", ".join(one.trades)
    job = one.jobs[0] if one.jobs else ""
    if one.parked:
        return ("tool stop",) if one.state is State.LOCKED else ("parked",)
    match one.state:
        case State.FLIGHT:
            return ("in flight", "flight")
        case State.WORK:
            return (f"work: {trades}", "work") if trades else ("work",)
        case State.REWORK:
            return (f"rework: {trades}", "rework")
        case State.HOLD:
            return (_hold(job, names), "hold")
        case State.APPOINTMENT:
            return ("appointment",)
        case State.PEOPLE | State.INSPECTOR | State.PILOT:
            return (f"waits for {trades}", f"for {trades}", {
                State.PEOPLE: "for people", State.INSPECTOR: "for inspector"}.get(one.state, "for pilot"))
        case State.BLOCKED:
            full = "" if one.full is None else sheet.places[one.full].id
            return (f"{full} taken", "blocked") if full else ("blocked",)
        case None:
            return ("not known",)
    return _PLAIN[one.state]


_PLAIN: dict[State, tuple[str, ...]] = {
    State.LOCKED: ("tool stop",), State.WEATHER: ("for weather, light", "for weather"), State.OFF_SHIFT: ("off shift",),
    State.PARTS: ("waits for parts", "for parts"), State.CUSTOMER: ("for appointment", "for a date"),
    State.OTHER_HALF: ("for other half", "for its pair"), State.LINE_STOP: ("line stop",),
    State.PULSE: ("for the pulse", "for pulse")}


def _hold(job: str, names: dict[str, str]) -> str:
    return names.get(job, "cure" if job.endswith(" cure") else "hold").removesuffix(" (hold)").lower()


def sentence(sheet: Sheet, one: Standing, names: dict[str, str]) -> str:
    """Serial, where it stands, why, since when, and how far beyond the takt."""
    here = f"Here since {sheet.calendar.wall_text(one.since)}, {one.work_days:.1f} work days"
    over = f", {one.over_takt:.1f} more than the takt allows" if one.over_takt and one.over_takt >= 0.05 else ""
    half = f" {one.half}" if one.half else ""
    return f"{one.serial}{half} {where(sheet, one)}{why(sheet, one, names)}. {here}{over}."


def where(sheet: Sheet, one: Standing) -> str:
    """In which place and dock it stands, or before which it is parked."""
    place = sheet.places[one.place]
    text = f"parked before {place.id}" if one.parked else f"in {place.id}"
    text += f" {place.position.name}" if place.position.name else ""
    return text + (f", dock {one.spot + 1}" if not one.parked and place.docks > 1 else "")


def why(sheet: Sheet, one: Standing, names: dict[str, str]) -> str:
    """What it is in, after a colon; nothing for one that is only parked."""
    return "" if one.parked and one.state is State.BLOCKED else f": {_why(sheet, one, names)}"


def _why(sheet: Sheet, one: Standing, names: dict[str, str]) -> str:
    jobs = ", ".join(names.get(job, job) for job in one.jobs[:3]) + (" and more" if len(one.jobs) > 3 else "")
    trades = trade_names(sheet, one.trades)
    of = f" ({jobs})" if jobs else ""
    match one.state:
        case State.WORK:
            return f"at work{of}"
        case State.REWORK:
            return f"rework{of}"
        case State.HOLD:
            return f"on hold{of}, nobody may shorten it"
        case State.PEOPLE | State.INSPECTOR | State.PILOT:
            return f"waits for {trades}{of}"
        case State.BLOCKED:
            return "closed, cannot move on" + ("" if one.full is None else f", {sheet.places[one.full].id} is taken")
        case None:
            return "what it waits for is recorded under another serial"
    return _SAID[one.state] + of


_SAID: dict[State, str] = {
    State.FLIGHT: "in flight", State.APPOINTMENT: "appointment under way", State.LOCKED: "stopped for a missing tool",
    State.WEATHER: "waits for weather or daylight", State.OFF_SHIFT: "off shift", State.PARTS: "waits for parts",
    State.CUSTOMER: "waits for an appointment or the customer's date", State.OTHER_HALF: "waits for its other half",
    State.LINE_STOP: "may move, but the line stands", State.PULSE: "closed, waits for the pulse"}


def trade_names(sheet: Sheet, trades: Iterable[str]) -> str:
    """Trades with their names: assembly mechanic (ASM) and inspector (INS)."""
    named = []
    for trade in trades:
        declared = sheet.scenario.trades.get(trade)
        named.append(f"{in_a_sentence(declared.name)} ({trade})" if declared and declared.name else trade)
    return " and ".join(named)


def in_a_sentence(name: str) -> str:
    """A name in the middle of a sentence: its first letter small, unless the word is one of capitals."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def jam_sentence(sheet: Sheet, run: int, jam: Jam | None) -> str:
    """The answer of the floor: when a run first jams, and what stopped it."""
    if jam is None:
        return f"In run {run} no aircraft stood blocked for more than a work day."
    day = sheet.calendar.wall_text(jam.at)[:10]
    first = f"In run {run} the line first jams on {day}"
    behind = f"{jam.serial}{' ' + jam.half if jam.half else ''} behind it in {sheet.places[jam.place].id} cannot move"
    if jam.front is None:
        return f"{first}: {jam.serial} in {sheet.places[jam.place].id} cannot move."
    front = sheet.places[jam.front]
    name = f"{front.id} {front.position.name}".strip()
    return f"{first}: {name} {_stops(sheet, jam)}, and {behind}."


def _stops(sheet: Sheet, jam: Jam) -> str:
    match jam.state:
        case State.WORK | None:
            return "is still at work"
        case State.REWORK:
            return "does rework"
        case State.HOLD:
            return "is on a hold that nobody may shorten"
        case State.PEOPLE | State.INSPECTOR | State.PILOT:
            return f"waits for {trade_names(sheet, jam.trades)}"
    return _SAID.get(jam.state, "is taken")
