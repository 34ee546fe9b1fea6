"""Who is there: absence, leave, training and leavers of one large trade over a year, against the shares declared and
their exact standard errors; what must hold person by person is exact."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt
from typing import Any

from ...line.floor import run_once
from ...line.records import Attended
from ...line.sheet import Sheet
from ...measures.present import people_present
from ...scenario.reading import parse_scenario
from .arithmetic import HAND
from .check import Check, each, exact, within
from .listed import Proof
from .plants import json

PEOPLE = 150
DATES = 260  # Mondays to Fridays of the 52 weeks from 4 January 2027 on
MARKOV = "variance of the mean of a two-state Markov chain (textbook)"


def sheet_of(attendance: dict[str, Any], people: int = PEOPLE, **more: Any) -> Sheet:
    """One trade and nothing to do."""
    values = {"name": "people", "start": "2027-01-04", "end": "2028-01-02",
              "shifts": {"day": {"work": ["06:00-14:00"]}}, "trades": {"T": {"people": {"day": people}}},
              "attendance": attendance, "orders": [{"serial": "S1"}],
              "launches": {"moments": ["2028-01-01 00:00"]},
              "positions": [{"id": "A", "packages": [{"id": "a", "trade": "T", "hours": 1}]}], **more}
    return Sheet(parse_scenario(json.dumps(values)))


def there(attendance: dict[str, Any], people: int = PEOPLE, **more: Any) -> Attended:
    """The trade over the year."""
    return run_once(sheet_of(attendance, people, **more), 5, 0).attended["T", "day"]


def shares() -> Iterator[Check]:
    """Each kind alone; then all together, the first that hits decides."""
    n = PEOPLE * DATES
    for name, attendance, part, p in (
            ("absent, 4 %", {"absence": {"share": 0.04}}, "absent", 0.04),
            ("in training, 2 %", {"training_share": 0.02}, "in_training", 0.02),
            ("on leave by the day, 7 %", {"leave": {"share": 0.07, "in_blocks": False}}, "on_leave", 0.07)):
        found = there(attendance)
        yield within(f"share of people {name}", "binomial", p, sum(getattr(found, part)) / n, sqrt(p * (1 - p) / n))
        yield exact(f"people employed on {DATES} dates, {name}", HAND, n, sum(found.employed))
        yield exact(f"people there, and not for one reason, {name}", HAND, n, sum(found.present) + sum(
            getattr(found, part)))
    mean, p = 3.0, 0.06
    stays = 1 - 1 / mean - p / (mean * (1 - p))
    found = there({"absence": {"share": p, "spell_shifts": mean}})
    yield within("share of people absent in spells of 3 shifts, 6 %", MARKOV, p, sum(found.absent) / n,
                 sqrt(p * (1 - p) * (1 + stays) / (1 - stays) / n))
    every = {"leave": {"share": 0.3, "in_blocks": False}, "absence": {"share": 0.4}, "training_share": 0.5}
    found = there(every)
    for name, part, p in (("leave first", "on_leave", 0.3), ("then absence", "absent", 0.7 * 0.4),
                          ("then training", "in_training", 0.7 * 0.6 * 0.5), ("else there", "present", 0.21)):
        yield within(f"what keeps people away, {name}", "binomial", p, sum(getattr(found, part)) / n,
                     sqrt(p * (1 - p) / n))
    paper = people_present(sheet_of(every, 5), 5, 20)[0]
    m = 20 * 5 * DATES
    for name, p, got in (("on leave", 0.3, paper.on_leave), ("absent", 0.28, paper.absent),
                         ("in training", 0.21, paper.in_training), ("there, of five", 0.21, paper.present / 5),
                         ("work done, of five", 0.21, paper.able / 5)):
        yield within(f"people on paper, 20 draws: {name}", "binomial", p, got, sqrt(p * (1 - p) / m))
    yield each("people on paper: roster, vacant, nobody there and all five", "binomial", [5, 0, 0.79**5, 0.21**5],
               [paper.roster, paper.vacant, *(paper.days_with or (0.0,) * 6)[0:6:5]], 0.02)


def weeks() -> Iterator[Check]:
    """A share of 6 % is three weeks of a year of 52: fifteen dates of each of 20 people, never more than two away."""
    found = there({"leave": {"share": 0.06, "in_blocks": True, "most_away": {"T": 2}}}, 20)
    yield exact("dates on leave of 20 people with three weeks each", HAND, 20 * 15, sum(found.on_leave))
    yield exact("most people on leave at once, of two that may", HAND, 2, max(found.on_leave))
    by_week = [set(found.on_leave[5 * k:5 * k + 5]) for k in range(52)]
    yield exact("weeks in which the number away changes", HAND, 0, sum(len(of) > 1 for of in by_week))
    yield exact("people there and on leave", HAND, 20 * DATES, sum(found.present) + sum(found.on_leave))


def leavers() -> Iterator[Check]:
    """Half of the people leave in 365 days, whatever day of the week; nobody, or a new person after ten work days,
    takes their place: the replacement is on the roll from the eleventh work day on."""
    gone = there({"turnover": {"annual_share": 0.5, "time_to_hire_work_days": 900}})
    left = 0.5 ** (361 / 365)  # who leaves on a day is gone on the next: 361 days are over on Friday 31 December
    yield within("people left after a year in which half leave", "binomial", PEOPLE * left, gone.employed[-1],
                 sqrt(PEOPLE * left * (1 - left)))
    yield exact("times that the number of people rises when nobody is hired", HAND, 0, sum(
        b > a for a, b in zip(gone.employed, gone.employed[1:], strict=False)))
    hired = there({"turnover": {"annual_share": 0.5, "time_to_hire_work_days": 10},
                   "proficiency": {"start": 0.5, "weeks_to_full": 10, "trainer_drain": 0.0}})
    daily = 1 - 0.5 ** (1 / 365)
    vacant = daily * 14  # a place is vacant for ten work days: two weeks
    yield within("share of places that are vacant, the first month aside", "renewal: time vacant over time", vacant / (
        1 + vacant), 1 - sum(hired.employed[25:]) / PEOPLE / (DATES - 25), sqrt(vacant / PEOPLE / 17))
    slow = 1 - sum(hired.effectiveness[60:]) / (DATES - 60)
    yield within("what new people cost: half, falling to nothing in 70 days", "renewal: 0.25 in the mean of 70 days",
                 daily * 70 * 0.25, slow, sqrt(daily * 70 / PEOPLE / 4) * 0.3)
    first = there({"turnover": {"annual_share": 1.0, "time_to_hire_work_days": 10}}, 10)
    yield each("all leave on the first day: people employed on the first 13 dates", HAND, [10.0] + [0.0] * 10 + [10, 0],
               [float(n) for n in first.employed[:13]])


def steps() -> Iterator[Check]:
    """Six people to the end of January (20 dates), then two to the end of February (20), then none, of 260 dates."""
    sheet = sheet_of({}, 6, trades={"T": {"people": {"day": 6}, "headcount_steps": [
        {"from": "2027-01-30", "shift": "day", "people": 2}, {"from": "2027-03-01", "shift": "day", "people": 0}]}})
    paper = people_present(sheet, 5, 20)[0]
    mean = (20 * 6 + 20 * 2) / DATES
    yield each("people planned, there and able in the mean of a year with two steps, share vacant", HAND,
               [mean, mean, mean, 0], [paper.roster, paper.present, paper.able, paper.vacant], 1e-9)
    found = run_once(sheet, 5, 0).attended["T", "day"]
    yield each("people there on the dates about the steps", HAND, [6, 6, 2, 2, 0],
               [float(found.present[n]) for n in (0, 19, 20, 39, 40)])


PROOFS = (Proof("people of dated steps", steps), Proof("shares of people there", shares),
          Proof("weeks of leave", weeks), Proof("leavers", leavers))
