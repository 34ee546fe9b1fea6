"""Deliveries and money by quarter: every number against a sum by hand on a plant of one place and one person."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError
from small_plants import DAY, plant, work

import linesim
from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.cash import BOUGHT_OUT, CONCEDED, FIXED, IN, KINDS, MATERIAL, WAGES, bought_out, cash_of
from linesim.measures.run import RunNumbers, numbers_of
from linesim.measures.value import hours_before_start, in_the_plant, launches_of, material_of, named
from linesim.questions.amounts import ranged, reached
from linesim.questions.money import DECLARE
from linesim.questions.quarters import Asked, UnknownModel, quarters
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
MONEY = {"material_per_aircraft": {"M": 1000}, "carrying_rate_per_year": 0.1, "late_concession_per_day": 100,
         "fixed_cost_per_month": 3100,
         "payments": {"bought_out_share": 0.6, "bought_out_days_before": 10}}
ORDERS = [{"serial": "S1", "model": "M", "promised": "2027-01-31", "price_usd": 5000, "deposit_usd": 500},
          {"serial": "S2", "model": "M", "promised": "2027-03-31", "price_usd": 6000}]
WINDOW = {"from": "2027-01-01", "to": "2027-03-31"}


def small(**more: Any) -> Scenario:
    """One person does 24 hours on each aircraft: the first from Friday 29 January to Tuesday 2 February, 14:30, the
    second from Monday 1 to Wednesday 3 March."""
    return plant([{"id": "A", "packages": [work("a", "ASM", 24)]}], {"ASM": {"people": {"day": 1}, "usd_per_hour": 50}},
                 **{"orders": ORDERS, "end": "2027-03-31", "window": WINDOW, "money": MONEY,
                    "calendar": {"closed": {"2027-01-01": "New Year's Day"}},
                    "launches": {"moments": ["2027-01-29 06:00", "2027-03-01 06:00"]}, **more})


def one_run(scenario: Scenario) -> tuple[Sheet, RunNumbers]:
    sheet = Sheet(scenario)
    return sheet, numbers_of(sheet, run_once(sheet, 1, 0))


@pytest.fixture(scope="module")
def demo() -> tuple[Sheet, list[RunNumbers]]:
    scenario = linesim.read(DEMO)
    return Sheet(scenario), list(linesim.run(scenario, runs=3).runs)


def test_the_small_plant_delivers_when_it_should() -> None:
    """What all sums below rest on."""
    _, run = one_run(small())
    assert run.delivered == {"S1": "2027-02-02 14:30", "S2": "2027-03-03 14:30"}


def test_cash_by_month_by_hand() -> None:
    """Balance and concession at acceptance, 60 % of the material ten days before the planned launch, the rest at the
    launch, eight paid hours a work day, fixed cost each month: 20, 20 and 23 work days."""
    sheet, run = one_run(small())
    found = {kind: of.tolist() for kind, of in cash_of(sheet, run).items()}
    assert found == {
        IN: [0, 4500, 6000], CONCEDED: [0, -200, 0],  # two days after 31 January
        BOUGHT_OUT: [-600, -600, 0], MATERIAL: [-400, 0, -400],  # of 19 January and 19 February
        WAGES: [-8000, -8000, -9200], FIXED: [-3100, -3100, -3100]}


def test_bought_out_material_falls_due_by_the_plan() -> None:
    """It is paid before the planned launch also where the launch is late, or is never made before the end; what was due
    before the start was paid before the runs."""
    orders = [{"serial": f"S{n}", "model": "M", "price_usd": 1} for n in range(1, 5)]
    slow = small(orders=orders, end="2027-01-31", window={"from": "2027-01-01", "to": "2027-01-31"},
                 launches={"takt_work_days": 10})
    nobody = slow.trades["ASM"].model_copy(update={"people": {"day": 0}})  # the first aircraft never leaves
    sheet = Sheet(slow.model_copy(update={"trades": {"ASM": nobody}}))
    run = numbers_of(sheet, run_once(sheet, 1, 0))
    assert len(launches_of(run)) == 1
    days = [(str(day), amount) for day, amount in bought_out(sheet, run)]
    # planned on 4 and 18 January, 1 and 15 February; the first was due on 25 December
    assert days == [("2027-01-08", 600), ("2027-01-22", 600), ("2027-02-05", 600)]


def test_value_in_the_plant_by_hand() -> None:
    """At the end of January the aircraft has its material and Friday's eight hours in it; at the other ends nothing
    stands. Its carrying cost is a tenth of the mean value, by days."""
    sheet, run = one_run(small())
    found = in_the_plant(sheet, run)
    assert found.at_end.tolist() == [1000 + 8 * 50, 0, 0]
    hours = {"January": 28 * 24, "February": 28 * 24}
    friday = 66 * 1000 + (66 - 4.25) * 400     # material since 06:00; the day's work counts from its middle on
    assert found.mean[0] == pytest.approx(friday / hours["January"], rel=1e-9)
    later = 38.5 * 1400 + (38.5 - 10.25) * 400 + (38.5 - 34.25) * 400  # to Tuesday 14:30; Monday's and Tuesday's work
    assert found.mean[1] == pytest.approx(later / hours["February"], rel=1e-9)
    assert found.carrying[0] == pytest.approx(found.mean[0] * 0.1 * 28 / 365)


def test_value_stands_until_delivery() -> None:
    """Nothing of an aircraft before its launch or after its delivery: at 14:30 on the last day one leaves and the next
    comes, with no work done."""
    sheet, run = one_run(small(launches={"moments": ["2027-03-29 06:00", "2027-03-30 06:00"]}))
    assert in_the_plant(sheet, run).at_end.tolist() == [0, 0, 1000]  # S1 left on the 31st, S2 came then


def test_unlimited_orders_leave_the_plant_too() -> None:
    """Aircraft without an order book are delivered: what each worked hour put in leaves with it."""
    listed = small(orders=ORDERS[:1], launches={"moments": ["2027-01-29 06:00"]})
    sheet, run = one_run(listed.model_copy(update={"orders": None}))
    assert list(run.delivered) == ["1"]
    assert in_the_plant(sheet, run).at_end.tolist() == [8 * 50, 0, 0]  # no model, so no material
    assert [value for _, value in bought_out(sheet, run)] == [0]


def test_aircraft_on_the_floor_carry_the_work_behind_them() -> None:
    """The standard hours of the places behind it, and of its own place the share that is done."""
    positions = [{"id": "A", "packages": [work("a", "ASM", 24)]},
                 {"id": "B", "packages": [work("b", "ASM", 10), work("c", "ASM", 30)]}]
    scenario = plant(positions, {"ASM": {"people": {"day": 1}, "usd_per_hour": 50}}, orders=ORDERS[:1], money=MONEY,
                     on_the_line=[{"serial": "S1", "at": "B", "remaining_share": 0.75}], end="2027-01-06",
                     launches={"takt_work_days": 1})
    sheet, run = one_run(scenario)
    assert {name: hours.tolist() for name, hours in hours_before_start(sheet).items()} == {"S1": [24 + 10]}
    # 24 of the 30 hours that are left are worked by then
    assert in_the_plant(sheet, run).at_end.tolist() == [1000 + (34 + 24) * 50]


def test_premiums_are_in_the_wages(demo: tuple[Sheet, list[RunNumbers]]) -> None:
    """An evening hour is paid a tenth more; an overtime hour of the demo half as much again."""
    scenario = plant([{"id": "A", "packages": [work("a", "ASM", 24)]}],
                     {"ASM": {"people": {"day": 1, "evening": 2}, "usd_per_hour": 50}},
                     shifts={"day": DAY, "evening": {"work": ["14:30-18:30", "19:00-23:00"]}},
                     money={**MONEY, "evening_premium": 0.1})
    _, run = one_run(scenario)
    assert run.wage_hours.sum() == pytest.approx(20 * (8 + 2 * 8 * 1.1))
    sheet, _ = demo
    records = run_once(sheet, sheet.scenario.seed, 0)
    found = numbers_of(sheet, records)
    last = (sheet.scenario.end - sheet.scenario.start).days
    extra = sum(one.people * one.paid for one in records.overtime if one.day <= last) / 60
    assert extra > 0
    assert (found.wage_hours - found.labour[:, :, 0]).sum() == pytest.approx(0.5 * extra)


def test_money_is_conserved(demo: tuple[Sheet, list[RunNumbers]]) -> None:
    """In all, what customers pay is the price without the deposit of each aircraft delivered; material is paid once for
    each launch; wages are the paid hours; the months sum to the whole."""
    sheet, runs = demo
    of = {order.serial: order for order in sheet.scenario.orders or ()}
    for run in runs:
        found = cash_of(sheet, run)
        delivered = [of[name] for name, at in run.delivered.items() if at[:4] == "2027"]
        assert found[IN].sum() == pytest.approx(sum((o.price_usd or 0) - (o.deposit_usd or 0) for o in delivered))
        made = [material_of(sheet, named(sheet, n)[1]) for n, at in launches_of(run)
                if sheet.calendar.date_of(at).year == 2027]
        assert -found[MATERIAL].sum() == pytest.approx(0.45 * sum(made))
        assert -found[FIXED].sum() == pytest.approx(12 * 640000)
    answer = quarters(sheet, runs, 1).numbers["money"]["cash"]
    for kind in KINDS:
        by_month = sum(row[kind] for row in answer["by month"].values())
        assert by_month == pytest.approx(answer["in the window"][kind], abs=6.5)  # of 13 rounded numbers
    last = list(answer["by month"].values())[-1]["since the window began"]
    assert last == answer["in the window"]["net"]
    net = [sum(of.sum() for of in cash_of(sheet, run).values()) for run in runs]
    assert last["each run"] == pytest.approx(net, abs=1)


def test_the_answer_by_hand() -> None:
    """Counts, revenue, concessions, at least, months and models of the small plant."""
    sheet, run = one_run(small())
    numbers = quarters(sheet, [run], 1, Asked(at_least=3)).numbers
    assert numbers["quarters"]["2027 Q1"]["each run"] == [2]
    assert numbers["quarters"]["2027 Q1"]["plan"] == 2
    assert numbers["runs that deliver at least"] == {"2": {"2027 Q1": 1}, "3": {"2027 Q1": 0}}
    assert (numbers["at least"]["runs"], numbers["at least"]["of"]) == (0, 1)
    assert numbers["late, mean"] == {"2027 Q1": 1}
    assert [row["mean"] for row in numbers["deliveries by month"].values()] == [0, 1, 1]
    assert [row["promised"] for row in numbers["deliveries by month"].values()] == [1, 0, 1]
    assert numbers["deliveries by model"]["M"]["in the window"]["mean"] == 2
    money = numbers["money"]
    assert money["revenue in the window"]["mean"] == 11000
    assert [row["mean"] for row in money["revenue by month"].values()] == [0, 5000, 6000]
    assert money["revenue by quarter"]["2027 Q1"]["mean"] == 11000
    assert money["late concessions"]["in the window"]["mean"] == 200
    assert money["cash"]["in the window"]["net"]["mean"] == 10500 - 200 - 1200 - 800 - 25200 - 9300
    assert money["cash"]["lowest since the window began"]["mean"] == pytest.approx(-12100 - 7400 - 6700)
    assert numbers["kept up with"] == {"by the end of": {"2027 Q1": {"promised": 2, "half the runs": 2}},
                                       "gap opens": None}


def test_the_last_two_weeks_and_an_even_pace() -> None:
    """From 18 March on, 10 of the quarter's 63 work days; both of these aircraft are delivered then."""
    sheet, run = one_run(small(launches={"moments": ["2027-03-19 06:00", "2027-03-24 06:00"]}))
    row = quarters(sheet, [run], 1).numbers["last two weeks"]["2027 Q1"]
    assert (row["from"], row["mean"], row["share of the quarter"]) == ("2027-03-18", 2, 1.0)
    assert row["even pace"] == round(10 / 63, 4)
    assert row["acceptance slots"] is None
    assert any("no quarter-end policy" in caution for caution in quarters(sheet, [run], 1).numbers["cautions"])


