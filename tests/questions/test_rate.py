"""What rate the line holds: lines whose answer is known by hand, orders that last, dates, hires, and the command."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

import linesim
from linesim.line.sheet import Sheet
from linesim.questions.hire_by import hires
from linesim.questions.rate import answer_of, falls_behind, highest_that_holds, row_of
from linesim.questions.rate_plans import NoRate, Stepped, planned_in_run, plans_to_try, takts_from, with_orders
from linesim.scenario.changing import changed
from linesim.scenario.reading import parse_scenario, read_scenario
from linesim.scenario.scenario import Scenario
from linesim.show.commands import main

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"
CLOCKWORK = """
name: One position that takes a work day
start: 2027-01-04
end: 2027-12-31
shifts: {day: {start: "08:00", end: "16:00"}}
trades: {ASM: {people: {day: 4}}}
positions: [{id: A, packages: [{id: a1, trade: ASM, hours: 16, crew_max: 2}]}]
launches: {takt_work_days: 2}
orders: unlimited
"""


@pytest.fixture
def clockwork() -> Scenario:
    """Two people at once need a work day of 8 hours for an aircraft; nothing varies."""
    return parse_scenario(CLOCKWORK)


def rows_of(scenario: Scenario, takts: list[float], runs: int = 1) -> list[dict[str, Any]]:
    """Rows of the answer at some takts."""
    return [row_of(plan, linesim.run(plan.scenario, runs=runs).runs, 1) for plan in plans_to_try(scenario, takts)]


def test_a_clockwork_line_holds_exactly_the_takts_that_it_can(clockwork: Scenario) -> None:
    """A work day an aircraft: takt 1 is kept, every faster one is not, and what it delivers is one a work day."""
    plans = plans_to_try(clockwork, [2, 1, 0.9, 0.5])
    rows = rows_of(clockwork, [2, 1, 0.9, 0.5])
    assert [row["keeps the plan"]["holds"] for row in rows] == [True, True, False, False]
    found = answer_of(Sheet(clockwork), plans, rows, 1)
    assert found.numbers["highest that holds"] == "1"
    assert [round(row["work days between deliveries"]["mean"], 2) for row in rows] == [2, 1, 1, 1]
    assert rows[2]["falls behind"]["runs"] == 1
    assert [bool(row["places under which no takt goes"]) for row in rows] == [False, False, True, True]
    assert "a takt of 1 work day" in found.sentences[0]
    assert any("no hire can help A" in text for text in found.sentences)


def test_a_hole_in_the_rates_is_not_jumped_over() -> None:
    """A faster plan counts only if every slower one holds, too."""
    rows = [{"plan": name, "planned launches in the window": n, "keeps the plan": {"holds": holds}}
            for name, n, holds in (("c", 30, True), ("a", 10, True), ("b", 20, False))]
    found = highest_that_holds(rows)
    assert found is not None
    assert found["plan"] == "a"
    assert highest_that_holds(rows[2:]) is None


def test_the_date_it_falls_behind_is_the_day_after_the_backlog_is_last_small(clockwork: Scenario) -> None:
    """By hand: launched each work day, delivered every second one."""
    sheet = Sheet(clockwork)
    days = [clockwork.start + timedelta(days=n) for n in range(200)]
    run = linesim.run(clockwork, runs=1).runs[0]
    every_second = {str(n): f"{day} 12:00" for n, day in enumerate(days[::2])}
    slow = type(run)(**{**{name: getattr(run, name) for name in type(run).__dataclass_fields__},
                        "delivered": every_second})
    # backlog after day n (from 0) is n + 1 launched less n // 2 + 1 delivered: 0 1 1 2 2 3 3 ...
    assert falls_behind(sheet, days, slow) == days[5]
    assert falls_behind(sheet, days[:5], slow) is None


def test_orders_last_through_the_window_and_the_book_is_otherwise_untouched() -> None:
    """The demo at 3.5: as many added as launches before the end of the window ask for, in turn, at the book's pace;
    at 4.5 the very same scenario, so that its runs are those of `linesim run`."""
    demo = read_scenario(DEMO)
    orders = demo.orders
    assert orders is not None
    slow, fast = plans_to_try(demo, [4.5, 3.5])
    assert slow.added == 0
    assert slow.scenario == demo
    sheet, more = Sheet(fast.scenario), fast.scenario.orders
    assert more is not None
    planned = len(planned_in_run(sheet, sheet.calendar.instant(date(2028, 1, 1))))
    assert fast.added == planned - (len(orders) - len(demo.on_the_line)) > 0
    assert more[:len(orders)] == orders
    assert len({order.serial for order in more}) == len(more) == len(orders) + fast.added
    assert [order.model for order in more[len(orders):]] == [order.model for order in orders[:fast.added]]
    assert more[len(orders)].serial == f"DN4-{int(orders[-1].serial[-4:]) + 1:04d}"
    promised = [order.promised for order in more[-fast.added:]]
    assert all(day is not None and last.promised is not None and day > last.promised
               for day in promised for last in orders[-1:])
    assert with_orders(fast.scenario) == (fast.scenario, 0)


def test_the_plans_of_the_file_are_tried_where_no_takts_are_named() -> None:
    """Their steps as declared; without plans, takts about the file's own."""
    demo = read_scenario(DEMO)
    assert [plan.name for plan in plans_to_try(demo)] == [plan.name for plan in demo.plans]
    assert plans_to_try(demo)[0].scenario == demo
    bare = demo.model_copy(update={"plans": (), "comparisons": ()})
    assert [plan.takt for plan in plans_to_try(bare)] == [5.5, 5.0, 4.5, 4.0, 3.5]


