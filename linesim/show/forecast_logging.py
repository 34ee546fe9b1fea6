"""`linesim log`: what was said about each aircraft so far, what has moved since, and how it came out; and `--log` of
`linesim dates` and `linesim next`, which adds what is said today.

The log is one table for each scenario file name, `results/<stem>-forecasts.csv`, oldest first. It only grows, and only
where it is asked for: questions that are tried out are no forecasts.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..measures.run import RunNumbers
from ..questions.forecast_log import (
    Forecast,
    NotALog,
    TooFew,
    as_text,
    forecasts,
    read,
    read_actual,
    scores,
    since,
)
from . import words
from .answered import columns
from .asking import EXIT_FAULTS, Where
from .folder_check import Identity
from .whole_files import FolderRefused, write_whole

if TYPE_CHECKING:
    from .report.blocks import Table

ENDING = "-forecasts.csv"
NOT_SCORED = "No aircraft of the table was delivered after a forecast: nothing to score."


def log_path(results: Path, stem: str) -> Path:
    """Where the log of a scenario file is kept."""
    return results / f"{stem}{ENDING}"


def add_forecast(where: Where, sheet: Sheet, runs: Sequence[RunNumbers], made: datetime | None = None) -> Path:
    """Add what these runs say to the log. Raises FolderRefused where it is no log or cannot be written, and TooFew."""
    path = log_path(where.results, where.stem)
    digest = Identity.of(sheet.scenario, where.seed).digest[:8]
    new = forecasts(sheet.scenario, digest, where.seed, runs, sheet.calendar.last_day, made or datetime.now())
    kept = read_log(path) if path.exists() else []
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, as_text([*kept, *new]).encode())
    except OSError as error:
        raise FolderRefused(path, f"it cannot be written ({error.strerror or error})", "") from None
    return path


def keep_forecast(where: Where, sheet: Sheet, runs: Sequence[RunNumbers], numbers: dict[str, Any]) -> None:
    """The same for a command: the numbers get the name of the log; of too few runs it says why nothing was added."""
    try:
        numbers["logged in"] = str(add_forecast(where, sheet, runs))
    except TooFew as why:
        print(f"--log: {why}; nothing was added", file=sys.stderr)


def read_log(path: Path) -> list[Forecast]:
    """The log. Raises FolderRefused where it is none."""
    try:
        return read(path.read_text(encoding="utf-8"))
    except (NotALog, UnicodeDecodeError) as why:
        raise FolderRefused(path, f"it is no log of forecasts ({why})",
                            "Nothing there was touched. Move it elsewhere.") from None
    except OSError as error:
        raise FolderRefused(path, f"it cannot be read ({error.strerror or error})", "") from None


def log_of(named: str, *, actual: str | None, out: str | None, as_json: bool) -> int:
    """Print the log of a scenario file, of a log file, or of the only one in a folder."""
    path = _found(Path(named), Path(out or "results"))
    if isinstance(path, str):
        print(path, file=sys.stderr)
        return EXIT_FAULTS
    rows = read_log(path)
    numbers: dict[str, Any] = {"log": str(path), **since(rows), "scores": None}
    if actual is not None:
        try:
            numbers["scores"] = scores(rows, read_actual(Path(actual).read_text(encoding="utf-8")))
        except (NotALog, UnicodeDecodeError) as why:
            print(f"{actual}: {why}", file=sys.stderr)
            return EXIT_FAULTS
        except OSError as error:
            print(f"{actual}: it cannot be read ({error.strerror or error})", file=sys.stderr)
            return EXIT_FAULTS
    print(json.dumps(numbers, indent=2) if as_json else "\n".join(in_words(numbers)))
    return 0


def _found(named: Path, results: Path) -> Path | str:
    """The log that is meant, or what is wrong."""
    if named.is_dir():
        logs = sorted(named.glob(f"*{ENDING}"))
        if len(logs) == 1:
            return logs[0]
        there = ", ".join(path.name for path in logs) or "none"
        return f"{named}: needs exactly one log (*{ENDING}), found {there}; name a file"
    path = named if named.name.endswith(ENDING) else log_path(results, named.stem)
    if path.exists():
        return path
    return f"{path}: no forecast is kept yet; `linesim dates FILE --log` keeps one"


# in words ------------------------------------------------------------------------------------------------------------
def in_words(numbers: Mapping[str, Any]) -> list[str]:
    """Sentences, the table by serial, the scores."""
    if not numbers["forecasts"]:
        return [f"{numbers['log']} holds no forecast yet."]
    lines = [line for sentence in sentences(numbers) for line in words.wrapped(sentence)]
    lines += ["", *columns(table(numbers))]
    if numbers["scores"] is not None:
        lines += ["", *_scores(numbers["scores"])]
    return [*lines, "", *words.wrapped(f"Caution  {' '.join(words.BEFORE_A_PROMISE)}", 9),
            *words.wrapped(f"Kept in  {numbers['log']}", 9)]


def sentences(numbers: Mapping[str, Any]) -> list[str]:
    """How many forecasts there are, and what has moved."""
    count = words.counted(numbers["forecasts"], "forecast")
    if numbers["run before"] is None:
        return [f"{count}, made {numbers['newest']}: nothing to hold it against yet."]
    return [f"{count} from {numbers['first']} to {numbers['newest']}.",
            _moved(numbers, "days later than the run before", f"the run before ({numbers['run before']})"),
            *([_moved(numbers, "days later than a month ago", f"a month ago ({numbers['a month ago']})")]
              if numbers["a month ago"] else ["There is no forecast a month old yet."])]


def _moved(numbers: Mapping[str, Any], name: str, since_when: str) -> str:
    known = [row for row in numbers["serials"] if row[name] is not None]
    later, earlier = ([row for row in known if sign * row[name] > 0] for sign in (1, -1))
    most = max(known, key=lambda row: abs(row[name]), default=None)
    text = f"Since {since_when} {len(later)} of {len(known)} aircraft have moved later and {len(earlier)} earlier"
    if most is None or not most[name]:
        return f"{text}."
    return f"{text}; most {most['serial']}, by {words.difference(most[name], 0)} days."


def table(numbers: Mapping[str, Any]) -> Table:
    """What is said about each aircraft, and by how much it has moved."""
    from .report.blocks import Table

    head = ("Serial", "Promised", "Half by", "8 in 10 by", "19 in 20 by", "Keeps it", "Since run before, d",
            "Since a month ago, d")
    return Table("", head, tuple(
        (row["serial"], row["promised"] or "", row["half by"], row["8 in 10 by"], row["19 in 20 by"],
         words.chance(row["runs that keep it"], row["of"]) if row["of"] else "",
         *("" if row[name] is None else words.difference(row[name], 0)
           for name in ("days later than the run before", "days later than a month ago")))
        for row in numbers["serials"]))


def _scores(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    if not rows:
        return [NOT_SCORED]
    found = scores_table(rows)
    return [*words.wrapped(found.note), *columns(found)]


def scores_table(rows: Sequence[Mapping[str, Any]]) -> Table:
    """How each forecast came out."""
    from .report.blocks import Table

    dates = ("half by", "8 in 10 by", "19 in 20 by")
    head = ("Forecast of", "Aircraft", *(f"{part} {name}" for name in dates for part in ("Loss, d,", "Came")),
            "Promises kept", "Expected", "Brier")
    return Table("How the forecasts came out. Loss: pinball loss in calendar days, 0 is exact. Came: delivered by that "
                 "date; 8 in 10 should come by the 8-in-10 date. Brier score of the promises: 0 is exact, 0.25 is what "
                 "an even chance each time scores.", head, tuple(
                     (row["made"][:16], str(row["aircraft"]),
                      *(cell for name in dates for cell in (_number(row[name]["loss, days"]),
                                                            f"{row[name]['came by then']} of {row[name]['of']}")),
                      f"{row['promises']['kept']} of {row['promises']['of']}",
                      words.tenths(row["promises"]["expected"]), _number(row["promises"]["brier"])) for row in rows))


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"
