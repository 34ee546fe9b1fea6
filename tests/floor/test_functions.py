"""Worked examples without a floor, through the very function that the engine or the measures call."""

from __future__ import annotations

import json
from datetime import date, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linesim.line.aircraft import Unit
from linesim.line.attendance import (
    ABSENT,
    IN_TRAINING,
    ON_LEAVE,
    PRESENT,
    book_weeks,
    chance_of_leaving,
    effectiveness,
    proficiency_on,
    sick_days,
    spell_chances,
    what_hits,
)
from linesim.line.duty import crews_that_stay
from linesim.line.flight import squawk_mean
from linesim.line.floor import Floor, run_once
from linesim.line.luck import Luck
from linesim.line.overtime import effect_in_week
from linesim.line.quality import Defect
from linesim.line.records import Travel
from linesim.line.sheet import Sheet
from linesim.measures.estimates import percentile
from linesim.measures.travel import travelled_by_origin
from linesim.measures.window import deliveries_by_quarter
from linesim.scenario.calendar import WorkCalendar
from linesim.scenario.daylight import bad_day_chances, flyable_dates
from linesim.scenario.extra_hours import hours_a_day
from linesim.scenario.hours import effective_unit, learning_factor
from linesim.scenario.laws import negative_binomial
from linesim.scenario.people import Overtime, Proficiency
from linesim.scenario.plan import planned_moments
from linesim.scenario.risks import Learning, Weather
from linesim.scenario.scenario import Scenario

EXAMPLES = {e["id"]: e for e in json.loads(Path(__file__).with_name("examples.json").read_text())["examples"]}