def test_the_gap_and_chances_over_many_runs() -> None:
    """Of 30 runs that deliver both aircraft or only the first: what so many reach, and where the gap opens."""
    sheet, run = one_run(small())
    fewer = {"S1": run.delivered["S1"]}
    runs = [replace(run, run=n, delivered=fewer if n < 20 else run.delivered) for n in range(30)]
    numbers = quarters(sheet, runs, 1).numbers
    assert numbers["runs that deliver at least"] == {"1": {"2027 Q1": 30}, "2": {"2027 Q1": 10}, "3": {"2027 Q1": 0}}
    assert numbers["kept up with"]["gap opens"] == "2027 Q1"
    assert numbers["at least"]["share"] == round(1 / 3, 4)
    found = numbers["money"]["revenue in the window"]
    assert [found[f"{n} in 10 reach"] for n in (9, 8, 5, 1)] == [5000, 5000, 5000, 11000]


def test_ranges_of_an_amount() -> None:
    """Of the amounts 1 to 30: at least counts from above, a range from the 10th to the 90th percentile; of fewer than
    29 each is named."""
    values = [float(n) for n in range(1, 31)]
    assert [reached(values)[f"{n} in 10 reach"] for n in (9, 8, 5, 1)] == [4, 7, 16, 28]
    assert [ranged(values)[name] for name in ("8 in 10 runs from", "half the runs", "to")] == [3, 15, 27]
    assert ranged(values[:3])["each run"] == [1, 2, 3]


