"""F33, F27: one trade lends to another, and the option that everyone gets the least crew first.

Each example is worked out by hand in its comment, on a day of 06:00-10:00 and 10:30-14:30.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from small_plants import MONDAY, account_of, check_sums, closed, crews, plant, run, work


def one_place(packages: list[dict[str, Any]], trades: dict[str, Any], **more: Any) -> Any:
    return plant([{"id": "A", "packages": packages}], trades, **more)


def two_aircraft(
    packages: list[tuple[str, dict[str, Any]]],
    trades: dict[str, Any],
    moments: tuple[str, str],
    promised: tuple[str, str],
    **more: Any,
) -> Any:
    """Two aircraft side by side in a place of two docks; each package belongs to one of them."""
    return plant(
        [{"id": "A", "docks": 2, "packages": [{**p, "models": [of]} for of, p in packages]}],
        trades,
        [{"serial": f"S{n}", "model": f"M{n}", "promised": promised[n - 1]} for n in (1, 2)],
        launches={"moments": list(moments)},
        **more,
    )


# who lends -------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("cover", "expected"),
    [
        ({"RIG": 0.5, "AVX": 1.0}, "04 14:30"),  # 4 h at 0.5
        ({"AVX": 1.0, "RIG": 0.5}, "04 10:00"),
    ],
)  # 4 h at 1
def test_lenders_are_asked_in_the_order_written(cover: dict[str, float], expected: str) -> None:
    """F33: free people of the lenders in the order written, not the most able first."""
    trades = {"ASM": {"people": 0, "cover": cover}, "RIG": {"people": 1}, "AVX": {"people": 1}}
    assert closed(one_place([work("a", "ASM", 4)], trades)) == {"S1 a": expected}


def test_lenders_of_both_trades_in_one_crew() -> None:
    """F33: a crew works at the sum of its people's effectiveness: 0.5 + 0.75 + 0.75, 8 h of labour in 4."""
    trades = {"ASM": {"people": 0, "cover": {"RIG": 0.5, "AVX": 0.75}}, "RIG": {"people": 1}, "AVX": {"people": 2}}
    assert closed(one_place([work("a", "ASM", 8, crew_max=3)], trades)) == {"S1 a": "04 10:00"}


def test_own_people_first() -> None:
    """F33: the first package gets the trade's own person, only the second a lent one: 4 h at 1, 4 h at 0.5."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 2}}
    assert closed(one_place([work("a", "ASM", 4), work("b", "ASM", 4)], trades)) == {
        "S1 a": "04 10:00",
        "S1 b": "04 14:30",
    }


def test_own_people_first_inside_a_crew() -> None:
    """F33: an exact crew of 2 is one of its own and one lent, also if more could be lent: 6 h at 1.5."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 2}}
    assert closed(one_place([work("a", "ASM", 6, crew=2)], trades)) == {"S1 a": "04 10:00"}


def test_lent_people_count_fully_as_heads_under_the_maximum() -> None:
    """F33: at most 2 heads, 1 + 0.5; a third would make 2 an hour."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 2}}
    sheet, records = run(one_place([work("a", "ASM", 6, crew_max=2)], trades))
    check_sums(sheet, records)
    assert [(c.job, c.closed / 60) for c in records.closings] == [("a", 10)]


def test_lent_people_count_fully_as_heads_for_the_minimum() -> None:
    """F33, F26: 1 own and 2 lent at 0.25 are 3 heads: 6 h at 1.5; with only 1 lent the work never starts."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.25}}, "RIG": {"people": 2}}
    assert closed(one_place([work("a", "ASM", 6, crew_min=3, crew_max=4)], trades)) == {"S1 a": "04 10:00"}
    trades["RIG"]["people"] = 1
    assert closed(one_place([work("a", "ASM", 6, crew_min=3, crew_max=4)], trades)) == {}


def test_a_lender_of_a_lender_does_not_lend() -> None:
    """F33: only the trades that `cover` names for the trade may lend to it."""
    trades = {
        "ASM": {"people": 0, "cover": {"RIG": 1.0}},
        "RIG": {"people": 0, "cover": {"AVX": 1.0}},
        "AVX": {"people": 1},
    }
    assert closed(one_place([work("a", "ASM", 1), work("r", "RIG", 1)], trades)) == {"S1 r": "04 07:00"}


