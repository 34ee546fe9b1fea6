"""Dates by serial and for a new order: percentiles, kept promises and lost days against counts by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from small_plants import MONDAY, plant, work

import linesim
from linesim.line.floor import run_once
from linesim.line.records import REASON_WORDS
from linesim.line.sheet import Sheet
from linesim.measures.chain import Chains
from linesim.measures.ledger import Ledger
from linesim.measures.lost_days import LOST
from linesim.measures.run import RunNumbers, numbers_of
from linesim.questions.dates import UnknownSerial, dates, safe_to_promise
from linesim.questions.lost_by_serial import lost_days
from linesim.questions.new_order import NewOrder, NoOpenSlot, with_new_order
from linesim.scenario.changing import changed
from linesim.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DEMO = SCENARIOS / "birchwater.yaml"
FIRST = date(2027, 1, 11)


@pytest.fixture(scope="module")
def tiny() -> Scenario:
    return linesim.read(SCENARIOS / "tiny.yaml")


def one_run(scenario: Scenario) -> tuple[Sheet, RunNumbers]:
    sheet = Sheet(scenario)
    return sheet, numbers_of(sheet, run_once(sheet, 1, 0))


def many(run: RunNumbers, serial: str, delivered: int, of: int = 30) -> list[RunNumbers]:
    """Runs in which a serial is delivered a day later each, from FIRST on; not at all in the last ones."""
    found = []
    for n in range(of):
        others = {name: at for name, at in run.delivered.items() if name != serial}
        mine = {serial: f"{FIRST + timedelta(days=n)} 12:00"} if n < delivered else {}
        found.append(replace(run, run=n, delivered=others | mine))
    return found


def row_of(answer: Any, serial: str) -> dict[str, Any]:
    return next(row for row in answer.numbers["serials"] if row["serial"] == serial)


def test_dates_are_read_as_by(tiny: Scenario) -> None:
    """Of 30 runs a day apart, half deliver by the 15th date, 8 in 10 by the 24th, 19 in 20 by the 29th."""
    sheet, run = one_run(tiny)
    row = row_of(dates(sheet, many(run, "S1", 30), 1), "S1")
    days = {words: str(FIRST + timedelta(days=n - 1)) for words, n in (
        ("half by", 15), ("8 in 10 by", 24), ("19 in 20 by", 29))}
    assert {words: row[words] for words in days} == days
    low, high = row["8 in 10 by, 95 % interval"]
    assert low < days["8 in 10 by"] < high


def test_what_is_not_delivered_ranks_last(tiny: Scenario) -> None:
    """In 7 of 30 runs it is not delivered: 8 in 10 runs deliver only after the end."""
    sheet, run = one_run(tiny)
    answer = dates(sheet, many(run, "S1", 23), 1)
    row = row_of(answer, "S1")
    assert row["half by"] == str(FIRST + timedelta(days=14))
    assert row["8 in 10 by"] == row["19 in 20 by"] == "after 2027-02-26"
    assert any("1 aircraft are not delivered in every run" in caution for caution in answer.numbers["cautions"])


@pytest.mark.parametrize(("kept", "state"), [(24, "on time"), (23, "at risk"), (15, "at risk"), (14, "late")])
def test_kept_promises_and_the_state(tiny: Scenario, kept: int, state: str) -> None:
    """8 in 10 runs keep it: on time; half do: at risk; fewer: late. A delivery on the promised date keeps it."""
    promised = FIRST + timedelta(days=kept - 1)
    sheet, run = one_run(changed(tiny, {"orders.S1.promised": promised}))
    row = row_of(dates(sheet, many(run, "S1", 30), 1), "S1")
    assert (row["runs that keep it"], row["of"], row["state"]) == (kept, 30, state)
    assert row["low"] < kept / 30 < row["high"]


def test_a_promise_that_moves_is_the_one_of_the_run(tiny: Scenario) -> None:
    """Where the order's promise was put off, that date counts; where it was cancelled, the run does not."""
    sheet, run = one_run(tiny)
    runs = [replace(one, promised={"S1": "2027-03-31"} if n < 10 else {"S1": ""} if n < 15 else {})
            for n, one in enumerate(many(run, "S1", 30))]
    row = row_of(dates(sheet, runs, 1), "S1")  # by the order book it is promised for 7 January
    assert (row["runs that keep it"], row["of"]) == (10, 25)


