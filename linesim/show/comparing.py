"""`linesim compare`: scenarios on common luck; the inputs that differ first, then each measure with its interval."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..line.runs import Stop
from ..line.sheet import Sheet
from ..questions.carried_out import Task, carry_out
from ..scenario.changing import changed
from ..scenario.differences import compared
from ..scenario.faults import did_you_mean
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .changing import changes_of
from .run_folder import RunFolder
from .running import Progress, stopping
from .words import wrapped

if TYPE_CHECKING:
    from ..questions.baseline import Answer
    from ..questions.compare import Alternative

EXIT_FAULTS, EXIT_STOPPED = 2, 130
MOST_DIFFERENCES = 6  # shown of one scenario; all of them stand in the JSON


def compare_files(files: list[str], *, with_named: list[str], changes: list[str], runs: int | None, seed: int | None,
                  jobs: int, out: str | None, as_json: bool) -> int:
    """Compare a scenario file with other files, with its own comparisons by name, and with changes by path; with all of
    its own comparisons, if nothing else is asked for."""
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
    return _compare(Path(files[0]).stem, ground, others, runs=runs or ground.runs,
                    seed=ground.seed if seed is None else seed, jobs=jobs or os.cpu_count() or 1,
                    results=Path(out or "results"), as_json=as_json)


def _compare(stem: str, ground: Scenario, others: dict[str, Scenario], *, runs: int, seed: int, jobs: int,
             results: Path, as_json: bool) -> int:
    from ..questions.compare import Alternative, compare

    found: list[Alternative] = []
    with stopping() as stop:
        for n, (name, scenario) in enumerate({ground.name: ground, **others}.items(), 1):
            if sys.stderr.isatty():
                print(f"{n} of {len(others) + 1}: {name}", file=sys.stderr)
            found.append(Alternative(name, Sheet(scenario), _runs_of(stem, scenario, runs, seed, jobs, results, stop)))
            if stop.asked:
                break
    if not found[0].runs or len([one for one in found if one.runs]) < 2:
        print("Stopped before two scenarios had runs in common; the same command goes on from there.", file=sys.stderr)
        return EXIT_STOPPED
    answer = compare(found[0], [one for one in found[1:] if one.runs], seed)
    answer.numbers.update({"stopped": stop.asked, "sentences": answer.sentences})
    print(json.dumps(answer.numbers, indent=2) if as_json else "\n".join(_in_words(answer)))
    return EXIT_STOPPED if stop.asked else 0


def _runs_of(stem: str, scenario: Scenario, runs: int, seed: int, jobs: int, results: Path, stop: Stop) -> list[Any]:
    task = Task(scenario, seed, range(runs), jobs)
    with RunFolder(results, stem, scenario, seed) as folder:
        progress = Progress(task, len(folder.there.intersection(task.numbers)))
        try:
            return list(folder.read(carry_out(task, folder, stop, progress.show).numbers))
        finally:
            progress.end()


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
    return lines + [""] + [line for caution in numbers["cautions"] for line in wrapped(f"Caution  {caution}", 9)]


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