def test_zero_hours_with_a_lent_person() -> None:
    """F34: closes in the instant it is served, needing its people at that instant; lent ones are people."""
    trades = {"ASM": {"people": 0, "cover": {"RIG": 0.5}}, "RIG": {"people": 1}}
    packages = [work("r", "RIG", 2), work("a", "ASM", 0)]
    assert closed(one_place(packages, trades)) == {"S1 r": "04 08:00", "S1 a": "04 08:00"}


def test_the_lenders_effectiveness_is_multiplied() -> None:
    """F33, F62: their own trade's effectiveness x cover: one of RIG's two is new at 0.5 on day one: RIG is worth
    0.75; 4.8 h at 0.75 x 0.8 = 0.6 each, two of them: 4 h."""
    trades = {
        "ASM": {"people": 0, "cover": {"RIG": 0.8}},
        "RIG": {"people": 1, "headcount_steps": [{"from": "2027-01-05", "shift": "day", "people": 2}]},
    }
    scenario = plant(
        [{"id": "A", "packages": [work("a", "ASM", 4.8, crew=2)]}],
        trades,
        attendance={"proficiency": {"start": 0.5, "weeks_to_full": 100}},
    )
    assert closed(scenario)["S1 a"] == "05 10:00"


def test_productivity_of_the_shift_counts_for_lent_people() -> None:
    """F62, F33: productivity 0.5 x cover 0.5: 2 h of labour take 8."""
    trades = {"ASM": {"people": 0, "cover": {"RIG": 0.5}}, "RIG": {"people": 1}}
    from small_plants import DAY

    assert closed(one_place([work("a", "ASM", 2)], trades, shifts={"day": {**DAY, "productivity": 0.5}})) == {
        "S1 a": "04 14:30"
    }