def parts(name: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """What an example gives and expects."""
    return EXAMPLES[name]["given"], EXAMPLES[name]["expected"]


def calendar_of(start: str, end: str) -> WorkCalendar:
    """The shift of the examples: 06:00-10:00 and 10:30-14:30."""
    return WorkCalendar(Scenario.model_validate({
        "name": "calendar", "start": start, "end": end, "launches": {"saturated": True}, "orders": "unlimited",
        "shifts": {"day": {"work": ["06:00-10:00", "10:30-14:30"]}}, "positions": [{"id": "A"}]}))


def test_learning_hours() -> None:
    """F53: hours at the base unit, before it, at a doubling, at the floor."""
    given, expected = parts("X062")
    curve = Learning.model_validate({"slope": given["slope"], "floor": given["floor"]})
    for unit in given["units"]:
        hours = given["hours"] * learning_factor(curve, unit, given["base_unit"])
        assert hours == pytest.approx(expected[str(unit)], abs=5e-4)


def test_a_configuration_change_takes_learning_back() -> None:
    """F54: effective unit = base + (1 - share) x (unit - base) at the change, then +1."""
    given, expected = parts("X064")
    curve = Learning.model_validate({"slope": 0.88, "floor": 0.8})
    for unit in given["units"]:
        number = effective_unit(unit, given["base_unit"], [(given["change_at"], given["share_reset"])])
        assert learning_factor(curve, number, given["base_unit"]) == pytest.approx(expected[str(unit)], abs=1e-6)


def test_crews_that_stay() -> None:
    """F30: who keeps people when the number on duty falls."""
    given, expected = parts("X069")
    kept = crews_that_stay([(people, least) for _, people, least in given["running"]], given["stay"])
    assert dict(zip([name for name, *_ in given["running"]], kept, strict=True)) == expected


def test_squawk_counts_from_uniforms() -> None:
    """F73, F111: negative binomial by the inverse; the dial changes the value, never the draw."""
    given, expected = parts("X111")
    for dial in given["dial"]:
        counts = [negative_binomial(given["mean"] * dial, given["k"], u) for u in given["uniforms"]]
        assert counts == expected[f"dial {dial}"]


def test_squawk_mean_of_a_flight() -> None:
    """F73: table x dial x learning x escapes found over escapes expected; the last value repeats."""
    given, expected = parts("X112")
    for flight in given["flights"]:
        mean = squawk_mean(tuple(given["table"]), flight, given["dial"], given["learning"],
                           given["escaped"] / given["expected"])
        assert mean == pytest.approx(expected[str(flight)])


def test_weather_chain() -> None:
    """F82: chance of a bad day by month and by yesterday; the first date has its month's share."""
    given, expected = parts("X224")
    good = {str(m): 0.5 for m in range(1, 13)}
    good |= {str(int(month[5:])): 1 - bad for month, bad in given["bad_share"].items()}
    weather = Weather.model_validate({"flyable_share_by_month": good,
                                      "day_to_day_correlation": given["day_to_day_correlation"]})
    months = [int(day[5:7]) for day in given["dates"]]
    days = flyable_dates(weather, months, lambda n: given["uniforms"][n])
    assert ["good" if day else "bad" for day in days] == expected["days"]
    chances = [bad_day_chances(weather, month)[0 if n == 0 else 1 if days[n - 1] else 2]
               for n, month in enumerate(months)]
    assert chances == pytest.approx(expected["chance of bad"])


def test_percentiles_with_undelivered_aircraft() -> None:
    """F99: not delivered ranks last; "after the horizon" where the percentile falls on it."""
    given, expected = parts("X098")
    days = [date.fromisoformat(day).toordinal() if day else float("inf") for day in given["dates"]]
    for name, value in expected.items():
        found = percentile(days, int(name[1:]) / 100)
        assert ("after horizon" if found == float("inf") else str(date.fromordinal(int(found)))) == value


def test_counts_in_a_window() -> None:
    """F118: a quarter not wholly inside the window is refused by name; the local date decides."""
    given, expected = parts("X243")
    window = (date.fromisoformat(given["window"][0]), date.fromisoformat(given["window"][1]))
    counts = deliveries_by_quarter(given["delivered"], window)
    assert {q: "refused: incomplete" if n is None else n for q, n in counts.items()} == {
        q: n for q, n in expected.items() if q != "in the window"}
    inside = sum(window[0] <= date.fromisoformat(moment[:10]) <= window[1] for moment in given["delivered"])
    assert inside == expected["in the window"]


def acceptance_plant(given: dict[str, Any], **changes: Any) -> Scenario:
    """An aircraft whose flight line closes and whose certificate comes at the stated instants."""
    start = date(2027, 1, 4)
    holds = {"FL": _hours_since(start, given.get("notice_from", given["ready"])), "FC": 0.0}
    holds["FC"] = _hours_since(start, given["ready"]) - holds["FL"]
    acceptance = {"weekdays": given["days"], "duration_work_days": given.get("dur", given.get("duration_workdays")),
                  "notice_work_days": given.get("notice", 0), "delivery_trade": "DEL",
                  "delivery_hours": given.get("delh", given.get("delivery_hours")),
                  "squawks": {"mean": 0, "trades": {"SQK": 1}, "fix_hours": 1}, **changes.pop("acceptance", {})}
    positions = [{"id": name, "packages": [{"id": f"{name} hold", "kind": "hold", "elapsed_hours": hours}]}
                 for name, hours in holds.items()]
    positions[0]["flights"] = {"pilots": "FTP", "pilot_hours": 1, "flight_hours": 1, "min_flights": 0}
    positions.append({"id": "AC", "acceptance": acceptance})
    plant = {"name": "acceptance", "start": str(start), "end": "2027-02-26",
             "shifts": {"day": {"work": ["-".join(block) for block in given["shift"]]}},
             "trades": {"DEL": {"people": given["people"]}, "SQK": {"people": 1}, "FTP": {"people": 1}},
             "positions": positions, "launches": {"moments": ["2027-01-04 00:00"]}, "orders": [{"serial": "S1"}]}
    return Scenario.model_validate({**plant, **changes})


def _hours_since(start: date, moment: str) -> float:
    day, clock = moment.split()
    hours, minutes = clock.split(":")
    return (date.fromisoformat(day) - start).days * 24 + int(hours) + int(minutes) / 60


@pytest.mark.parametrize("name", ["X093", "X094", "X095"])
def test_acceptance(name: str) -> None:
    """F92-F94: notice, slot, duration, delivery hours, squawks, refusal."""
    given, expected = parts(name)
    squawks = [{"serial": "S1", "acceptance": n, "squawks": [{"trade": "SQK", "hours": given["sq"]}]}
               for n in (1, 2)] if given["sq"] else []
    sheet = Sheet(acceptance_plant(given, known={
        "squawks": squawks, "refusals": [{"serial": "S1", "times": given["refuse"]}]}))
    records = run_once(sheet, 1, 0)
    assert sheet.calendar.wall_text(records.slots[0][2]) == expected["begins"]
    assert sheet.calendar.wall_text(records.delivered[0]) == expected["ends"]


@pytest.mark.parametrize("case", [0, 1, 2])
def test_not_earlier_than_days_before_the_promise(case: int) -> None:
    """F92 option earliest: from 00:00 so many calendar days before the promised date."""
    given, expected = parts("X226")
    asked, answer = given["cases"][case], expected["cases"][case]
    sheet = Sheet(acceptance_plant(
        given, acceptance={"earliest_days_before_promise": asked["earliest"], "squawks": None},
        orders=[{"serial": "S1", "promised": asked["promised"]}]))
    records = run_once(sheet, 1, 0)
    begins = records.slots[0][2]
    assert sheet.calendar.wall_text(begins) == answer["begins"]
    assert sheet.calendar.wall_text(records.delivered[0]) == answer["ends"]
    arrived = next(v.arrived for v in records.visits if sheet.places[v.place].id == "AC")
    assert (begins - arrived) / 60 == answer["finished stock hours"]


def test_remaining_share_crosses_packages_off() -> None:
    """F97: hands-on packages in file order until the share is gone; a hold before begun work is over."""
    given, expected = parts("X097")
    packages = [{"id": name, "kind": kind, **({"elapsed_hours": hours} if kind == "hold" else
                                              {"hours": hours, "trade": "ASM"})}
                for name, hours, kind in given["packages"]]
    sheet = Sheet(Scenario.model_validate({
        "name": "share", "start": "2027-01-04", "end": "2027-01-31", "trades": {"ASM": {"people": 1}},
        "shifts": {"day": {"work": ["00:00-24:00"], "weekdays": ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]}},
        "positions": [{"id": "P6", "packages": packages}], "orders": [{"serial": "S1"}], "launches": {"moments": []},
        "on_the_line": [{"serial": "S1", "at": "P6", "remaining_share": given["remaining_share"]}]}))
    closed = {c.job: c.closed / 60 for c in run_once(sheet, 1, 0).closings}
    left = expected["left"]
    assert closed == {"P6-30": left["P6-30"], "P6-40": left["P6-30"] + left["P6-40"]}


