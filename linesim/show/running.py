"""`linesim run`: runs with progress, the answer in plain words, and the run folder."""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path
from typing import Any

from ..line.runs import run_many
from ..line.sheet import Sheet
from ..measures.estimates import chance_words
from ..measures.run import RunNumbers, numbers_of
from ..questions.baseline import Answer, baseline
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .folder import keep
from .words import wrapped


def run_file(file: str, *, runs: int | None, seed: int | None, jobs: int, only: int | None, out: str | None,
             as_json: bool) -> int:
    """Run a scenario file and show the answer."""
    scenario = read_scenario(file)
    seed = scenario.seed if seed is None else seed
    numbers = [only] if only is not None else list(range(runs or scenario.runs))
    done, stopped = _run(scenario, seed, numbers, jobs or os.cpu_count() or 1)
    if not done:
        raise KeyboardInterrupt
    sheet = Sheet(scenario)
    answer = baseline(sheet, done, seed)
    answer.numbers["stopped"] = stopped
    answer.numbers["sentences"] = answer.sentences
    folder = keep(Path(out) if out else Path("results"), Path(file).stem, sheet, done, answer.numbers)
    answer.numbers["kept in"] = str(folder)
    print(json.dumps(answer.numbers, indent=2) if as_json else in_words(answer))
    return 130 if stopped else 0


def _run(scenario: Scenario, seed: int, numbers: list[int], jobs: int) -> tuple[list[RunNumbers], bool]:
    done: list[RunNumbers] = []
    began, stopped = time.monotonic(), False
    try:
        for chunk in run_many(scenario, seed, numbers, numbers_of, jobs):
            done += chunk
            _progress(len(done), len(numbers), time.monotonic() - began)
    except KeyboardInterrupt:
        stopped = True
    if sys.stderr.isatty():
        print(file=sys.stderr)
    return sorted(done, key=lambda run: run.run), stopped


def _progress(done: int, of: int, seconds: float) -> None:
    if not sys.stderr.isatty():
        return
    filled, left = 20 * done // of, seconds / done * (of - done)
    print(f"\rRun {done} of {of}   [{'#' * filled}{'.' * (20 - filled)}]   about {left:.0f} s left   "
          "Ctrl-C stops and keeps", end="", file=sys.stderr, flush=True)


def in_words(answer: Answer) -> str:
    """The answer as it is printed: sentences, one table, cautions, where the files are."""
    numbers = answer.numbers
    lines = [f"Stopped at {numbers['runs']} runs. These {numbers['runs']} are kept.", ""] if numbers["stopped"] else []
    lines += [line for sentence in answer.sentences for line in wrapped(sentence)]
    lines += ["", *_quarter_lines(numbers), ""]
    lines += [line for why in numbers["never moving on"] for line in wrapped(f"Stuck    {why}", 9)]
    lines += [line for caution in numbers["cautions"] for line in wrapped(f"Caution  {caution}", 9)]
    lines.append(f"Kept in  {numbers['kept in']}")
    return "\n".join(lines)


def _quarter_lines(numbers: dict[str, Any]) -> list[str]:
    lines = ["quarter   plan   9 in 10   8 in 10   5 in 10   1 in 10   keeps the plan",
             "                   reach     reach     reach     reach"]
    for name, row in numbers["quarters"].items():
        if isinstance(row, str):
            lines.append(f"{name}   {row}")
        elif "note" in row:
            lines.append(f"{name}   {row['plan']:4d}   each run: {', '.join(map(str, row['each run'][:12]))}")
        else:
            reach = "   ".join(f"{row[f'{n} in 10 reach']:7d}" for n in (9, 8, 5, 1))
            kept, of = row["runs that keep the plan"], numbers["runs"]
            filled = round(10 * kept / of)
            lines.append(f"{name}   {row['plan']:4d}   {reach}   [{'#' * filled}{'.' * (10 - filled)}]  "
                         f"{chance_words(kept, of)}")
    return lines
