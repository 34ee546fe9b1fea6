"""Which gate looks at whose defects: made once from the sheet, the same in every run.

In the order of the flow: the buy-off of the work's own position, the end of the line, the avionics check (of avionics
work only). What a gate waits for it looks at; what is done beside it, or after it, it does not see.
"""

from __future__ import annotations

from typing import Final

from ..scenario.risks import Quality
from .plans import NOBODY, JobPlan, PlacePlan
from .sheet import Sheet

POSITION: Final = "position"
END_OF_LINE: Final = "end of line"
AVIONICS: Final = "avionics check"


class Gates:
    """The gates of a plant and the packages that plant defects, by their order in the file."""

    def __init__(self, sheet: Sheet, rules: Quality) -> None:
        self.rules, self.places = rules, sheet.places
        self.chance = {POSITION: rules.found_in_position, END_OF_LINE: rules.found_end_of_line,
                       AVIONICS: rules.found_avionics_check}
        self._upstream = {place.index: _upstream(sheet.places, place) for place in sheet.places}
        jobs = [job for place in sheet.places for job in place.jobs]
        gates = [job for job in jobs if job.package.gate and job.kind != "hold"]
        self._before = {gate.order: _before(sheet.places[gate.place], gate) for gate in gates}
        self.kind = {gate.order: str(gate.package.gate) for gate in gates}
        self.fixing = {check.order: fixing.order for check in gates if check.package.gate == AVIONICS
                       for fixing in jobs if is_fixing(fixing, check, sheet.places[check.place])}
        self._fixed_in = set(self.fixing.values())
        self._done = {order for order, kind in self.kind.items() if kind not in rules.gates_left_out}
        flown = next((place.index for place in sheet.places if place.position.flights), None)
        before = set() if flown is None else self._upstream[flown] | {flown}
        self.before_flight = [job for job in jobs if job.place in before and self._plants(job)]
        self.planting = {job.order for job in self.before_flight} | {  # of others nobody would ever know
            job.order for job in jobs if self._plants(job) and any(self.sees(gate, job, job.place) for gate in gates)}
        ahead = [gate for gate in gates if gate.place in before]
        self.escaping = {job.order: self._escaping(job, ahead) for job in self.before_flight}

    def _plants(self, job: JobPlan) -> bool:
        return (job.kind == "work" and job.trade != NOBODY and not job.package.rework
                and job.order not in self._fixed_in)

    def _escaping(self, job: JobPlan, gates: list[JobPlan]) -> float:
        """Chance that a defect of a package passes every gate before the flights that the file declares."""
        left = 1.0
        for gate in gates:
            if self.sees(gate, job, job.place):
                left *= 1 - self.chance[self.kind[gate.order]]
        return left

    def is_done(self, gate: JobPlan) -> bool:
        """Whether a gate is looked through, or left out for a comparison."""
        return gate.order in self._done

    def is_fixing(self, job: JobPlan) -> bool:
        """Whether a package is the fixing of what the avionics check finds."""
        return job.order in self._fixed_in

    def sees(self, gate: JobPlan, job: JobPlan, place: int) -> bool:
        """Whether a gate looks at defects of a package that was closed in a place."""
        kind, here = self.kind[gate.order], gate.place
        if kind == AVIONICS and not job.package.avionics:
            return False
        if job.place == here:
            return job.order in self._before[gate.order]
        if kind == POSITION:
            return place == here  # work that travelled here
        return job.place in self._upstream[here]

    def upstream(self, place: int) -> list[PlacePlan]:
        """Places that an aircraft has been through when it comes to a place, in the order of the file."""
        return [self.places[n] for n in sorted(self._upstream[place])]


def is_fixing(job: JobPlan, check: JobPlan, place: PlacePlan) -> bool:
    """Whether a package is the one in which the finds of an avionics check are fixed: rework right after it."""
    return (job.place == check.place and job.kind == "work" and job.package.rework
            and check.order in {place.jobs[n].order for n in job.after})


def _upstream(places: list[PlacePlan], place: PlacePlan) -> set[int]:
    found: set[int] = set()
    for _ in places:
        found |= {one.index for one in places if one.next is not None
                  and (one.next == place.index or one.next in found)}
    return found - {place.index}


def _before(place: PlacePlan, gate: JobPlan) -> frozenset[int]:
    """Orders of the packages of its place that a gate waits for, at first or second hand."""
    found: set[int] = set()
    ahead = list(gate.after)
    while ahead:
        n = ahead.pop()
        if place.jobs[n].order not in found:
            found.add(place.jobs[n].order)
            ahead += place.jobs[n].after
    return frozenset(found)
