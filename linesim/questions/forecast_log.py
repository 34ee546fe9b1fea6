"""What was said about each aircraft, and when: forecasts in the order in which they were made, what has changed since,
and how they came out.

A forecast is scored once its aircraft is delivered. The dates of half, 8 in 10 and 19 in 20 runs by their pinball loss
in calendar days (Koenker & Bassett, Regression Quantiles, Econometrica 1978; Gneiting & Raftery, Strictly Proper
Scoring Rules, JASA 2007), the chance that a promise is kept by its Brier score (Brier, Monthly Weather Review 1950).
Smaller is nearer; 0 is exact. A chance of one half whatever comes scores 0.25.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime
from typing import Any

from ..measures.estimates import percentile
from ..measures.run import RunNumbers, promise_in
from ..scenario.calendar import months_on
from ..scenario.scenario import Scenario
from .baseline import LEAST_RUNS
from .dates import delivery_days

SHARES = {"half": 0.5, "eight": 0.8, "nineteen": 0.95}
NAMES = {"half": "half by", "eight": "8 in 10 by", "nineteen": "19 in 20 by"}
BEYOND = "after"  # begins the text of a date that lies beyond the last date of the runs


class NotALog(ValueError):
    """A log or a table of actual dates that cannot be read: which line, what was found, what is allowed."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What one forecast says about one aircraft; dates are ISO, or "after DATE" beyond the end of the runs."""

    made: str        # date and clock time of the forecast
    floor: str       # the day whose floor it starts from
    scenario: str
    digest: str      # of what is acted on, 8 hex digits
    seed: int
    runs: int
    serial: str
    promised: str    # "" without one
    kept: int        # runs that deliver by the promised date, of those in which there is one
    of: int
    half: str
    eight: str
    nineteen: str


HEAD = [field.name for field in fields(Forecast)]


class TooFew(ValueError):
    """Too few runs for the dates of a forecast."""

    def __init__(self, found: int) -> None:
        super().__init__(f"a forecast is kept from {LEAST_RUNS} runs on, found {found}")


def forecasts(scenario: Scenario, digest: str, seed: int, runs: Sequence[RunNumbers], last: date,
              made: datetime) -> list[Forecast]:
    """One for each order that any run delivers. Raises TooFew."""
    if len(runs) < LEAST_RUNS:
        raise TooFew(len(runs))
    rows = []
    for order in scenario.orders or ():
        days = delivery_days(order.serial, runs)
        promises = [promise_in(run, order) for run in runs]
        kept = sum(bool(promised) and day <= date.fromisoformat(promised).toordinal()
                   for day, promised in zip(days, promises, strict=True))
        dates = {name: _text(percentile(days, share), last) for name, share in SHARES.items()}
        rows.append(Forecast(f"{made:%Y-%m-%d %H:%M:%S}", str(scenario.start), scenario.name, digest, seed, len(runs),
                             order.serial, str(order.promised or ""), kept, sum(map(bool, promises)), **dates))
    return rows


def _text(day: float, last: date) -> str:
    return f"{BEYOND} {last}" if math.isinf(day) else str(date.fromordinal(int(day)))


# the file ------------------------------------------------------------------------------------------------------------
def as_text(rows: Iterable[Forecast]) -> str:
    """The log as a CSV table, oldest first."""
    out = io.StringIO()
    writer = csv.DictWriter(out, HEAD, lineterminator="\n")
    writer.writeheader()
    writer.writerows(asdict(row) for row in rows)
    return out.getvalue()


def read(text: str) -> list[Forecast]:
    """A log from its text. Raises NotALog."""
    table = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")))
    if table.fieldnames != HEAD:
        raise NotALog(f"line 1: the columns must be {','.join(HEAD)}, found {','.join(table.fieldnames or [])[:120]}")
    return [_forecast(table.line_num, row) for row in table]


def _forecast(line: int, row: Mapping[str, str | None]) -> Forecast:
    try:
        values: dict[str, Any] = {name: str(row[name] or "") for name in HEAD}
        values |= {name: int(values[name]) for name in ("seed", "runs", "kept", "of")}
        datetime.fromisoformat(values["made"])
        for name in SHARES:
            date.fromisoformat(values[name].removeprefix(f"{BEYOND} "))
        return Forecast(**values)
    except ValueError as why:
        raise NotALog(f"line {line}: {why}") from None