def test_counts_are_those_of_run(demo: tuple[Sheet, list[RunNumbers]]) -> None:
    """The same scenario, seed and runs give the same counts: a difference of 0; the models sum to all."""
    sheet, runs = demo
    answer = linesim.run(sheet.scenario, runs=3).answer.numbers
    numbers = quarters(sheet, runs, sheet.scenario.seed).numbers
    for name in ("deliveries in the window", "quarters"):
        assert numbers[name] == answer[name]
    by_model = numbers["deliveries by model"]
    total = sum(row["in the window"]["mean"] for row in by_model.values())
    assert total == pytest.approx(sum(numbers["deliveries in the window"]["each run"]) / 3, abs=0.02)
    each = [quarters(sheet, runs, 1, Asked(model)).numbers["deliveries in the window"]["each run"]
            for model in by_model]
    assert [sum(counts) for counts in zip(*each, strict=True)] == answer["deliveries in the window"]["each run"]


def test_without_money_only_aircraft_are_counted() -> None:
    """One sentence says how to declare it."""
    sheet, run = one_run(small(money=None))
    answer = quarters(sheet, [run], 1)
    assert answer.numbers["money"] is None
    assert answer.sentences.count(DECLARE) == 1
    assert answer.numbers["quarters"]["2027 Q1"]["each run"] == [2]


