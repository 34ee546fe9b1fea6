"""The life of one aircraft as a document of plain numbers: what the command prints and what a program reads.

Instants are local wall-clock times, rounded to the minute; hours and work days are as recorded.
"""

from __future__ import annotations

from typing import Any

from ..line.cautions import cautions_of
from ..line.records import PARKING, REASON_WORDS, Changed, Records, State
from ..line.sheet import HOUR, Sheet
from ..measures.chain import Stay as ChainStay
from .story import Story
from .story_events import Event, events_of


def numbers_of_story(sheet: Sheet, records: Records, story: Story, seed: int) -> dict[str, Any]:
    """Everything of a life by name; `README.md` lists the names."""
    names = {job.id: job.package.name for place in sheet.places for job in place.jobs}
    return {"scenario": sheet.scenario.name, "seed": seed, "run": story.run, "serial": story.serial,
            **_order(sheet, records, story), "state": story.how,
            "on the line at the start": story.began is not None and story.launched is None,
            "launch planned": _wall(sheet, story.planned), "launched": _wall(sheet, story.launched),
            "begins": _wall(sheet, story.began), "ends": _wall(sheet, story.ended), "flow, hours": story.flow_hours,
            "worked, hours of people": story.labour_hours,
            "stays": _stays(sheet, story),
            "events": [_event(sheet, story, one, names) for one in events_of(sheet, records, story)],
            "lives": _lives(sheet, story), "stretches": _stretches(sheet, story),
            "what set its date": _chain(sheet, story),
            "where its hours went": {"hours": _by_words(story.ledger), "sum": sum(story.ledger.values())},
            "cautions": [str(caution) for caution in cautions_of(sheet.scenario)]}


def _wall(sheet: Sheet, t: float | None) -> str | None:
    return None if t is None else sheet.calendar.wall_text(t)


def _by_words(hours: dict[State, float]) -> dict[str, float]:
    return {REASON_WORDS[state]: value for state, value in hours.items()}


def _order(sheet: Sheet, records: Records, story: Story) -> dict[str, Any]:
    orders = sheet.scenario.orders or ()
    order = orders[story.number] if story.number < len(orders) else None
    promised = records.promised.get(story.number, order.promised if order else None)
    late = None
    if promised is not None and story.how == "delivered" and story.ended is not None:
        late = (sheet.calendar.wall(story.ended).date() - promised).days
    return {"model": order.model if order else None, "scheme": order.scheme if order else None,
            "promised": str(promised) if promised else None, "days late": late,
            "order changes": [_order_change(sheet, records, one) for one in records.order_changes
                              if story.number in (one.serial, one.by if one.what == "swapped" else -1)]}


def _order_change(sheet: Sheet, records: Records, one: Changed) -> dict[str, Any]:
    """What became of the order, on which date, and by how many days or with which serial."""
    return {"what": one.what, "date": str(sheet.calendar.date_of(one.at)),
            "days": one.by if one.what == "deferred" else None,
            "serials": [records.serials[one.serial], records.serials[one.by]] if one.what == "swapped" else None}


def _place(sheet: Sheet, place: int | None) -> str | None:
    return None if place is None else sheet.places[place].id


def _stays(sheet: Sheet, story: Story) -> list[dict[str, Any]]:
    found = []
    for one in story.stays:
        wait = one.largest_wait
        found.append({
            "place": _place(sheet, one.place), "name": sheet.places[one.place].position.name, "half": one.half or None,
            "parked": one.parked, "dock": one.spot + 1, "arrived": _wall(sheet, one.arrived),
            "left": _wall(sheet, one.left), "hours": (one.left - one.arrived) / HOUR, "work days": one.work_days,
            "worked, hours of people": one.labour_hours,
            "largest wait": None if wait is None else {"reason": REASON_WORDS[wait[0]], "hours": wait[1]},
            "hours by reason": _by_words(one.hours)})
    return found


ENDS = ("put down", "done", "bought off", "closed", "certificate")  # told of the stay that ends in that instant


def stay_of(story: Story, event: Event) -> int | None:
    """Number of the stay in which an event is told; None for launch and end."""
    found = [n for n, stay in enumerate(story.stays)
             if stay.place == event.place and stay.arrived <= event.at <= stay.left
             and (not event.half or stay.half == event.half)
             and stay.parked == (event.what == "parked" or event.job == PARKING)]
    if not found:
        return None
    return found[0] if event.what in ENDS else found[-1]


def _event(sheet: Sheet, story: Story, one: Event, names: dict[str, str]) -> dict[str, Any]:
    whole = {
        "at": _wall(sheet, one.at), "what": one.what, "stay": stay_of(story, one), "half": one.half,
        "place": _place(sheet, one.place),
        "package": one.job, "name": names.get(one.job, ""), "until": _wall(sheet, one.until),
        "reason": REASON_WORDS[one.state] if one.state is not None else None, "trade": one.trade,
        "defects": one.defects or None,
        "people": None if one.people is None else list(one.people), "hours": one.hours,
        "number": one.count, "planned": _wall(sheet, one.planned) if one.what == "launched" else None,
        "hours before": one.planned if one.what == "moved open" else None}
    return {name: value for name, value in whole.items() if value not in (None, "")}


def _lives(sheet: Sheet, story: Story) -> dict[str, list[dict[str, Any]]]:
    """By part (aircraft, fuselage, wing): its time without a gap, cut at every change of reason and of place."""
    found: dict[str, list[dict[str, Any]]] = {}
    for half, spans in story.lives.items():
        stays = [stay for stay in story.stays if stay.half == half]
        found[half or "aircraft"] = [
            {"place": _place(sheet, stay.place), "parked": stay.parked, "from": _wall(sheet, begin),
             "to": _wall(sheet, end), "hours": (end - begin) / HOUR, "reason": REASON_WORDS[span.state]}
            for span in spans for stay in stays
            if (begin := max(span.start, stay.arrived)) < (end := min(span.end, stay.left))]
    return found


def _stretches(sheet: Sheet, story: Story) -> list[dict[str, Any]]:
    return [{"from": _wall(sheet, one.start), "to": _wall(sheet, one.end), "half": one.half or None,
             "place": _place(sheet, one.place), "package": one.job, "state": REASON_WORDS[one.state],
             "trade": one.trade, "shift": one.shift, "people": one.people, "hours of people": one.labour_hours,
             "hours by reason": _by_words(one.hours)} for one in story.stretches]


def _chain(sheet: Sheet, story: Story) -> dict[str, Any]:
    day = sheet.calendar.work_day / HOUR
    reasons: dict[State, list[float]] = {}
    for stay in story.chain:
        for at, figures in enumerate((stay.work_days, stay.outside_hours)):
            for state, value in figures.items():
                reasons.setdefault(state, [0.0, 0.0])[at] += value
    rows = {REASON_WORDS[state]: {"work days": days, "hours outside": outside, "hours": days * day + outside}
            for state, (days, outside) in sorted(reasons.items())}
    later = (story.chain[0].arrived - story.began) / HOUR if story.chain and story.began is not None else 0.0
    return {"reasons": rows, "hours of a work day": day, "before its slower half was launched, hours": later,
            "sum, hours": later + sum(row["hours"] for row in rows.values()),
            "stays": [_link(sheet, one) for one in story.chain]}


def _link(sheet: Sheet, one: ChainStay) -> dict[str, Any]:
    return {"place": _place(sheet, one.place), "half": one.half or None, "parked": one.parked,
            "hours": (one.left - one.arrived) / HOUR, "through": list(one.through),
            "work days": _by_words(one.work_days), "hours outside": _by_words(one.outside_hours)}
