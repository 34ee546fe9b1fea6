"""`linesim compare`: scenarios on common luck; the inputs that differ first, then each measure with its interval."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..line.sheet import Sheet
from ..scenario.changing import changed
from ..scenario.differences import compared
from ..scenario.faults import did_you_mean
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from ..scenario.written import written as as_written
from .answered import faults_of, written
from .asking import EXIT_FAULTS, EXIT_STOPPED, Answered, Asking, Variant, Where, WrongOption, asking, most_runs
from .changing import changes_of
from .words import PAGES, difference, runs, wrapped

if TYPE_CHECKING:
    from .report.blocks import Section, Table

MOST_DIFFERENCES = 6  # shown of one scenario; all of them stand in the JSON


def compare_files(files: list[str], *, with_named: list[str], changes: list[str], runs: int | None, seed: int | None,
                  jobs: int, out: str | None, as_json: bool, until_precision: float | None = None,
                  picture: str | None = None, page: str | None = None, cluster: str | None = None) -> int:
    """Compare a scenario file with other files, with its own comparisons by name, and with changes by path; with all of
    its own comparisons, if nothing else is asked for."""
    if (wrong := faults_of(picture, page)) is not None:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    ground = read_scenario(files[0])
    options = {"files": named_files(files[1:]), "with": with_named, "changes": changes}
    try:
        others = others_of(ground, options)
        most = most_runs(ground, runs, until_precision)
    except WrongOption as refused:
        print(": ".join(one for one in (files[0], refused.option, str(refused)) if one), file=sys.stderr)
        return EXIT_FAULTS
    except ValueError as why:
        print(why, file=sys.stderr)
        return EXIT_FAULTS
    with asking(Where.of(files[0], ground, seed, jobs, out, cluster)) as ask:
        found = _compared(ask, ground, others, options, most, until_precision)
    if found is None:
        print("Stopped before two scenarios had runs in common; the same command goes on from there.", file=sys.stderr)
        return EXIT_STOPPED
    numbers = found.numbers
    if picture or page:
        numbers["files"] = written(section(numbers), numbers, Sheet(ground), picture, page)
    print(json.dumps(numbers, indent=2) if as_json else "\n".join(_in_words(numbers)))
    return EXIT_STOPPED if ask.stopped else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int,
             until_precision: float | None = None) -> Answered | None:
    """The answer from so many runs of each scenario; None if it was stopped before two of them had runs in common.
    `options`: `files` (other scenario files by the name that they have in the answer), `with` (comparisons that the
    file declares, by name; all of them, if nothing else is given), `changes` (PATH=VALUE, all made in one scenario).
    Raises WrongOption, and ScenarioFaults of another file or a change."""
    return _compared(ask, scenario, others_of(scenario, options), options, runs, until_precision)


def named_files(files: Sequence[str]) -> dict[str, str]:
    """Files by their names without folder and ending; where two of them are called alike, by all of it."""
    stems = [Path(file).stem for file in files]
    return {stem if stems.count(stem) == 1 else file: file for stem, file in zip(stems, files, strict=True)}


def others_of(ground: Scenario, options: Mapping[str, Any]) -> dict[str, Scenario]:
    """The scenarios that are held against the ground, by name. Raises WrongOption and ScenarioFaults."""
    others = {name: read_scenario(file) for name, file in (options.get("files") or {}).items()}
    declared, with_named = [one.name for one in ground.comparisons], list(options.get("with") or ())
    changes = list(options.get("changes") or ())
    unknown = [name for name in with_named if name not in declared]
    if unknown:
        raise WrongOption("comparisons", f"nothing is called {unknown[0]!r}{did_you_mean(unknown[0], declared)}")
    named = with_named or ([] if others or changes else declared)
    others |= {name: compared(ground, name) for name in named}
    if changes:
        name = ", ".join(changes)
        others[name] = changed(ground, changes_of(changes)).model_copy(update={"name": name})
    if not others:
        raise WrongOption("", "nothing to compare with: name other files, --with a comparison of the file, or --change "
                              "PATH=VALUE")
    return others


def _compared(ask: Asking, ground: Scenario, others: Mapping[str, Scenario], options: Mapping[str, Any], most: int,
              until_precision: float | None) -> Answered | None:
    from ..questions.compare import Alternative, compare

    files = options.get("files") or {}
    variants = [Variant(ground.name, ground), *(Variant(*one, segments=one[0] in files) for one in others.items())]
    numbers = ask.do(variants, most, until_precision)
    found = [Alternative.of(one.name, ask.sheet(one.scenario), ask.read(one, of))
             for one, of in zip(variants, numbers, strict=True) if of]
    if not numbers[0] or len(found) < 2:
        return None
    answer = compare(found[0], found[1:], ask.where.seed)
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences, "assumed": [
        "What is not named as different is the same in all of these scenarios."]})
    return Answered(answer.numbers)


def _in_words(numbers: Mapping[str, Any]) -> list[str]:
    lines = ["Stopped: this answer is from the runs that are kept.", ""] if numbers["stopped"] else []
    first, last = numbers["window"]
    lines += wrapped(f"Against {numbers['ground']}, {numbers['runs']} runs on the same luck, deliveries from {first} "
                     f"to {last}:")
    lines += [line for sentence in numbers["sentences"] for line in wrapped(f"- {sentence}", 2)]
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
    from .report.blocks import Section, picture

    return Section("beside", PAGES["beside"], numbers["sentences"],
                   [picture(beside.plate(LIGHT, numbers), "beside", beside.finding(numbers))], tables(numbers))


def tables(numbers: Mapping[str, Any]) -> list[Table]:
    """What differs in the input, then each measure of each scenario with its interval."""
    rows = numbers["scenarios"][1:]
    inputs = [(row["name"], one["path"], one["ground"], one["here"]) for row in rows for one in row["differs in"]]
    return [inputs_table(inputs), *(_measures(numbers, row) for row in rows)]


def inputs_table(inputs: Sequence[tuple[str, str, Any, Any]]) -> Table:
    """Inputs that differ: the scenario, the path, what the ground says, what the other says."""
    from .report.blocks import Table

    return Table("What differs in the input.", ("Scenario", "Path", "Ground", "Here"), tuple(
        (name, path, _value(ground), _value(here)) for name, path, ground, here in inputs), fits=False)


def _measures(numbers: Mapping[str, Any], row: Mapping[str, Any]) -> Table:
    from .report.blocks import Table

    return Table(f"{row['name']}: mean of {runs(numbers['runs'])}, against {numbers['ground']} with the paired "
                 "95 % interval.", ("Measure", "Unit", "Ground", "Here", "Difference", "from", "to", "More in"),
                 tuple(_cells(numbers, row)), fits=False)


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
    text = value if isinstance(value, str) else as_written(value)
    return text if len(text) <= 60 else text[:57] + "..."

