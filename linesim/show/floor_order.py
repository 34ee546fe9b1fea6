"""The order in which the floor is read: the feeder lanes, the places of the whole aircraft, and rows that are even."""

from __future__ import annotations

from collections.abc import Sequence

from ..line.plans import PlacePlan
from ..line.sheet import Sheet


def lanes_of(sheet: Sheet) -> tuple[list[list[PlacePlan]], list[PlacePlan]]:
    """The feeder lanes (none, if there are no halves), and the places of the whole aircraft, in order of flow."""
    feeders = []
    for half in ("fuselage", "wing"):
        of_half = [place for place in sheet.places if place.half == half]
        if of_half:
            feeders.append(_in_order_of_flow(sheet, of_half))
    whole = [place for place in sheet.places if not place.half]
    if feeders and feeders[0][-1].next is not None:
        mate = sheet.places[feeders[0][-1].next]
        whole = [mate, *(place for place in whole if place is not mate)]
    return feeders, _in_order_of_flow(sheet, whole)


def _in_order_of_flow(sheet: Sheet, places: list[PlacePlan]) -> list[PlacePlan]:
    """From the first place on along the way; places that it never meets follow as written."""
    found: list[PlacePlan] = []
    for place in places:
        one: PlacePlan | None = place
        while one is not None and one not in found and one in places:
            found.append(one)
            one = None if one.next is None else sheet.places[one.next]
    return found


def past_roll_out(line: list[PlacePlan]) -> set[int]:
    """Places from roll-out on: from the end-of-line gate, else the first flight test; all, if there is neither."""
    def first(true: list[bool]) -> int | None:
        return true.index(True) if any(true) else None

    gate = first([any(job.package.gate == "end of line" for job in place.jobs) for place in line])
    flies = first([place.position.flights is not None for place in line])
    return {place.index for place in line[gate if gate is not None else flies or 0:]}


def even_rows(widths: Sequence[float], room: float, gap: float) -> list[tuple[int, int]]:
    """Rows of things of given widths, in order, first and last number of each: as few as fit, and of those the rows
    with the least sum of squared empty room. A thing wider than the room stands alone."""
    best: list[tuple[int, float, int]] = [(0, 0.0, 0)]
    for end in range(1, len(widths) + 1):
        found = []
        for start in range(end - 1, -1, -1):
            wide = sum(widths[start:end]) + gap * (end - start - 1)
            if wide > room and end - start > 1:
                break
            rows, slack, _ = best[start]
            found.append((rows + 1, slack + max(0.0, room - wide) ** 2, start))
        best.append(min(found))
    cuts, end = [], len(widths)
    while end:
        cuts.append((best[end][2], end))
        end = best[end][2]
    return cuts[::-1]
