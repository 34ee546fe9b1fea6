"""What may be decided today, each held against today's floor on common luck: launch or hold, who helps whom, Saturday
or not, two serials changing places.

What counts is when the aircraft are delivered that stand on the floor, are to be launched in these days, or are named.
So the scenarios run from today to LONGER days after the last of their promised dates, or to the file's own end. A
decision stays in force as long as the file's language lets it be said: help and overtime go on, and launches held shift
all those after them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import takewhile
from typing import Any

from ..line.sheet import Sheet
from ..measures.estimates import Difference, paired_difference
from ..measures.run import RunNumbers
from ..scenario.calendar import WorkCalendar, shift_day
from ..scenario.changing import changed
from ..scenario.faults import ScenarioFaults
from ..scenario.paths import plain
from ..scenario.plan import planned_moments
from ..scenario.scenario import Scenario
from .amounts import mean_of
from .dates import by, delivery_days
from .ten_days import shortened, work_days

LONGER = 90  # calendar days
LAUNCH, LEND, SATURDAY, SWAP = "launch or hold", "lend", "Saturday or not", "swap"
EARLIER = 0.05  # days: a smaller mean difference is printed as none


@dataclass(frozen=True, slots=True)
class Decision:
    """Something that may be decided: as `words`, and the scenario in which it is; without one, why it was not tried."""

    question: str
    words: str
    scenario: Scenario | None
    why_not: str = ""


def looked_at(scenario: Scenario, days: int, named: Sequence[str] = ()) -> list[str]:
    """Serials whose dates count: on the floor today, to be launched in these days by takt, and named."""
    standing = [entry.serial for entry in scenario.on_the_line]
    book = [order.serial for order in scenario.orders or () if order.serial not in standing]
    return list(dict.fromkeys([*standing, *book[:_launches(scenario, days)], *named]))


def _launches(scenario: Scenario, days: int) -> int:
    """Launches planned by takt in the days."""
    plan, calendar = scenario.launches, WorkCalendar(scenario)
    if plan.takt_work_days is None:
        return 0
    end = calendar.instant(work_days(scenario, days)[-1] + timedelta(days=1))
    first = calendar.of_moment(plan.first) if plan.first else None
    planned = planned_moments(calendar, plan.takt_work_days, plan.steps, first)
    return sum(1 for _ in takewhile(lambda at: at < end, planned))


def ahead(scenario: Scenario, serials: Sequence[str]) -> Scenario:
    """The scenario up to LONGER days after the last promised date of the serials, at most to its own end."""
    promised = [order.promised for order in scenario.orders or () if order.serial in serials and order.promised]
    if not promised:
        return scenario
    last = max(promised) + timedelta(days=LONGER)
    return scenario if last >= scenario.end else shortened(scenario, last)


def decisions(scenario: Scenario, days: int, swap: tuple[str, str] | None = None) -> list[Decision]:
    """All that may be decided today, from the whole scenario. Raises ScenarioFaults where the swap cannot be, and
    TooShort."""
    found = [_hold(scenario, days), *_helps(scenario), *_saturdays(scenario)]
    if swap is not None:
        found.append(Decision(SWAP, f"{swap[0]} and {swap[1]} change places in the order book",
                              swapped(scenario, *swap)))
    return found


def _hold(scenario: Scenario, days: int) -> Decision:
    """A launch by takt is owed until it is made, so holding it means that none is planned before the days are over."""
    launches, listed = scenario.launches, work_days(scenario, days)
    words = f"no launch up to {listed[-1]}"
    if launches.takt_work_days is None or (scenario.pulse is not None and scenario.pulse.in_force):
        return Decision(LAUNCH, words, None, "only launches by takt without a pulse line are held here")
    calendar = WorkCalendar(scenario)
    after = calendar.reference.next_open(calendar.instant(listed[-1] + timedelta(days=1)))
    if after >= calendar.end or (launches.first is not None and calendar.of_moment(launches.first) >= after):
        return Decision(LAUNCH, words, None, "no launch is planned in these days")
    return Decision(LAUNCH, words, changed(scenario, {"launches.first": calendar.wall_text(after)}))


def _helps(scenario: Scenario) -> Iterator[Decision]:
    """Only help that the file declares (`cover`) is permitted; each pair of trades by itself."""
    pairs = [(to, lender) for to, trade in scenario.trades.items() for lender in trade.cover]
    in_force = scenario.work_rules.cover_in_force
    if not pairs:
        yield Decision(LEND, "lend people", None, "the file declares no trade that may help another (`cover`)")
    for to, lender in pairs:
        if in_force:
            left = {name: factor for name, factor in scenario.trades[to].cover.items() if name != lender}
            yield Decision(LEND, f"{lender} helps {to} no longer", changed(scenario, {f"trades.{to}.cover": left}))
        else:
            only: dict[str, object] = {f"trades.{name}.cover": {} for name, trade in scenario.trades.items()
                                       if trade.cover and name != to}
            only[f"trades.{to}.cover"] = {lender: scenario.trades[to].cover[lender]}
            yield Decision(LEND, f"{lender} helps {to}", changed(scenario, {"work_rules.cover_in_force": True, **only}))


def _saturdays(scenario: Scenario) -> Iterator[Decision]:
    rules = scenario.attendance.overtime if scenario.attendance else None
    if rules is not None and rules.when == "Saturday":
        yield Decision(SATURDAY, "no overtime on Saturdays", without_overtime(scenario))
        return
    if rules is not None:
        yield Decision(SATURDAY, "overtime on Saturdays instead of daily",
                       changed(scenario, {"attendance.overtime.when": "Saturday"}))
        yield Decision(SATURDAY, "no overtime", without_overtime(scenario))
        return
    yield _first_saturdays(scenario)


def _first_saturdays(scenario: Scenario) -> Decision:
    """A plant without overtime: one reference shift on every Saturday as long as the earliest promise is late."""
    words = "a shift on Saturdays while the earliest promise is late"
    calendar = WorkCalendar(scenario)
    hours = shift_day(calendar.shifts[calendar.reference_shift], scenario.tool_control).paid / 60
    trades = [name for name, trade in scenario.trades.items() if any(trade.people.values())]
    rules = {"trades": trades, "max_hours_per_week": hours, "when": "Saturday", "trigger_work_days_late": 0}
    try:
        return Decision(SATURDAY, words, changed(scenario, {"attendance.overtime": rules}))
    except ScenarioFaults as why:
        return Decision(SATURDAY, words, None, f"the plant has no such overtime: {why.faults[0].message}")


def without_overtime(scenario: Scenario) -> Scenario:
    """The same without overtime."""
    assert scenario.attendance is not None
    return scenario.model_copy(update={"attendance": scenario.attendance.model_copy(update={"overtime": None})})


def swapped(scenario: Scenario, one: str, other: str) -> Scenario:
    """Two orders change places in the order book, and promised dates, today. Raises ScenarioFaults where one is unknown
    or stands on the floor."""
    stated = list(scenario.order_changes.stated) if scenario.order_changes else []
    change = {"date": str(scenario.start), "serial": one, "swapped_with": other}
    return changed(scenario, {"order_changes.stated": [*(plain(entry) for entry in stated), change]})


# what it gives -------------------------------------------------------------------------------------------------------
def outcome(decision: Decision, serials: Sequence[str], ground: tuple[Sheet, Sequence[RunNumbers]],
            other: tuple[Sheet, Sequence[RunNumbers]] | None, tried: int = 1) -> dict[str, Any]:
    """A decision against today's floor, run by run: calendar days by which the aircraft looked at deliver earlier, mean
    of them; deliveries of the whole run; the aircraft that gain and lose most. The intervals hold together, with 95 %,
    for all decisions `tried` (Bonferroni)."""
    row: dict[str, Any] = {"question": decision.question, "decision": decision.words}
    if other is None:
        return {**row, "not tried": decision.why_not or "stopped before its runs were done"}
    (sheet, before), (_, after) = ground, other
    pairs = [(a, b) for a, b in zip(before, after, strict=False) if a.run == b.run]
    days = {serial: difference_of_days(serial, pairs, sheet) for serial in serials}
    mean = [sum(days[serial][n] for serial in serials) / len(serials) for n in range(len(pairs))]
    level = 1 - 0.05 / max(1, tried)
    more = paired_difference([float(len(b.delivered)) for _, b in pairs], [float(len(a.delivered)) for a, _ in pairs],
                             level)
    found = paired_difference(mean, [0.0] * len(mean), level)
    means = {serial: sum(of) / len(of) for serial, of in days.items()}
    first, last = max(means, key=lambda s: means[s]), min(means, key=lambda s: means[s])
    return {**row, "days earlier": _row_of(found), "deliveries more": _row_of(more),
            "gains most": _serial(first, means[first]) if means[first] > EARLIER else None,
            "loses most": _serial(last, means[last]) if means[last] < -EARLIER else None,
            "verdict": verdict(found), "by serial": {serial: round(mean, 2) for serial, mean in means.items()}}


def difference_of_days(serial: str, pairs: Sequence[tuple[RunNumbers, RunNumbers]], sheet: Sheet) -> list[float]:
    """Calendar days earlier in the second of each pair; not delivered counts as the day after the last."""
    beyond = float(sheet.calendar.last_day.toordinal() + 1)
    before, after = (delivery_days(serial, [pair[n] for pair in pairs]) for n in (0, 1))
    return [min(a, beyond) - min(b, beyond) for a, b in zip(before, after, strict=True)]


def verdict(found: Difference) -> str:
    """Whether the aircraft deliver earlier or later, as far as the runs can show."""
    return "earlier" if found.low > 0 else "later" if found.high < 0 else "no difference seen"


def _row_of(found: Difference) -> dict[str, Any]:
    row: dict[str, Any] = {"mean": round(found.mean, 2) + 0.0, "more in": found.better_in, "of": found.n}
    return row if found.n < 2 else {**row, "low": round(found.low, 2) + 0.0, "high": round(found.high, 2) + 0.0}


def _serial(serial: str, days: float) -> dict[str, Any]:
    return {"serial": serial, "days": round(days, 1)}


def named_dates(serials: Sequence[str], runs: Mapping[str, tuple[Sheet, Sequence[RunNumbers]]]) -> list[dict[str, Any]]:
    """Named serials by each decision: when half the runs, 8 in 10 and 19 in 20 deliver."""
    return [{"serial": serial, "decision": words, **by(delivery_days(serial, list(of)), sheet.calendar.last_day),
             "deliver": mean_of([float(serial in run.delivered) for run in of], 2)["mean"]}
            for serial in serials for words, (sheet, of) in runs.items()]
