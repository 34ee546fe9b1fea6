"""One run as the plain document that the page's picture reads: places, changes, words, steps. Nothing but JSON.

Words are those of the floor picture. A text stands in it once; a change names it by its number.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from datetime import timedelta
from itertools import pairwise
from typing import Any

from ....line.sheet import Sheet
from ....measures.moment import Floor, Jam, Standing, first_jam
from ...floor_layout import Layout, layout
from ...floor_picture import FUSELAGE, PROPELLER, TAIL, WING, picture_svg, short_serial
from ...floor_words import jam_sentence, reasons, where, why
from ...report.floors import bare
from .course import NOWHERE, Change, Course, course_of, state_of
from .strip import LIKE, family_of, steps_of, strip_of, worst_in

WIDTHS = (358.0, 540.0, 740.0, 1176.0)  # of the pictures: the widest is shown that need not be much smaller
WIDEST, TALL = 1540.0, 900.0  # one more for a wide screen, where the picture would be higher than a screen
SHAPES = {"fuselage": (FUSELAGE, TAIL), "wing": (WING,), "": (WING, FUSELAGE, TAIL)}

Document = dict[str, Any]


class Told:
    """Things that many changes name, each once and by its number."""

    def __init__(self) -> None:
        self._numbers: dict[Any, int] = {}

    def number(self, thing: Any) -> int:
        """The number of a thing, a new one if it was not told yet."""
        return self._numbers.setdefault(thing, len(self._numbers))

    def all(self) -> list[Any]:
        """The things in order of their numbers."""
        return list(self._numbers)


def document_of(floor: Floor) -> Document:
    """The replay of a run, from its start to the last date on which aircraft are launched."""
    sheet = floor.sheet
    until = int(min(sheet.calendar.end, floor.records.ended))
    course = course_of(floor, until)
    steps = steps_of(sheet, until)
    strip = strip_of(course, steps)
    layouts = [layout(sheet, width) for width in WIDTHS]
    if layouts[-1].height > TALL:
        layouts.append(layout(sheet, WIDEST))
    frames = [(frame.place, frame.parked) for frame in layouts[0].frames]
    return {
        "run": floor.records.replication, "until": until, "start": str(sheet.scenario.start),
        "offsets": offsets_of(sheet, until), "clock": _clock(sheet, until), "work day": sheet.calendar.work_day,
        "serials": floor.records.serials, "short": [short_serial(serial) for serial in floor.records.serials],
        "parts": [list(part) for part in course.parts],
        "frames": [{"place": sheet.places[place].id, "propeller": frame.propeller}
                   for (place, _), frame in zip(frames, layouts[0].frames, strict=True)],
        **_stays(floor, course, frames), **_changes(floor, course),
        "steps": steps, "counts": [strip.counts[like] for like in LIKE], "states": list(LIKE),
        "delivered": _ended(floor, until), "jam": _jam(floor, first_jam(floor), until),
        "worst": None if (worst := worst_in(strip)) is None else asdict(worst),
        "shapes": {half: list(paths) for half, paths in SHAPES.items()}, "propeller": PROPELLER,
        "layouts": [_drawn(one, frames) for one in layouts]}


def offsets_of(sheet: Sheet, until: int) -> list[list[int]]:
    """From which minute on the wall clock is so many minutes ahead of the time elapsed: where summer time begins and
    ends; the first row is [0, 0]."""
    calendar = sheet.calendar

    def ahead(minute: int) -> int:
        passed = calendar.wall(float(minute)) - calendar.wall(0.0)
        return round(passed / timedelta(minutes=1)) - minute

    found = [[0, 0]]
    days = [round(t) for t in calendar.midnights if t < until] + [until]
    for before, after in pairwise(days):
        if ahead(before) != ahead(after):
            low, high = before, after
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (middle, high) if ahead(middle) == ahead(before) else (low, middle)
            found.append([high, ahead(high)])
    return found


def _clock(sheet: Sheet, until: int) -> list[list[float]]:
    """Work blocks of the reference shift: first and last instant."""
    return [[first, last] for first, last, _ in sheet.calendar.reference.blocks() if first <= until]


def _stays(floor: Floor, course: Course, frames: list[tuple[int, bool]]) -> Document:
    """Of each stay: its frame, its dock or spot, when it began, what the takt allows here, and where that is."""
    frame_of, wheres = {frame: n for n, frame in enumerate(frames)}, Told()
    rows = []
    for stay, spot in course.stays:
        one = _standing(floor, stay.place, stay.parked, spot, "", stay.half, Change(0, 0, 0, 0, (), ()))
        rows.append([frame_of[stay.place, stay.parked], spot, stay.arrived, floor.allowed(stay),
                     wheres.number(where(floor.sheet, one))])
    return {"stays": rows, "wheres": wheres.all()}


def _changes(floor: Floor, course: Course) -> Document:
    """The changes as columns; minutes as what has passed since the change before."""
    sheet, said, wordings, whys = floor.sheet, Told(), Told(), Told()
    names = {job.id: job.package.name or job.id for place in sheet.places for job in place.jobs}
    minutes = [0, *(change.minute for change in course.changes)]
    columns: dict[str, list[int]] = {"passed": [b - a for a, b in pairwise(minutes)],
                                     "part": [change.part for change in course.changes],
                                     "stay": [change.stay for change in course.changes], "said": []}
    known: dict[Any, int] = {}
    for change in course.changes:
        if change.stay == NOWHERE:
            columns["said"].append(-1)
            continue
        stay, spot = course.stays[change.stay]
        key = (stay.place, stay.parked, change.state, change.jobs, change.trades)
        if key not in known:
            one = _standing(floor, stay.place, stay.parked, spot, "", stay.half, change)
            known[key] = said.number((LIKE.index(family_of(change.state)),
                                      wordings.number(reasons(sheet, one, names)),
                                      whys.number(why(sheet, one, names))))
        columns["said"].append(known[key])
    return {"changes": columns, "said": [list(one) for one in said.all()],
            "wordings": [list(one) for one in wordings.all()], "whys": whys.all()}


def _standing(floor: Floor, place: int, parked: bool, spot: int, serial: str, half: str, change: Change) -> Standing:
    """What the words are made from; days are added on the page."""
    state = state_of(change.state)
    return Standing(serial, half, place, parked, spot, state, change.jobs, change.trades, 0.0, 0.0, None,
                    floor.full(place, parked, state))


def _ended(floor: Floor, until: int) -> list[list[Any]]:
    """Minute, serial and how of those that left the floor finished, in order of time."""
    records = floor.records
    found = [(t, serial, how) for how, of in (("delivered", records.delivered), ("finished stock", records.stock_ready))
             for serial, t in of.items()]
    return [[-int(-t // 1), serial, how] for t, serial, how in sorted(found) if -int(-t // 1) <= until]


def _jam(floor: Floor, jam: Jam | None, until: int) -> Document | None:
    """The first jam: its minute, who stands, and the sentence."""
    if jam is None or jam.at > until:
        return None
    return {"minute": -int(-jam.at // 1), "serial": jam.serial, "half": jam.half,
            "sentence": jam_sentence(floor.sheet, floor.records.replication, jam)}


def _drawn(one: Layout, frames: Iterable[tuple[int, bool]]) -> Document:
    """A picture without aircraft, and of each frame its docks or spots: left edge, upper edge, width."""
    boxes = {(frame.place, frame.parked): [[spot.box.x, spot.box.y, spot.box.w] for spot in frame.spots]
             for frame in one.frames}
    return {"width": one.width, "height": one.height, "svg": bare(picture_svg(one)),
            "spots": [[[round(number, 2) for number in box] for box in boxes[frame]] for frame in frames]}