def test_the_same_dates_as_run() -> None:
    """The demo's serials by the answer of `run`: the same dates and kept promises."""
    scenario = linesim.read(DEMO)
    _, run = one_run(scenario)
    sheet = Sheet(scenario)
    runs = [replace(run, run=n) for n in range(30)]
    from linesim.questions.baseline import baseline

    theirs = {row["serial"]: row for row in baseline(sheet, runs, 1).numbers["serials"]}
    for row in dates(sheet, runs, 1).numbers["serials"]:
        assert {name: row[name] for name in theirs[row["serial"]]} == theirs[row["serial"]]


def test_lost_days_are_those_of_the_chain() -> None:
    """Of every aircraft on the floor, delivered or not: what its stays lost, place by place, as told of it alone."""
    scenario = linesim.read(DEMO)
    sheet = Sheet(scenario)
    records = run_once(sheet, scenario.seed, 1)
    found = lost_days(sheet, [numbers_of(sheet, records)])
    ledger = Ledger(sheet, records)
    chains = Chains(ledger)
    some = [n for n in ledger.aircraft() if n < len(scenario.orders or ())][::7]
    assert len(some) > 8
    for n in some:
        lost: dict[tuple[str, bool, str], float] = {}
        for stay in chains.that_set_the_date(n):
            for state, days in stay.work_days.items():
                if int(state) in LOST:
                    key = (sheet.places[stay.place].id, stay.parked, REASON_WORDS[state])
                    lost[key] = lost.get(key, 0.0) + days
        kept = found.get(records.serials[n], {})
        assert kept == pytest.approx({key: lost.get(key, 0.0) for key in kept}, abs=1 / 128)
        assert {key for key, days in lost.items() if days >= 0.06} <= set(kept)


def test_the_main_reason_by_hand() -> None:
    """Two aircraft, one mechanic: the second one waits two work days for him at A, and is nowhere else held up."""
    scenario = plant([{"id": "A", "docks": 2, "packages": [work("a", "ASM", 16)]}], {"ASM": {"people": {"day": 1}}},
                     orders=[{"serial": "S1", "promised": "2027-01-05"}, {"serial": "S2", "promised": "2027-01-05"}])
    sheet, run = one_run(scenario)
    assert run.delivered == {"S1": "2027-01-05 14:30", "S2": "2027-01-07 14:30"}
    answer = dates(sheet, [run], 1)
    assert row_of(answer, "S1")["work days lost"] == []
    assert row_of(answer, "S2")["work days lost"] == [
        {"place": "A", "name": "", "parked before it": False, "reason": "people", "work days": pytest.approx(2.0)}]
    assert answer.sentences[1] == ("The late ones lose most days to waiting for people at A: 2.0 work days each, mean "
                                   "of the runs.")


# a new order ---------------------------------------------------------------------------------------------------------
def test_the_next_open_slot_is_after_the_orders(tiny: Scenario) -> None:
    """Three orders fill the launches of 4, 5 and 6 January; the new one has the 7th, and is launched then."""
    new = with_new_order(Sheet(tiny))
    assert (new.serial, new.launch) == ("S4", date(2027, 1, 7))
    sheet, run = one_run(new.scenario)
    planned = run.tables.launches["planned"]
    assert sheet.calendar.wall_text(float(planned[3])) == "2027-01-07 06:00"  # type: ignore[index]
    assert run.delivered["S4"] > "2027-01-07"


def test_aircraft_on_the_floor_take_no_slot() -> None:
    """The demo launches 64 of its 80 orders, one every 4.5 work days; the slot after them is open."""
    scenario = linesim.read(DEMO)
    sheet = Sheet(scenario)
    new = with_new_order(sheet)
    assert (new.serial, new.model, new.scheme) == ("DN4-0313", "D4", "two_tone")
    calendar = sheet.calendar
    days = calendar.reference.reading(calendar.instant(new.launch or FIRST, 24 * 60)) / calendar.work_day
    assert 64 * 4.5 < days <= 64 * 4.5 + 1


