"""The same moment as a table: every aircraft with where it stands, why, for how long, and when it is promised."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from urllib.parse import quote

from markupsafe import Markup

from ....line.records import State
from ....measures.moment import Standing
from ...floor_words import reasons
from ...report.blocks import Table
from .one_run import OneRun

HEAD = ("Serial", "Where", "State", "Why", "Here, days", "Over takt, days", "Promised", "8 in 10 by")


def table_of(one: OneRun, minute: int, by_date: Mapping[str, str], story: str | None = None) -> Table:
    """The table of a minute; with `story`, the address of a story up to the serial, each serial leads to its own."""
    sheet, calendar = one.sheet, one.sheet.calendar
    names = {job.id: job.package.name or job.id for place in sheet.places for job in place.jobs}
    rows = tuple(_row(one, standing, names, by_date, story) for standing in one.floor.at(float(minute)))
    note = (f"The same moment as a table: {calendar.wall_text(float(minute))}, plant time. Days are work days of the "
            "reference shift. " + ("The trades named are those that work on it, or that it waits for." if rows else
                                   "Nothing stands on the floor."))
    return Table(note, HEAD, rows)


def _row(one: OneRun, standing: Standing, names: Mapping[str, str], by_date: Mapping[str, str],
         story: str | None) -> tuple[str, ...]:
    sheet, place = one.sheet, one.sheet.places[standing.place]
    where = f"{place.id} {place.position.name}".strip()
    where += ", parked before it" if standing.parked else f", dock {standing.spot + 1}" if place.docks > 1 else ""
    name = f"{standing.serial} {standing.half}".strip()
    linked = name if story is None else Markup('<a href="{}{}" target="_self">{}</a>').format(
        story, quote(standing.serial, safe=""), name)
    state = "blocked" if standing.parked and standing.state is State.BLOCKED else standing.family
    over = standing.over_takt
    return (linked, where, state, reasons(sheet, standing, dict(names))[0], f"{standing.work_days:.1f}",
            f"+{over:.1f}" if over is not None and over >= 0.05 else "", _promised(one, standing.serial),
            by_date.get(standing.serial, ""))


def _promised(one: OneRun, serial: str) -> str:
    """The promised date that it has in this run."""
    records, orders = one.floor.records, one.sheet.scenario.orders or ()
    number = records.serials.index(serial)
    day: date | None = orders[number].promised if number < len(orders) else None
    day = records.promised.get(number, day)
    return str(day) if day else ""