def test_what_has_no_price_is_said() -> None:
    """Orders without a price, models without material, hours without a cost."""
    orders = [{"serial": "S1"}, {"serial": "S2", "model": "N", "price_usd": 5}]
    scenario = small(orders=orders, money={**MONEY, "evening_premium": 0.1})
    trades = {"ASM": scenario.trades["ASM"].model_copy(update={"usd_per_hour": None})}
    sheet, run = one_run(scenario.model_copy(update={"trades": trades}))
    said = "\n".join(quarters(sheet, [run], 1).numbers["money"]["cautions"])
    for part in ("1 of 2 orders have no price_usd", "no material is declared for N, no model",
                 "no usd_per_hour is declared for ASM", "no shift is called evening"):
        assert part in said


def test_payments_at_other_times_are_refused() -> None:
    """A word that the money does not follow is a fault of the file, never a number that looks right."""
    with pytest.raises(ValidationError, match="at acceptance"):
        small(money={**MONEY, "payments": {"balance": "in two parts"}})


def test_an_unknown_model_is_refused() -> None:
    """With what there is."""
    sheet, run = one_run(small())
    with pytest.raises(UnknownModel, match="no order is of model 'X'; the order book has M"):
        quarters(sheet, [run], 1, Asked("X"))


def test_the_count_so_far_by_hand(demo: tuple[Sheet, list[RunNumbers]]) -> None:
    """One by the end of February, two by the end of March, of one and two promised; at the end of the window it is the
    count of the window, and the gap said of the last quarter is what it is short of those promised."""
    sheet, run = one_run(small())
    rows = quarters(sheet, [run], 1).numbers["delivered by the end of the month"]
    assert [(month, row["promised"], row["each run"]) for month, row in rows.items()] == [
        ("2027-01", 1, [0]), ("2027-02", 1, [1]), ("2027-03", 2, [2])]
    sheet, runs = demo
    many = [replace(run, run=n) for n, run in enumerate(runs * 10)]
    numbers = quarters(sheet, many, 1).numbers
    last = list(numbers["delivered by the end of the month"].values())[-1]
    whole = numbers["deliveries in the window"]
    assert [last[f"{n} in 10 reach"] for n in (9, 8, 5, 1)] == [whole[f"{n} in 10 reach"] for n in (9, 8, 5, 1)]
    assert last["promised"] == numbers["promised in the window"]
    assert numbers["kept up with"]["by the end of"]["2027 Q4"]["half the runs"] == whole["5 in 10 reach"]
