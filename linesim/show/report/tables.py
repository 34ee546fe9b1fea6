"""The tables of the report: numbers in, printed cells out. A count or date never stands without its spread."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import pandas as pd

from ...line.sheet import Sheet
from ...measures.present import DRAWS
from ...questions.spread import range_words
from .. import words
from .blocks import Table

REACH = (9, 8, 5, 1)
PARTS = ("worked", "rework", "held", "people", "other", "blocked", "empty")


def interval(row: Mapping[str, float] | None, form: Any = words.tenths) -> tuple[str, str, str]:
    """Mean, low and high of an interval; "" where one run gives none."""
    if row is None:
        return "", "", ""
    return form(row["mean"]), form(row["low"]) if "low" in row else "", form(row["high"]) if "high" in row else ""


def share(value: float) -> str:
    """Percent without the sign, which stands in the head of the table."""
    return words.percent(value).removesuffix(f"{words.THIN}%").replace("under ", "<")


def quarters(numbers: Mapping[str, Any]) -> Table:
    """What each quarter yields."""
    rows = []
    for name, row in numbers["quarters"].items():
        if isinstance(row, str):
            rows.append((name, "", "", "", "", "", row))
        elif "note" in row:
            each = row["each run"]
            least = words.between(words.count(min(each)), words.count(max(each)))
            rows.append((name, words.count(row["plan"]), least, "", "", "", _keeps(row, numbers)))
        else:
            rows.append((name, words.count(row["plan"]), *(words.count(row[f"{n} in 10 reach"]) for n in REACH),
                         _keeps(row, numbers)))
    few = numbers["deliveries in the window"].get("note")
    note = "Aircraft delivered. Counts are read as at least: 8 in 10 runs reach the number below it."
    note = f"Aircraft delivered: the least and the most of the runs; {few}." if few else note
    reach = ("Runs deliver", "", "", "") if few else tuple(f"{n} in 10 reach" for n in REACH)
    return Table(note, ("Quarter", "Plan", *reach, "Keeps the plan"), tuple(rows))


def _keeps(row: Mapping[str, Any], numbers: Mapping[str, Any]) -> str:
    return words.chance(row["runs that keep the plan"], numbers["runs"])


def both_ways(numbers: Mapping[str, Any]) -> Table | None:
    """The range of each quarter with and without the luck that aircraft share; nothing where none is declared or the
    runs are too few."""
    plain = numbers.get("without common luck")
    if plain is None:
        return None
    rows = []
    for name, row in [*numbers["quarters"].items(), ("The window", numbers["deliveries in the window"])]:
        other = plain["quarters"].get(name) or plain["deliveries in the window"]
        if isinstance(row, str) or "note" in row or "note" in other:
            continue
        kept = [words.chance(one["runs that keep the plan"], of) if "plan" in one else "" for one, of in (
            (row, numbers["runs"]), (other, plain["runs"]))]
        plan = words.count(row["plan"]) if "plan" in row else ""
        rows.append((name, plan, _eight_in_ten(row), _eight_in_ten(other), *kept))
    return Table("Aircraft that 8 in 10 runs deliver (from what 9 in 10 reach to what 1 in 10 reach), with the luck "
                 "that many aircraft share as declared, and of the same runs without it.",
                 ("Quarter", "Plan", "With it", "Without it", "Keeps the plan with it", "without it"),
                 tuple(rows)) if rows else None


def _eight_in_ten(row: Mapping[str, Any]) -> str:
    return words.between(words.count(row["9 in 10 reach"]), words.count(row["1 in 10 reach"]))


def months(numbers: Mapping[str, Any]) -> Table:
    """Deliveries by month, with what is promised in it."""
    rows = tuple((month, words.count(row["plan"]), *interval(row)) for month, row in
                 numbers["deliveries by month"].items())
    return Table(f"Deliveries by month, mean of {words.runs(numbers['runs'])} with its 95 % interval. One month of one "
                 "run spreads far wider.", ("Month", "Promised", "Delivered", "from", "to"), rows)


def dates(table: pd.DataFrame, numbers: Mapping[str, Any]) -> Table:
    """All promised serials; the dates as they stand in the answer."""
    of = {row["serial"]: row for row in numbers["serials"]}
    states = dict(zip(table["serial"], table["state"], strict=True))
    rows = []
    for serial, model, kept, runs in zip(table["serial"], table["model"], table["kept"], table["runs"], strict=True):
        row = of[serial]
        rows.append((serial, model, row["promised"], *(row.get(name, "") for name in (
            "half by", "8 in 10 by", "19 in 20 by")), words.chance(kept, runs), f"{kept} of {runs}", states[serial],
            _most_lost(row.get("most days lost to"))))
    return Table("Dates are read as by: 8 in 10 runs deliver by that date. On time: 8 in 10 runs or more keep the "
                 "promise; late: fewer than half do. Lost: work days on the chain that set the date, mean of "
                 f"{words.runs(numbers['runs'])}; a place by its code, before it: parked until it has room.",
                 ("Serial", "Model", "Promised", "Half by", "8 in 10 by", "19 in 20 by", "Keeps it", "Runs", "State",
                  "Most days lost to"), tuple(rows), fits=False)


def _most_lost(lost: Mapping[str, Any] | None) -> str:
    if not lost:
        return ""
    parked = lost["parked before it"] and lost["reason"] == "blocked"
    what = f"before {lost['place']}" if parked else f"{lost['place']}, {words.reason(lost['reason'])}"
    return f"{what}: {words.tenths(lost['work days'])}"


def lost(table: pd.DataFrame, numbers: Mapping[str, Any]) -> Table:
    """Places by what they lose."""
    of = {row["place"]: row["at work or waiting"] for row in numbers["places"]}
    rows = []
    for _, row in table.iterrows():
        full = of[row["place"]]
        span = f"{share(full['low'])} to {share(full['high'])}" if "low" in full else ""
        rows.append((words.named(row["place"], row["name"]), words.count(row["docks"]), share(full["mean"]), span,
                     *(share(row[part]) for part in PARTS),
                     row["waits_for"] if row["people"] >= 0.005 else ""))
    return Table("Percent of each place's working hours over all its docks, mean of the runs. Full: at work or "
                 "waiting, neither blocked nor empty, with the 95 % interval of the mean. For other: weather, parts, "
                 "customer, other half.",
                 ("Place", "Docks", "Full", "from, to", "Work", "Rework", "Holds", "For people", "For other", "Blocked",
                  "Empty", "Mostly for"), tuple(rows), fits=False)


def balance(table: pd.DataFrame, runs: int) -> Table:
    """Past each control point, of needed."""
    days = list(dict.fromkeys(table["on"]))
    rows = []
    for point, here in table.groupby("point", sort=False):
        of = here.set_index("on")
        rows.append((str(point), words.count(here["set_back"].iloc[0]), *(
            f"{of.loc[day, 'half']} of {of.loc[day, 'needed']} "
            f"({words.between(str(of.loc[day, 'low']), str(of.loc[day, 'high']))})" for day in days)))
    return Table("Promised aircraft past each point in half the runs, of those needed; in brackets "
                 f"{range_words(runs)}. "
                 "Needed: promised within the days that aircraft usually take from there to delivery (the median of "
                 "the runs themselves); a point is left out where no serial is launched and delivered in every run.",
                 ("Past", "Days before", *map(str, days)), tuple(rows), fits=False)


def chain(table: pd.DataFrame, runs: int) -> Table:
    """Work days that set the dates, by reason and area."""
    areas = list(dict.fromkeys(table["area"]))
    grid = table.pivot_table(index="reason", columns="area", values="days", sort=False)
    total = grid.sum(axis=1).sort_values(ascending=False, kind="stable")
    rows = [(words.reason(str(reason)), words.tenths(days), *(
        words.tenths(float(grid[area][reason])) for area in areas)) for reason, days in total.items() if days >= 0.05]
    rows.append(("all reasons", words.tenths(total.sum()), *(words.tenths(grid[area].sum()) for area in areas)))
    return Table(f"Work days per delivered aircraft on what set its date, mean of {words.runs(runs)}. Reasons under "
                 "0.05 days are in the sums only.", ("Reason", "All", *areas), tuple(rows), fits=False)


def ledger(table: pd.DataFrame, flow: Mapping[str, float] | None, runs: int) -> Table:
    """Every hour by its reason."""
    rows = [(words.reason(row["reason"]), words.hours(row["hours"]), words.tenths(row["days"]))
            for _, row in table.iterrows()]
    rows.append(("all reasons", words.hours(table["hours"].sum()), words.tenths(table["days"].sum())))
    mean, low, high = interval(flow)
    span = f" (95 % interval of the mean {low} to {high})" if low else ""
    return Table(f"Clock hours and calendar days per delivered aircraft of {words.runs(runs)}. Mean of the runs' own "
                 f"flow times: {mean} calendar days{span}.", ("Reason", "Hours", "Days"), tuple(rows))


def trades(sheet: Sheet, numbers: Mapping[str, Any]) -> Table:
    """The account of paid hours."""
    rows = []
    for row in numbers["trades"]:
        people = sheet.scenario.trades[row["trade"]].people
        shifts = ", ".join(f"{number} {shift}".strip() for shift, number in people.items())
        mean, low, high = interval(row["load"], share)
        rows.append((words.named(row["trade"], row["name"]), shifts, mean, words.between(low, high) if low else "", *(
            words.hours(row[f"{name} hours"]) for name in (
                "paid", "worked", "checked", "breaks and meetings", "trained", "absent", "idle"))))
    return Table("Paid hours in the window, mean of the runs. Load: worked, percent of worked and idle, with the 95 % "
                 "interval of the mean. Checked: tool checks.",
                 ("Trade", "People", "Load", "from, to", "Paid h", "Worked", "Checked", "Breaks", "Trained", "Absent",
                  "Idle"), tuple(rows), fits=False)


def people_there(numbers: Mapping[str, Any]) -> Table | None:
    """Small trades by how many of them are there; nothing where everybody always comes."""
    found = numbers.get("people there, small trades")
    if not found:
        return None
    name, drawn = "share of days with 0, 1, 2 ... there", min(DRAWS, numbers["runs"])
    most = max(len(row[name]) for row in found)
    rows = tuple((words.named(row["trade"], row["name"]), words.tenths(row["planned"]), words.tenths(row["there"]),
                  *(share(one) for one in row[name]), *[""] * (most - len(row[name]))) for row in found)
    return Table("Trades of few people: percent of the shift dates on which so many of them are there, after leave, "
                 f"absence, training, leavers and new people, as drawn in the first {words.runs(drawn)}.",
                 ("Trade", "Planned", "There", *(f"{n} there" for n in range(most))), rows)


def load(table: pd.DataFrame) -> Table:
    """Load by month, as in the figure."""
    grid = table.pivot_table(index="month", columns="trade", values="load", sort=False)
    rows = tuple((str(month), *("" if pd.isna(value) else share(value) for value in row))
                 for month, row in grid.sort_index().iterrows())
    return Table("Load by month: hours worked, percent of the working time of the people who are there, mean of the "
                 "runs.", ("Month", *map(str, grid.columns)), rows)


def load_by_week(table: pd.DataFrame) -> Table:
    """The fullest weeks of each trade."""
    rows = []
    for trade, weeks in table.groupby("trade", sort=False):
        top = weeks.nlargest(3, "load")
        said = [f"{row['week']}: {share(row['load'])}" for _, row in top.iterrows()]
        rows.append((str(trade), share(weeks["load"].mean()), *said, *[""] * (3 - len(said))))
    return Table("Load by week, percent of the working time of the people who are there, all runs together: mean of "
                 "the weeks, and the three fullest weeks by their first date.",
                 ("Trade", "Mean", "Fullest week", "second", "third"), tuple(rows))


def flights(table: pd.DataFrame, runs: int) -> Table:
    """Flights and squawks by flight number."""
    rows = tuple((f"flight {row['flight']:.0f}", share(row["flew"]), f"{row['squawks']:.2f}",
                  "" if pd.isna(row["low"]) else f"{row['low']:.2f}",
                  "" if pd.isna(row["high"]) else f"{row['high']:.2f}") for _, row in table.iterrows())
    return Table(f"Aircraft launched in a run and delivered in the window, {words.runs(runs)}. Squawks written up on "
                 "the flight, mean of the runs that fly it, with its 95 % interval.",
                 ("Flight", "% that fly it", "Squawks", "from", "to"), rows)


def flying_days(days: Mapping[str, float]) -> Table:
    """Why was not flown, day by day."""
    whole = sum(days.values())
    rows = tuple((why, words.tenths(number), words.percent(number / whole)) for why, number in days.items())
    return Table("Days of the window with a pilots' shift: flown on, or what took most of the day from a flight; mean "
                 "of the runs.", ("Day", "Days", "of all"), rows)


def defects(found: Mapping[str, float]) -> Table:
    """Planted defects by who found them."""
    rows = tuple((name, words.tenths(number)) for name, number in found.items())
    return Table("Defects of a run by the gate that found them, those that came to flight test, and hours of repair at "
                 "gates; mean of the runs.", ("Found by, or", "Number"), rows)


def squawks(table: pd.DataFrame) -> Table:
    """Squawks by where they are found and who clears them."""
    rows = [(row["where"], words.named(row["trade"], row["name"]), f"{row['squawks']:.2f}")
            for _, row in table.iterrows()]
    rows.append(("all", "", f"{table['squawks'].sum():.2f}"))
    return Table(f"Squawks per aircraft by where they are found and the trade that clears them, mean of "
                 f"{words.runs(int(table['runs'].iloc[0]))} of which all work is kept.", ("Found at", "Cleared by",
                                                                                         "Squawks"), tuple(rows))


def in_process(numbers: Mapping[str, Any]) -> Table:
    """Aircraft by area over the window."""
    rows = [(area, *interval(row)) for area, row in numbers["aircraft in process"].items()]
    return Table(f"Aircraft standing in each area, mean over the window and {words.runs(numbers['runs'])}, with its 95 "
                 "% interval.", ("Area", "Aircraft", "from", "to"), tuple(rows))


def standing(areas: pd.DataFrame, total: pd.DataFrame, spread: str) -> Table:
    """Every fourth week of the figure."""
    grid = areas.pivot_table(index="week", columns="area", values="mean", sort=False)
    low, half, high = (total[name].map(words.tenths).tolist() for name in ("low", "half", "high"))
    rows = tuple((str(week), *(words.tenths(value) for value in row), half[n], words.between(low[n], high[n]))
                 for n, (week, row) in enumerate(grid.sort_index().iterrows()) if n % 4 == 0)
    return Table(f"Every fourth week (by its Monday): mean of the runs by area; of all areas half the runs, and "
                 f"{spread}.", ("Week of", *map(str, grid.columns), "All, half", "from, to"), rows, fits=False)


def stops(line: Mapping[str, Any]) -> Table:
    """Line stops."""
    rows = tuple((name, *interval(line[name])) for name in ("line stops in the window", "working hours it stood"))
    return Table("Mean of the runs with its 95 % interval.", ("Pulse line", "Mean", "from", "to"), rows)


def stopped_for(line: Mapping[str, Any]) -> Table:
    """For whom the pulse line stood, the longest first."""
    held = line["working hours it stood, by who held it"]
    whole = sum(row["hours"] for row in held) or 1.0
    rows = tuple((row["place"], row["reason"], words.hours(row["hours"]), words.percent(row["hours"] / whole))
                 for row in held[:10])
    return Table("What the aircraft that held the line was in, working hours in the window, mean of the runs.",
                 ("It stood for an aircraft at", "which was in", "Hours", "of all"), rows)


def travelled(line: Mapping[str, Any]) -> Table:
    """Travelled work by where it was planned."""
    rows = tuple((place, words.tenths(row["packages"]), words.hours(row["hours"]),
                  words.hours(row["of which price of travel"]))
                 for place, row in line["travelled, by where the work was planned"].items())
    return Table("Work that travelled in a run, by where it was planned, mean of the runs.",
                 ("Planned at", "Packages", "Labour hours", "of which price"), rows)


def people_of(sheet: Sheet) -> Table:
    """People as the scenario says."""
    rows = tuple((words.named(code, trade.name or ""), ", ".join(
        f"{number} {shift}".strip() for shift, number in trade.people.items()) or "nobody")
        for code, trade in sheet.scenario.trades.items())
    return Table("People on each shift.", ("Trade", "People"), rows)


def places_of(sheet: Sheet) -> Table:
    """Places as the scenario says."""
    rows = []
    for position in sheet.scenario.positions:
        hours = sum(package.hours.mean for package in position.packages if package.hours is not None)
        rows.append((words.named(position.id, position.name or ""), position.area or "", words.count(position.docks),
                     words.count(position.parking), words.count(len(position.packages)), words.hours(hours)))
    return Table("Positions in order of flow; labour hours of all packages, means as stated in the file.",
                 ("Position", "Area", "Docks", "Spots", "Packages", "Labour h"), tuple(rows))


def promises_of(first: date, last: date, count: int) -> str:
    """The order book in a line."""
    return f"{words.counted(count, 'aircraft', 'aircraft')} promised from {first} to {last}"