def test_the_plan_keeps_half_days() -> None:
    """F40: launches at exact multiples of the takt; an order book in whole days rounds them half to even."""
    given, expected = parts("X113")
    sheet = Sheet(Scenario.model_validate({
        "name": "takt", "start": "2027-01-04", "end": "2027-03-31", "shifts": {"day": {"work": ["06:00-14:00"]}},
        "positions": [{"id": "A"}], "launches": {"takt_work_days": given["takt"]},
        "orders": []}))
    calendar = sheet.calendar
    moments = islice(planned_moments(calendar, given["takt"]), len(expected["exact work-day numbers"]))
    days = [calendar.reference.reading(moment) / calendar.work_day for moment in moments]
    assert days == expected["exact work-day numbers"]
    assert [round(day) for day in days] == expected["order book work-day numbers"]


def test_hours_of_a_package_that_travels() -> None:
    """F52, F53, F49: standard x model x learning x spread, then the rest at the price of travel, once."""
    given, expected = parts("X117")
    takt = expected["actual"] * (1 - given["left"]) / 24
    sheet = Sheet(Scenario.model_validate({
        "name": "travel", "start": "2027-01-04", "end": "2027-01-31", "trades": {"ASM": {"people": 1}},
        "calendar": {"work_weekdays": ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]},
        "shifts": {"day": {"work": ["00:00-24:00"]}},
        "work_time": {"spread": given["draw"], "model_factors": {"D4T": given["model"]},
                      "learning": {"slope": given["learning"], "hours_stated_at_unit": 1, "units_before_start": 1}},
        "positions": [{"id": "P2", "packages": [{"id": "P2-20", "trade": "ASM", "hours": given["hours"],
                                                 "can_travel": True}]}, {"id": "P3"}],
        "launches": {"takt_work_days": takt}, "orders": [{"serial": "S1", "model": "D4T"}],
        "pulse": {"positions": ["P2", "P3"], "travel_max_share": given["left"] + 1e-6,
                  "travel_multiplier": given["multiplier"]}}))
    records = run_once(sheet, 1, 0)
    travel, = records.travelled
    assert travel.before / 60 == pytest.approx(expected["actual"] * given["left"], abs=1e-4)
    assert travel.after / 60 == pytest.approx(expected["left after travel"], abs=1e-4)
    assert records.closings[-1].closed / 60 == pytest.approx(
        expected["actual"] * (1 - given["left"]) + expected["left after travel"], abs=1e-4)