# when they come and go -------------------------------------------------------------------------------------------
def test_own_work_of_the_lender_goes_first() -> None:
    """F33: the second pass comes after every trade had its starts, whatever the promises: RIG's own r, promised last,
    is served by RIG; a follows."""
    trades = {"ASM": {"people": 0, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    scenario = two_aircraft(
        [("M1", work("a", "ASM", 2)), ("M2", work("r", "RIG", 4))],
        trades,
        (MONDAY, MONDAY),
        ("2027-02-01", "2027-02-20"),
    )
    assert closed(scenario) == {"S2 r": "04 10:00", "S1 a": "04 12:30"}


def test_own_growth_of_the_lender_goes_before_lending() -> None:
    """F33: after every trade had its starts and growth: r (up to 2) takes both of RIG before one is lent."""
    trades = {"ASM": {"people": 0, "cover": {"RIG": 1.0}}, "RIG": {"people": 2}}
    packages = [work("r1", "RIG", 2), work("r2", "RIG", 6, crew_max=2), work("a", "ASM", 1)]
    # 08:00: r1 ends, r2 has 4 h left and grows to 2: 10:00; a from 10:30
    assert closed(one_place(packages, trades)) == {"S1 r1": "04 08:00", "S1 r2": "04 10:00", "S1 a": "04 11:30"}


def test_lent_people_are_not_called_back() -> None:
    """F33: not called back before the package ends, also for own work promised earlier; S2's r waits 07:00 to 10:00 and
    the waiting is for people."""
    from linesim.line.records import State
    from linesim.measures.ledger import Ledger

    trades = {"ASM": {"people": 0, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    scenario = two_aircraft(
        [("M1", work("a", "ASM", 4)), ("M2", work("r", "RIG", 2))],
        trades,
        (MONDAY, "2027-01-04 07:00"),
        ("2027-02-20", "2027-02-01"),
    )
    assert closed(scenario) == {"S1 a": "04 10:00", "S2 r": "04 12:30"}
    reasons = Ledger(*run(scenario)).of(1)
    assert reasons == {State.PEOPLE: 3, State.OFF_SHIFT: 0.5, State.WORK: 2}


def test_freed_they_serve_their_own_trade_first() -> None:
    """F33: S1's a2 is promised first and waits longer, but RIG, freed at 08:00, serves S2's r."""
    trades = {"ASM": {"people": 0, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    scenario = two_aircraft(
        [("M1", work("a1", "ASM", 2)), ("M1", work("a2", "ASM", 1)), ("M2", work("r", "RIG", 2))],
        trades,
        (MONDAY, "2027-01-04 07:00"),
        ("2027-02-01", "2027-02-20"),
    )
    assert closed(scenario) == {"S1 a1": "04 08:00", "S2 r": "04 10:00", "S1 a2": "04 11:30"}


def test_kept_people_are_not_lent() -> None:
    """F32: RIG's second person is kept for r2 (exactly 2) and not lent; without `reserve` he is lent at 06:00."""
    packages = [work("r1", "RIG", 4), work("r2", "RIG", 4, crew=2), work("a", "ASM", 2)]
    trades = {"ASM": {"people": 0, "cover": {"RIG": 1.0}}, "RIG": {"people": 2, "reserve": True}}
    assert closed(one_place(packages, trades)) == {"S1 r1": "04 10:00", "S1 r2": "04 12:30", "S1 a": "04 14:30"}
    trades["RIG"]["reserve"] = False
    assert closed(one_place(packages, trades)) == {"S1 a": "04 08:00", "S1 r1": "04 10:00", "S1 r2": "04 12:30"}


def test_cover_not_in_force_lends_nobody() -> None:
    """The declared cover is not used while `cover_in_force` is false: the run is the one without it."""
    packages = [work("a", "ASM", 4, crew_max=2), work("r", "RIG", 1)]
    with_it = {"ASM": {"people": 1, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    without = {"ASM": {"people": 1}, "RIG": {"people": 1}}
    off = run(one_place(packages, with_it, work_rules={"cover_in_force": False}))[1]
    assert off.segments == run(one_place(packages, without))[1].segments
    assert off.segments != run(one_place(packages, with_it))[1].segments


# one order of loans ----------------------------------------------------------------------------------------------
def test_unserved_work_of_a_trade_takes_loans_before_running_work_grows() -> None:
    """F33: its packages not served, then its running ones: b, promised last, gets the lent one; a does not grow."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    scenario = two_aircraft(
        [("M1", work("a", "ASM", 4, crew_max=2)), ("M2", work("b", "ASM", 3))],
        trades,
        (MONDAY, MONDAY),
        ("2027-02-01", "2027-02-20"),
    )
    # 09:00: b ends and RIG joins a: 1 h left at 2 an hour
    assert closed(scenario) == {"S2 b": "04 09:00", "S1 a": "04 09:30"}


@pytest.mark.parametrize(
    ("first", "expected"),
    [
        ("ASM", {"S1 a": "04 10:00", "S1 p": "04 12:30"}),  # a grows by RIG at 06:00; p from 10:30
        ("PNT", {"S1 p": "04 08:00", "S1 a": "04 11:30"}),
    ],
)  # p first; a 2 h, then 4 h at 2, then 1 h of 2
def test_loans_go_trade_by_trade_in_file_order(first: str, expected: dict[str, str]) -> None:
    """F33: the second pass takes one trade after the other: the growth of the first trade's running work goes before
    the second trade's work that waits."""
    of = {"ASM": {"people": 1, "cover": {"RIG": 1.0}}, "PNT": {"people": 0, "cover": {"RIG": 1.0}}}
    names = [first, *(name for name in of if name != first)]
    trades = {**{name: of[name] for name in names}, "RIG": {"people": 1}}
    assert closed(one_place([work("a", "ASM", 8, crew_max=2), work("p", "PNT", 2)], trades)) == expected


def test_running_work_grows_by_a_loan_when_a_lender_becomes_free() -> None:
    """F33: a: 2 h alone, then 1.5 an hour from 08:00, 6 h: 4 by 14:30 and 2 next morning, when RIG serves r2 first:
    2 h at 1, no loan."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 1}}
    packages = [work("a", "ASM", 13, crew_max=2), work("r", "RIG", 2)]
    # 2 + 6 x 1.5 = 11 on Monday, 2 at 1.5 on Tuesday
    assert closed(one_place(packages, trades)) == {"S1 r": "04 08:00", "S1 a": "05 07:20"}


def test_no_growth_by_loans_where_crews_do_not_grow() -> None:
    """F28 option: the crew is fixed until the package ends; lent people may make it up at its start only."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    packages = [work("a", "ASM", 6, crew_max=2), work("r", "RIG", 1)]
    assert closed(one_place(packages, trades, work_rules={"crew_grows": False})) == {
        "S1 r": "04 07:00",
        "S1 a": "04 12:30",
    }


# shifts ----------------------------------------------------------------------------------------------------------
EVENING = {"work": ["14:30-18:30", "19:00-23:00"]}


def test_put_down_at_the_end_of_the_shift() -> None:
    """F29: nobody of ASM on Monday, so RIG does 8 h at 0.5; on Tuesday ASM's own person does the 4 h left."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 1}}
    scenario = one_place(
        [work("a", "ASM", 8)], trades, known={"present": [{"trade": "ASM", "date": "2027-01-04", "people": 0}]}
    )
    assert closed(scenario) == {"S1 a": "05 10:00"}


def test_a_crew_is_of_one_shift() -> None:
    """F33: ASM's person of the day and RIG's of the evening that overlaps are no crew of 2; two of the same are."""
    shifts = {"day": {"work": ["06:00-14:00"]}, "late": {"work": ["12:00-20:00"]}}
    trades = {"ASM": {"people": {"day": 1, "late": 0}, "cover": {"RIG": 1.0}}, "RIG": {"people": {"late": 1}}}
    packages = [work("a", "ASM", 4, crew=2)]
    assert closed(one_place(packages, trades, shifts=shifts)) == {}
    trades["RIG"]["people"] = {"late": 2}
    assert closed(one_place(packages, trades, shifts=shifts)) == {"S1 a": "04 14:00"}


def test_each_shift_lends_its_own() -> None:
    """F29, F33: RIG's day person lends from 06:00, RIG's evening person from 14:30: 8 h at 0.5 are 4, then 4 at 0.5."""
    trades = {
        "ASM": {"people": {"day": 0, "evening": 0}, "cover": {"RIG": 0.5}},
        "RIG": {"people": {"day": 1, "evening": 1}},
    }
    from small_plants import DAY

    scenario = one_place([work("a", "ASM", 8)], trades, shifts={"day": DAY, "evening": EVENING})
    assert closed(scenario) == {"S1 a": "04 23:00"}


def test_the_first_shift_that_can_give_the_least_crew_serves_it() -> None:
    """F33: a trade on several shifts: shifts in file order; at 12:00 both are on; ASM's day person is busy, the late
    shift's own person serves b before anybody lends."""
    shifts = {"day": {"work": ["06:00-14:00"]}, "late": {"work": ["12:00-20:00"]}}
    trades = {"ASM": {"people": {"day": 1, "late": 1}, "cover": {"RIG": 0.5}}, "RIG": {"people": {"late": 1}}}
    packages = [work("a", "ASM", 8), work("b", "ASM", 2), work("r", "RIG", 2)]
    assert closed(one_place(packages, trades, shifts=shifts)) == {
        "S1 r": "04 14:00",
        "S1 b": "04 14:00",
        "S1 a": "04 14:00",
    }


def test_lent_people_rest_at_the_meal_and_stay_on_the_job() -> None:
    """F29: crews at work keep their people over the meal: RIG's own r, startable at 10:15 in the meal, waits till a
    ends at 12:30."""
    trades = {"ASM": {"people": 0, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    scenario = two_aircraft(
        [("M1", work("a", "ASM", 6)), ("M2", work("r", "RIG", 2))],
        trades,
        (MONDAY, "2027-01-04 10:15"),
        ("2027-02-20", "2027-02-01"),
    )
    assert closed(scenario) == {"S1 a": "04 12:30", "S2 r": "04 14:30"}


LATE_S1 = {
    "start": "2026-12-28",
    "attendance": {"overtime": {"trades": ["ASM"], "max_hours_per_week": 10, "trigger_work_days_late": 1}},
}


def late_plant(packages: list[tuple[str, dict[str, Any]]], people: dict[str, Any]) -> Any:
    """S0 only stands there, late from 30 December on: the week of 4 January has 2 h of overtime a day."""
    return plant(
        [
            {
                "id": "A",
                "docks": 3,
                "packages": [
                    {"id": "wait", "kind": "hold", "elapsed_hours": 900, "after": [], "models": ["M0"]},
                    *({**p, "models": [of]} for of, p in packages),
                ],
            }
        ],
        people,
        [
            {"serial": "S0", "model": "M0", "promised": "2026-12-29"},
            {"serial": "S1", "model": "M1"},
            {"serial": "S2", "model": "M2"},
        ],
        launches={"moments": ["2026-12-28 06:00", MONDAY, "2027-01-04 07:00"]},
        **LATE_S1,
    )


def test_a_lender_who_goes_home_leaves_the_rest_of_the_crew_at_work() -> None:
    """F30: ASM stays for 2 h of overtime, RIG does not: at 14:30 the crew of 1 + 1 is cut to the one of ASM, which is
    its minimum, and goes on: 16 + 2 h by 16:30 of 20, then 2 an hour."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    sheet, records = run(late_plant([("M1", work("a", "ASM", 20, crew_max=2))], trades))
    check_sums(sheet, records)
    assert [sheet.calendar.wall_text(c.closed) for c in records.closings if c.job == "a"] == ["2027-01-05 07:00"]
    assert account_of(sheet, records)["ASM"]["worked"] == pytest.approx(11)
    assert account_of(sheet, records)["RIG"]["worked"] == pytest.approx(9)


def test_the_lender_gone_home_is_missed_where_the_crew_is_exact() -> None:
    """F30: exactly 2: when RIG goes home at 14:30 a (16 of 20 h done) is put down and ASM is free for S2's b, 2 h."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 1.0}}, "RIG": {"people": 1}}
    found = closed(late_plant([("M1", work("a", "ASM", 20, crew=2)), ("M2", work("b", "ASM", 2))], trades))
    assert found == {"S2 b": "04 16:30", "S1 a": "05 08:00"}


def test_the_borrower_gone_home_leaves_the_lent_people() -> None:
    """F30, F64: RIG has the overtime, ASM not: a crew of 1 + 1 at 0.5 goes on with the lent one: 12 + 1 h by 16:30."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 1}}
    scenario = late_plant([("M1", work("a", "ASM", 14, crew_max=2))], trades)
    rules = scenario.attendance.overtime.model_copy(update={"trades": ("RIG",)})
    scenario = scenario.model_copy(update={"attendance": scenario.attendance.model_copy(update={"overtime": rules})})
    assert closed(scenario) == {"S1 a": "05 06:40"}


# hours -----------------------------------------------------------------------------------------------------------
def test_lent_hours_are_booked_on_the_lenders_trade() -> None:
    """F108: per person: RIG is paid and RIG worked: a takes 4 h of ASM's one and 4 h of RIG's two."""
    trades = {"ASM": {"people": 1, "cover": {"RIG": 0.5}}, "RIG": {"people": 2}}
    scenario = one_place([work("a", "ASM", 8, crew=3)], trades, end="2027-01-04")
    sheet, records = run(scenario)
    check_sums(sheet, records)
    assert account_of(sheet, records) == {
        "ASM": {"paid": 8, "worked": 4, "idle": 4},
        "RIG": {"paid": 16, "worked": 8, "idle": 8},
    }
    # both trades stand in the records of the work
    assert sorted(crews(records, "a"), key=lambda row: row[2]) == [(6, 10, "ASM", 1), (6, 10, "RIG", 2)]


def test_cover_never_delivers_later_where_lenders_are_idle() -> None:
    """Direction: one dock, packages in a row, lenders without own work: 40 plants on the same luck, people missing on
    some days."""
    draw, sooner = random.Random(33), 0
    for _ in range(40):
        packages = []
        for n in range(draw.randint(1, 5)):
            least = draw.randint(1, 2)
            packages.append(
                {
                    "id": f"p{n}",
                    "trade": draw.choice(["ASM", "PNT"]),
                    "hours": draw.randint(1, 30),
                    "crew_min": least,
                    "crew_max": least + draw.randint(0, 2),
                }
            )
        rate = draw.choice([0.25, 0.5, 0.8, 1.0])
        roster = {"ASM": draw.randint(1, 3), "PNT": draw.randint(1, 3), "RIG": draw.randint(1, 3)}
        facts = [
            {
                "trade": draw.choice(["ASM", "PNT"]),
                "date": f"2027-01-{draw.randint(4, 15):02d}",
                "people": draw.randint(0, 3),
            }
            for _ in range(4)
        ]
        facts = list({(f["trade"], f["date"]): f for f in facts}.values())
        dates = []
        for cover in ({}, {"RIG": rate}):
            trades = {
                name: {"people": n, **({"cover": cover} if name != "RIG" and cover else {})}
                for name, n in roster.items()
            }
            sheet, records = run(
                plant(
                    [{"id": "A", "packages": packages}],
                    trades,
                    [{"serial": f"S{n}"} for n in range(4)],
                    known={"present": facts},
                )
            )
            check_sums(sheet, records)
            dates.append([records.delivered.get(n, float("inf")) for n in range(4)])
        assert all(with_it <= without for without, with_it in zip(*dates, strict=True))
        sooner += dates[1] < dates[0]
    assert sooner > 20


# the least crew first ---------------------------------------------------------------------------------------------
FIRST_COME = {"share": "minimum first"}


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        # a takes 3: 6 h in 2; b then 2 in 1 h
        ({}, {"S1 a": "04 08:00", "S1 b": "04 09:00"}),
        # a 1, b 1, the third joins a; 08:00 b is done and a has 2 h left for 3
        (FIRST_COME, {"S1 b": "04 08:00", "S1 a": "04 08:40"}),
        # the same crews, but nobody joins later: 6 h at 2
        ({**FIRST_COME, "crew_grows": False}, {"S1 b": "04 08:00", "S1 a": "04 09:00"}),
    ],
)
def test_every_startable_package_gets_its_minimum_first(rules: dict[str, Any], expected: dict[str, str]) -> None:
    """F27 option: every startable package gets its minimum in order, then growth in order."""
    packages = [work("a", "ASM", 6, crew_max=3), work("b", "ASM", 2, crew_max=2)]
    assert closed(one_place(packages, {"ASM": {"people": 3}}, work_rules=rules)) == expected


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        # 08:00: a takes 2 (8 h in 4: 12:30), then c grows: 6 done, 4 by 14:30, 2 left
        ({}, {"S1 d": "04 08:00", "S2 a": "04 12:30", "S1 c": "05 07:00"}),
        # 08:00: a gets 1, c, promised first, grows: 10 h at 2: 13:30; a then 5 done, 2 by 14:30, 1 left for 2
        (FIRST_COME, {"S1 d": "04 08:00", "S1 c": "04 13:30", "S2 a": "05 06:30"}),
        # a, just served, grows to 2; c's crew is fixed: 8 h on Monday, 4 left for 2
        ({**FIRST_COME, "crew_grows": False}, {"S1 d": "04 08:00", "S2 a": "04 12:30", "S1 c": "05 08:00"}),
    ],
)
def test_growth_in_one_order_over_new_and_running_work(rules: dict[str, Any], expected: dict[str, str]) -> None:
    """F27 option: growth in one order over the packages just served and those already running."""
    packages = [
        ("M1", work("d", "ASM", 4, crew=2)),
        ("M1", work("c", "ASM", 12, crew_max=2)),
        ("M2", work("a", "ASM", 8, crew_max=2)),
    ]
    scenario = two_aircraft(
        packages, {"ASM": {"people": 3}}, (MONDAY, "2027-01-04 07:00"), ("2027-02-01", "2027-02-20"), work_rules=rules
    )
    assert closed(scenario) == expected


def test_minimum_first_passes_over_a_crew_that_is_not_there() -> None:
    """F32: no partial crews: b needs 3 of the 2 left after a's minimum of 1; c gets 1, then a grows to 3."""
    packages = [work("a", "ASM", 9, crew_max=3), work("b", "ASM", 3, crew=3), work("c", "ASM", 1)]
    # 06:00 a 1+1, c 1; 07:00 a has 7 left for 3 people: 9:20; b from 09:20 1 h: 40 min, meal, 20 min
    assert closed(one_place(packages, {"ASM": {"people": 3}}, work_rules=FIRST_COME)) == {
        "S1 c": "04 07:00",
        "S1 a": "04 09:20",
        "S1 b": "04 10:50",
    }


def test_minimum_first_and_loans() -> None:
    """F27, F33: own people go least first; then b, not served, takes the lent one before a grows by a loan."""
    trades = {"ASM": {"people": 2, "cover": {"RIG": 1.0}}, "RIG": {"people": 2}}
    packages = [work("a", "ASM", 6, crew_max=3), work("b", "ASM", 4, crew=2), work("c", "ASM", 2)]
    # pass 1: a 1, b passed over? no: b needs 2 of the 1 left; c 1. pass 2: b 2 lent. 08:00: c done, a grows to 2
    # (4 left: 10:00); b 08:00
    # 08:00: b and c are done: a has 4 left and takes ASM's one and a lent one: 3 people, 1:20
    assert closed(one_place(packages, trades, work_rules=FIRST_COME)) == {
        "S1 c": "04 08:00",
        "S1 b": "04 08:00",
        "S1 a": "04 09:20",
    }