def read_actual(text: str) -> dict[str, date]:
    """Actual deliveries of a CSV table `serial,delivered`; without a date not delivered yet. Raises NotALog."""
    table, found = csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))), dict[str, date]()
    if not {"serial", "delivered"} <= set(table.fieldnames or ()):
        raise NotALog(f"line 1: needs the columns serial and delivered, found {','.join(table.fieldnames or [])[:120]}")
    for row in table:
        serial, day = (row["serial"] or "").strip(), (row["delivered"] or "").strip()
        if serial in found:
            raise NotALog(f"line {table.line_num}, serial: {serial!r} stands there twice")
        try:
            if day:
                found[serial] = date.fromisoformat(day)
        except ValueError:
            raise NotALog(f"line {table.line_num}, delivered: needs a date like 2027-01-21, found {day!r}") from None
    return found


# what has changed ----------------------------------------------------------------------------------------------------
def since(rows: Sequence[Forecast]) -> dict[str, Any]:
    """By serial, what is said now, and by how many days the dates have moved since the run before and since a month
    ago: the last forecast made a calendar month or more before the newest."""
    by_made = grouped(rows)
    made = list(by_made)
    if not made:
        return {"forecasts": 0, "serials": []}
    newest = datetime.fromisoformat(made[-1])
    month = [at for at in made if datetime.fromisoformat(at).date() <= months_on(newest.date(), -1)]
    before, ago = (made[-2] if len(made) > 1 else None), (month[-1] if month else None)
    return {"forecasts": len(made), "first": made[0], "newest": made[-1], "run before": before, "a month ago": ago,
            "serials": [_change(row, by_made.get(before or "", {}), by_made.get(ago or "", {}))
                        for row in by_made[made[-1]].values()]}


def grouped(rows: Iterable[Forecast]) -> dict[str, dict[str, Forecast]]:
    """Forecasts by when they were made, oldest first; in each the aircraft by serial."""
    found: dict[str, dict[str, Forecast]] = {}
    for row in rows:
        found.setdefault(row.made, {})[row.serial] = row
    return dict(sorted(found.items()))


def _change(row: Forecast, before: Mapping[str, Forecast], ago: Mapping[str, Forecast]) -> dict[str, Any]:
    then = ago.get(row.serial)
    return {"serial": row.serial, "promised": row.promised or None,
            **{NAMES[name]: getattr(row, name) for name in SHARES}, "runs that keep it": row.kept, "of": row.of,
            "days later than the run before": _later(row, before.get(row.serial)),
            "days later than a month ago": _later(row, then),
            "a month ago, 8 in 10 by": None if then is None else then.eight}


def _later(now: Forecast, then: Forecast | None) -> int | None:
    """Days by which the 8-in-10 date has moved; None where one of the two has none."""
    if then is None or now.eight.startswith(BEYOND) or then.eight.startswith(BEYOND):
        return None
    return (date.fromisoformat(now.eight) - date.fromisoformat(then.eight)).days


# how it came out -----------------------------------------------------------------------------------------------------
def pinball(said: date, came: date, share: float) -> float:
    """Loss in calendar days of a date by which a share of the runs deliver, against the date that came."""
    late = (came - said).days
    return share * late if late >= 0 else (share - 1) * late


def scores(rows: Sequence[Forecast], actual: Mapping[str, date]) -> list[dict[str, Any]]:
    """Each forecast against the aircraft delivered after it was made (from the floor's day on): mean losses, how many
    came by each date, and the Brier score of the promises."""
    found = []
    for made, by_serial in grouped(rows).items():
        pairs = [(row, actual[row.serial]) for row in by_serial.values()
                 if row.serial in actual and actual[row.serial] >= date.fromisoformat(row.floor)]
        if pairs:
            found.append({"made": made, "aircraft": len(pairs), **_dates(pairs), **_promises(pairs)})
    return found


def _dates(pairs: Sequence[tuple[Forecast, date]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, share in SHARES.items():
        known = [(date.fromisoformat(said), came) for row, came in pairs
                 if not (said := getattr(row, name)).startswith(BEYOND)]
        losses = [pinball(said, came, share) for said, came in known]
        found[NAMES[name]] = {"loss, days": round(sum(losses) / len(losses), 3) if losses else None,
                              "came by then": sum(came <= said for said, came in known), "of": len(known)}
    return found


def _promises(pairs: Sequence[tuple[Forecast, date]]) -> dict[str, Any]:
    known = [(row.kept / row.of, came <= date.fromisoformat(row.promised)) for row, came in pairs
             if row.promised and row.of]
    squares = [(share - kept) ** 2 for share, kept in known]
    return {"promises": {"brier": round(sum(squares) / len(squares), 4) if squares else None, "of": len(known),
                         "kept": sum(kept for _, kept in known),
                         "expected": round(sum(share for share, _ in known), 2)}}