def test_travelled_hours_are_counted_where_they_were_planned() -> None:
    """F50: by the position of origin; the price of a second move is not paid again."""
    given, expected = parts("X124")
    places = {"P1": 0, "P2": 1, "P3": 2}
    travels = [Travel(0, place, places[place], 2, 0.0, left * 60, left * 60 * given["multiplier"])
               for place, left in given["left"].items()]
    again = travels[0]._replace(before=travels[0].after)
    found = travelled_by_origin([*travels, again])
    assert {place: found[n].hours if n in found else 0 for place, n in places.items()} == pytest.approx(
        {place: expected[place] for place in places})
    assert sum(one.extra for one in found.values()) == pytest.approx(expected["extra hours"])


def test_x065_the_first_draw_that_hits_decides() -> None:
    """F60: leave, absence and training looked at in this order."""
    given, expected = parts("X065")
    leave, absent, training = np.array(given["draws"]).T
    states = what_hits(*(drawn < limit for drawn, limit in zip((leave, absent, training), given["limits"],
                                                                strict=True))).tolist()
    assert [states.count(state) for state in (PRESENT, ON_LEAVE, ABSENT, IN_TRAINING)] == [
        expected[key] for key in ("present", "leave", "absent", "training")]


def test_x066_a_crew_of_old_and_new_hands() -> None:
    """F62: (sum of proficiencies - drain x min(new, full)) / present, the same for every crew."""
    given, expected = parts("X066")
    able = np.array(given["present"])
    value = float(effectiveness(np.array([able.sum()]), np.array([(able < 1).sum()]), np.array([len(able)]),
                                given["drain"])[0])
    assert value == pytest.approx(expected["effectiveness"])
    hours = given["hours"] / (given["crew"] * value)
    clock = calendar_of("2027-01-04", "2027-01-09").reference
    assert calendar_of("2027-01-04", "2027-01-09").wall_text(clock.finish(360.0, hours * 60)) == expected["closed"]


def test_x067_proficiency_by_date() -> None:
    """F62: a straight line over so many calendar weeks from the hire date."""
    given, expected = parts("X067")
    rules = Proficiency(start=given["start"], weeks_to_full=given["weeks"])
    since = [(date.fromisoformat(day) - date.fromisoformat(given["hired"])).days for day in given["dates"]]
    assert proficiency_on(np.array(since, dtype=float), rules).tolist() == pytest.approx(expected["proficiency"])


def test_x119_the_daily_chance_of_leaving_and_the_replacement() -> None:
    """F63: so many work days after the shift that was the last."""
    given, expected = parts("X119")
    daily = chance_of_leaving(given["annual"])
    assert daily == pytest.approx(expected["daily"], abs=5e-10)
    assert (1 - daily) ** 365 == pytest.approx(expected["remain"])
    calendar = calendar_of("2027-01-04", "2027-06-30")
    after = calendar.instant(date.fromisoformat(given["left"]) + timedelta(days=1))
    assert str(calendar.date_of(calendar.work_days_later(after, given["hire_workdays"]))) == expected["new person on"]


def test_x241_leave_in_whole_weeks() -> None:
    """F115: one person after the other, each time among the weeks still open for that person."""
    given, expected = parts("X241")
    weeks = given["weeks"]
    booked = book_weeks(given["uniforms"], range(len(weeks)), given["weeks_each"], given["most_away"],
                        lambda person, k: float(given["uniforms"][person][k]))
    assert {person: [weeks[n] for n in sorted(mine)] for person, mine in booked.items()} == expected["weeks"]
    taken = [weeks[n] for mine in booked.values() for n in mine]
    assert {week: taken.count(week) for week in weeks} == expected["away"]