def test_a_new_order_changes_nothing_for_the_others() -> None:
    """The demo would build stock in that slot: with an order there, all others are delivered as before."""
    scenario = linesim.read(DEMO)
    new = with_new_order(Sheet(scenario))
    _, before = one_run(scenario)
    _, after = one_run(new.scenario)
    assert new.serial in after.delivered
    assert {name: at for name, at in after.delivered.items() if name != new.serial} == before.delivered


def test_one_in_five_promises_is_missed(tiny: Scenario) -> None:
    """Of 30 runs a day apart the 24th date is safe to promise: 6 runs deliver after it."""
    sheet, run = one_run(tiny)
    new = NewOrder(tiny, "S9", None, None, None)
    found = safe_to_promise(sheet, new, many(run, "S9", 30))
    assert found["safe to promise"] == found["8 in 10 by"] == str(FIRST + timedelta(days=23))
    assert found["runs that miss it"] == 6
    assert found["9 in 10 by"] == str(FIRST + timedelta(days=26))
    assert safe_to_promise(sheet, new, many(run, "S9", 23))["safe to promise"] is None
    assert "safe to promise" not in safe_to_promise(sheet, new, many(run, "S9", 20, 20))


def test_what_cannot_be_promised_is_said(tiny: Scenario) -> None:
    """No date where 8 in 10 runs do not deliver, and none from too few runs."""
    sheet, run = one_run(tiny)
    new = NewOrder(tiny, "S9", "M", None, date(2027, 1, 7))
    never = dates(sheet, many(run, "S9", 30), 1, new=(new, many(run, "S9", 23))).sentences[-1]
    assert never == ("A new M order launched on 2027-01-07 cannot be promised: fewer than 8 in 10 runs deliver it by "
                     "2027-02-26, when the runs end.")
    few = dates(sheet, many(run, "S9", 20, 20), 1, new=(new, many(run, "S9", 20, 20))).sentences[-1]
    assert few.endswith("too few runs for an 8-in-10 range; 29 are needed to name a date.")


def test_without_an_open_slot_it_is_refused(tiny: Scenario) -> None:
    """Listed moments that are all taken; a slot after the end; no order book; a model that nobody ordered."""
    listed = plant([{"id": "A", "packages": [work("a", None, 1)]}], {}, launches={"moments": [MONDAY]})
    with pytest.raises(NoOpenSlot, match="the orders fill all 1 of them: add a moment"):
        with_new_order(Sheet(listed))
    more = listed.model_copy(update={"launches": listed.launches.model_copy(
        update={"moments": ((listed.launches.moments or ())[0],) * 2})})
    assert with_new_order(Sheet(more)).launch == date(2027, 1, 4)
    with pytest.raises(NoOpenSlot, match="2027-01-07, is after the end 2027-01-06"):
        with_new_order(Sheet(changed(tiny, {"end": date(2027, 1, 6)})))
    with pytest.raises(NoOpenSlot, match="no order book"):
        with_new_order(Sheet(tiny.model_copy(update={"orders": None})))
    with pytest.raises(NoOpenSlot, match="no order is of model 'X'"):
        with_new_order(Sheet(tiny), "X")


def test_an_unknown_serial_is_refused(tiny: Scenario) -> None:
    """With what is near."""
    sheet, run = one_run(tiny)
    with pytest.raises(UnknownSerial, match="no serial 'S7'; it has S1 to S3"):
        dates(sheet, [run], 1, "S7")


def test_the_same_from_python(tiny: Scenario) -> None:
    """`linesim.dates`, `quarters` and `promise` answer what the commands answer."""
    result = linesim.run(tiny, runs=30)
    assert linesim.dates(result).numbers["states"] == {"on time": 3, "at risk": 0, "late": 0}
    assert linesim.dates(result, serial="S2").numbers["serials"][0]["serial"] == "S2"
    assert linesim.quarters(result, at_least=3).numbers["at least"]["runs"] == 30
    found = linesim.promise(tiny, runs=30)
    assert found["launch slot"] == "2027-01-07"
    assert found["safe to promise"] == found["8 in 10 by"]
