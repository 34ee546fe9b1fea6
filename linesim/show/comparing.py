"""`linesim compare`: scenarios on common luck; the inputs that differ first, then each measure with its interval."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..scenario.changing import changed
from ..scenario.differences import compared
from ..scenario.faults import did_you_mean
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .answered import faults_of, written
from .asking import EXIT_FAULTS, EXIT_STOPPED, Variant, Where, asking, most_runs
from .changing import changes_of
from .words import PAGES, difference, runs, wrapped

if TYPE_CHECKING:
    from ..questions.baseline import Answer
    from .report.blocks import Section

MOST_DIFFERENCES = 6  # shown of one scenario; all of them stand in the JSON


def compare_files(files: list[str], *, with_named: list[str], changes: list[str], runs: int | None, seed: int | None,
                  jobs: int, out: str | None, as_json: bool, until_precision: float | None = None,
                  picture: str | None = None, page: str | None = None) -> int:
    """Compare a scenario file with other files, with its own comparisons by name, and with changes by path; with all of
    its own comparisons, if nothing else is asked for."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    ground = read_scenario(files[0])
    others = {Path(file).stem: read_scenario(file) for file in files[1:]}
    unknown = [name for name in with_named if name not in [one.name for one in ground.comparisons]]
    if unknown:
        near = did_you_mean(unknown[0], [one.name for one in ground.comparisons])
        print(f"{files[0]}: comparisons: nothing is called {unknown[0]!r}{near}", file=sys.stderr)
        return EXIT_FAULTS
    named = with_named or ([] if others or changes else [one.name for one in ground.comparisons])
    others |= {name: compared(ground, name) for name in named}
    if changes:
        others[", ".join(changes)] = changed(ground, changes_of(changes)).model_copy(
            update={"name": ", ".join(changes)})
    if not others:
        print(f"{files[0]}: nothing to compare with: name other files, --with a comparison of the file, or --change "
              "PATH=VALUE", file=sys.stderr)
        return EXIT_FAULTS
    try:
        most = most_runs(ground, runs, until_precision)
    except ValueError as why:
        print(why, file=sys.stderr)
        return EXIT_FAULTS
    return _compare(Where.of(files[0], ground, seed, jobs, out), ground, others, most, until_precision,
                    as_json=as_json, picture=picture, page=page)


def _compare(where: Where, ground: Scenario, others: dict[str, Scenario], most: int, until_precision: float | None, *,
             as_json: bool, picture: str | None, page: str | None) -> int:
    from ..questions.compare import Alternative, compare

    variants = [Variant(name, scenario) for name, scenario in {ground.name: ground, **others}.items()]
    with asking(where) as ask:
        numbers = ask.do(variants, most, until_precision)
        found = [Alternative(one.name, Sheet(one.scenario), list(ask.read(one, of)))
                 for one, of in zip(variants, numbers, strict=True) if of]
    if not numbers[0] or len(found) < 2:
        print("Stopped before two scenarios had runs in common; the same command goes on from there.", file=sys.stderr)
        return EXIT_STOPPED
    answer = compare(found[0], found[1:], where.seed)
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences, "assumed": [
        "What is not named as different is the same in all of these scenarios."]})
    if picture or page:
        answer.numbers["files"] = written(section(answer.numbers), answer.numbers, found[0].sheet, picture, page)
    print(json.dumps(answer.numbers, indent=2) if as_json else "\n".join(_in_words(answer)))
    return EXIT_STOPPED if ask.stopped else 0


def _in_words(answer: Answer) -> list[str]:
    numbers = answer.numbers
    lines = ["Stopped: this answer is from the runs that are kept.", ""] if numbers["stopped"] else []
    first, last = numbers["window"]
    lines += wrapped(f"Against {numbers['ground']}, {numbers['runs']} runs on the same luck, deliveries from {first} "
                     f"to {last}:")
    lines += [line for sentence in answer.sentences for line in wrapped(f"- {sentence}", 2)]
    for row in numbers["scenarios"][1:]:
        lines += ["", *wrapped(row["name"])]
        differs = row["differs in"]
        for one in differs[:MOST_DIFFERENCES]:
            lines += wrapped(f"  {one['path']}: {_value(one['ground'])} -> {_value(one['here'])}", 4)
        if len(differs) > MOST_DIFFERENCES:
            lines.append(f"  and {len(differs) - MOST_DIFFERENCES} more (see --json)")
        lines += _measure_lines(row, numbers["measures"])
    lines += [""] + [line for caution in numbers["cautions"] for line in wrapped(f"Caution  {caution}", 9)]
    return lines + [line for file in numbers.get("files", ()) for line in wrapped(f"Written  {file}", 9)]


def section(numbers: Mapping[str, Any]) -> Section:
    """The answer as a section: sentences, figure, what differs in the input, each measure with its interval."""
    from .charts import beside
    from .palette import LIGHT
    from .report.blocks import Section, Table, picture

    rows = numbers["scenarios"][1:]
    inputs = tuple((row["name"], one["path"], _value(one["ground"]), _value(one["here"]))
                   for row in rows for one in row["differs in"])
    tables = [Table("What differs in the input.", ("Scenario", "Path", "Ground", "Here"), inputs, fits=False)]
    tables += [Table(f"{row['name']}: mean of {runs(numbers['runs'])}, against {numbers['ground']} with the paired "
                     "95 % interval.", ("Measure", "Unit", "Ground", "Here", "Difference", "from", "to", "More in"),
                     tuple(_cells(numbers, row)), fits=False) for row in rows]
    return Section("beside", PAGES["beside"], numbers["sentences"],
                   [picture(beside.plate(LIGHT, numbers), "beside", beside.finding(numbers))], tables)


def _cells(numbers: Mapping[str, Any], row: Mapping[str, Any]) -> Iterator[tuple[str, ...]]:
    """Each measure that this scenario has."""
    ground = numbers["scenarios"][0]["measures"]
    for name, found in row["measures"].items():
        one = found["difference"]
        if one is None or found["mean"] is None or (not found["mean"] and not one["mean"]):
            continue
        limits = [difference(one[key], 2) if key in one else "" for key in ("low", "high")]
        yield (name, numbers["measures"][name], f"{ground[name]['mean']:.2f}", f"{found['mean']:.2f}",
               difference(one["mean"], 2), *limits, f"{one['more in']} of {one['of']}")


def _measure_lines(row: dict[str, Any], units: dict[str, str]) -> list[str]:
    lines = [f"  {'':<32}{'mean':>9}{'difference':>12}{'from':>9}{'to':>9}   {'more in':<12}"]
    for name, found in row["measures"].items():
        difference = found["difference"]
        if difference is None or found["mean"] is None or (not found["mean"] and not difference["mean"]):
            continue
        limits = [f"{difference[key]:+9.2f}" if key in difference else f"{'':>9}" for key in ("low", "high")]
        lines.append(f"  {name:<32}{found['mean']:>9.2f}{difference['mean']:>+12.2f}{''.join(limits)}   "
                     f"{difference['more in']} of {difference['of']:<5}  {units[name]}".replace("-", "\N{MINUS SIGN}"))
    return [line.rstrip() for line in lines]


def _value(value: Any) -> str:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:g}"
    text = value if isinstance(value, str) else json.dumps(value)
    return text if len(text) <= 60 else text[:57] + "..."