def test_x242_sickness_in_spells() -> None:
    """F115: a spell goes on with 1 - 1/m and begins so that the share stays; one uniform per shift date."""
    given, expected = parts("X242")
    stays, falls = spell_chances(given["share"], given["spell_days"])
    sick = sick_days(np.array(given["uniforms"]), given["share"], given["spell_days"]).tolist()
    assert ["sick" if day else "in" for day in sick] == expected["days"]
    chances = [given["share"], *(stays if day else falls for day in sick[:-1])]
    assert chances == pytest.approx(expected["chance"], abs=5e-7)


def test_x068_overtime_hours_and_their_effect() -> None:
    """F64: quarter hours a day under the cap; the effect by scheduled weekly hours; more loss after weeks in a row."""
    given, expected = parts("X068")
    extra = hours_a_day(given["cap"], given["shifts"])
    assert extra == expected["hours_a_day"]
    week = given["paid"] + given["shifts"] * extra
    assert week == expected["week_hours"]
    rules = Overtime(trades=("ASM",), max_hours_per_week=given["cap"], effect_by_weekly_hours=given["table"],
                     fatigue_after_weeks=given["fatigue_after"], extra_loss_after=given["extra"])
    assert effect_in_week(rules, week, 1) == pytest.approx(expected["effect_week_1"])
    assert effect_in_week(rules, week, given["fatigue_after"]) == pytest.approx(expected["effect_week_1"])
    assert effect_in_week(rules, week, given["fatigue_after"] + 1) == pytest.approx(expected["effect_week_7"])


def test_x110_defects_through_gates(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each gate of the flow draws once for each defect that is left: the gates of the floor, given the draws."""
    given, expected = parts("X110")
    fields = ("found_in_position", "found_end_of_line", "found_avionics_check")
    chances = dict(zip(fields, given["chances"], strict=True))
    gates = ("position", "end of line", "avionics check")
    floor = Floor(Sheet(Scenario.model_validate({
        "name": "gates", "start": "2027-01-04", "end": "2027-01-31", "launches": {"saturated": True},
        "orders": [{"serial": "S1"}], "trades": {"AVX": {"people": 1}, "INS": {"people": 1}},
        "quality": {"defects_per_100_hours": 1, "repair_hours": 1, **chances}, "positions": [
            {"id": "A", "packages": [{"id": "a", "trade": "AVX", "hours": 1, "avionics": True},
                                     {"id": "a9", "kind": "buy-off", "trade": "INS", "gate": "position"}]},
            {"id": "B", "packages": [{"id": "b9", "kind": "buy-off", "trade": "INS", "gate": "end of line"}]},
            {"id": "C", "packages": [{"id": "c", "trade": "AVX", "gate": "avionics check"},
                                     {"id": "c2", "trade": "AVX", "rework": True}]}]})), 1, 0)
    unit, (work, *plans) = Unit(floor, 0, ""), [job for place in floor.sheet.places for job in place.jobs]

    def first(_: Luck, name: str) -> float:
        *_, number, gate = name.split("/")  # found/aircraft/package/number/gate
        return float(given["draws"][int(number)][gates.index(gate)])

    monkeypatch.setattr(Luck, "first", first)
    floor.quality.on[unit] = [Defect("S1", work, n, 0) for n in range(len(given["draws"]))]
    found = {gate.package.gate: len(floor.quality.look(unit, gate)) for gate in plans[:3]}
    assert found | {"flight": len(floor.quality.on[unit])} == {
        "position": expected["in position"], "end of line": expected["end of line"],
        "avionics check": expected["avionics check"], "flight": expected["flight"]}


def test_every_example_without_a_floor_is_run() -> None:
    """No example is forgotten: its number stands in a test here or in those of the calendar."""
    text = Path(__file__).read_text() + (Path(__file__).parents[1] / "scenario" / "test_calendar.py").read_text()
    without = [name for name, example in EXAMPLES.items() if "areas" not in example["given"]]
    assert [name for name in without if name not in text] == []