def test_hires_are_asked_for_so_early_that_they_are_able_when_the_step_comes() -> None:
    """By hand: full load at 2 people and takt 2, so 4 for takt 1; 4 weeks to get up to speed, 10 work days to hire."""
    plant = changed(parse_scenario(CLOCKWORK), {
        "trades.ASM.people.day": 1, "launches.steps": [{"from": "2027-06-07", "takt_work_days": 1}],
        "attendance": {"turnover": {"annual_share": 0, "time_to_hire_work_days": 10},
                       "proficiency": {"start": 0.5, "weeks_to_full": 4}}})
    one, = hires(Sheet(plant), 1)
    assert (one.trade, one.now, one.needed, one.load) == ("ASM", 1, 2, pytest.approx(2.0))
    assert one.start_by == date(2027, 5, 10)
    assert one.ask_by == date(2027, 4, 26)  # Monday two weeks before
    assert hires(Sheet(changed(plant, {"launches.steps": []})), 1) == []


@pytest.mark.parametrize(("text", "takts"), [("5,4.5,4", [5, 4.5, 4]), ("3.5-5", [5, 4.5, 4, 3.5]), ("4", [4]),
                                             ("4, 5-4", [5, 4.5, 4])])
def test_takts_are_written_as_a_list_or_a_range(text: str, takts: list[float]) -> None:
    """Slowest first, each once."""
    assert takts_from(text) == takts


def test_a_takt_with_dated_changes_is_typed_and_tried() -> None:
    """Beside takts that hold; its launches are those of a plan that the file could declare, its name as typed."""
    stepped = Stepped(4.5, ((date(2027, 5, 3), 4.0), (date(2027, 9, 6), 3.5)))
    text = "4.5 then 4 from 2027-05-03 then 3.5 from 2027-09-06"
    assert takts_from(f"5, {text}") == [5, stepped]
    demo = read_scenario(DEMO)
    plain, tried = plans_to_try(demo, [4.5, stepped])
    assert (tried.name, tried.takt, tried.words) == (text, None, f"the plan '{text}'")
    assert [(step.day, step.takt_work_days) for step in tried.scenario.launches.steps] == list(stepped.steps)
    assert plain.scenario.launches.steps == ()
    moments = [planned_in_run(Sheet(plan.scenario), Sheet(demo).calendar.end) for plan in (plain, tried)]
    same = sum(day < date(2027, 5, 3) for day in map(Sheet(demo).calendar.date_of, moments[0]))
    assert moments[0][:same] == moments[1][:same]
    assert len(moments[1]) > len(moments[0])


@pytest.mark.parametrize("text", ["4.5 then", "4.5 then 4", "4.5 then 4 from May", "4.5 then 4 from 2027-13-01",
                                  "4.5 then 4 from 2027-05-03 then 3 from 2027-05-03", "4.5 then 0 from 2027-05-03",
                                  "0 then 4 from 2027-05-03"])
def test_dated_changes_that_make_no_sense_are_refused(text: str) -> None:
    """With the words as they were found."""
    with pytest.raises(ValueError, match=re.escape(repr(text))):
        takts_from(text)


@pytest.mark.parametrize(("words", "said"), [
    (["--takts", "fast"], "--takts: 'fast' is no takt"), (["--takts", "0"], "--takts: takts must be above 0"),
    (["--picture", "x.pdf"], "--picture: x.pdf: the name must end in"), (["--page", "x.pdf"], "must end in .html"),
    (["--until-precision", "0"], "--until-precision must be above 0"), (["--runs", "0"], "--runs must be 1")])
def test_what_makes_no_sense_is_refused(words: list[str], said: str, tmp_path: Path,
                                        capsys: pytest.CaptureFixture[str]) -> None:
    """With exit code 2, before anything is run."""
    assert main(["rate", str(DEMO), "--out", str(tmp_path / "out"), *words]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_launches_without_a_takt_have_no_rate() -> None:
    """Said plainly."""
    with pytest.raises(NoRate, match="follow no takt"):
        plans_to_try(read_scenario(DEMO.with_name("textbook-line.yaml")))


def test_the_command_says_what_its_json_says_and_draws_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Sentences, table, what is assumed, cautions; a picture and a page."""
    file = tmp_path / "clockwork.yaml"
    file.write_text(CLOCKWORK)
    words = ["rate", str(file), "--takts", "2,1,0.5", "--runs", "2", "--jobs", "1", "--out", str(tmp_path / "out")]
    assert main([*words, "--picture", str(tmp_path / "rate.svg"), "--page", str(tmp_path / "rate.html")]) == 0
    text = capsys.readouterr().out
    assert main([*words, "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    flat = " ".join(text.split())
    for sentence in [*numbers["sentences"], *numbers["assumed"], *numbers["cautions"]]:
        assert " ".join(sentence.split()) in flat
    assert all(len(line) <= 88 for line in text.splitlines() if "Written" not in line and str(tmp_path) not in line)
    assert (tmp_path / "rate.svg").read_text().startswith("<?xml")
    page = (tmp_path / "rate.html").read_text()
    assert "<svg" in page
    assert numbers["sentences"][0] in page
    assert "http" not in page.replace("http://www.w3.org", "").replace("https://www.w3.org", "")
