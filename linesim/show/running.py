"""`linesim run`: runs with progress, the answer in plain words, and the run folder."""

from __future__ import annotations

import hashlib
import json
import os
import sys
import time
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

from .. import __version__
from ..line.cautions import cautions_of
from ..line.runs import run_many
from ..measures.estimates import at_least, chance_words, mean_interval, percentile
from ..measures.first import RunNumbers, deliveries_by_quarter, numbers_of, quarter_of, quarters_of, window_of
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario

LATE = "after"
LEAST_RUNS = 29  # a two-sided 95 % rank interval for the 10th or 90th percentile needs so many


def run_file(file: str, *, runs: int | None, seed: int | None, jobs: int, only: int | None, out: str | None,
             as_json: bool) -> int:
    """Run a scenario file and show the answer."""
    scenario = read_scenario(file)
    seed = scenario.seed if seed is None else seed
    numbers = [only] if only is not None else list(range(runs or scenario.runs))
    done, stopped = _run(scenario, seed, numbers, jobs or os.cpu_count() or 1)
    if not done:
        raise KeyboardInterrupt
    answer = answer_of(scenario, done, seed)
    answer["stopped"] = stopped
    answer["kept in"] = str(_keep(Path(out) if out else Path("results"), file, scenario, done, answer))
    print(json.dumps(answer, indent=2) if as_json else in_words(scenario, answer))
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


def answer_of(scenario: Scenario, done: list[RunNumbers], seed: int) -> dict[str, Any]:
    """All numbers that are shown, as plain values."""
    window = window_of(scenario)
    in_window = [sum(window[0] <= date.fromisoformat(t[:10]) <= window[1] for t in run.delivered.values())
                 for run in done]
    totals: dict[str, float] = {}
    for run in done:
        for reason, hours in run.reasons.items():
            totals[reason] = totals.get(reason, 0.0) + hours
    counted = sum(run.counted for run in done)
    flows = [sum(run.flow_hours.values()) / len(run.flow_hours) / 24 for run in done if run.flow_hours]
    return {
        "scenario": scenario.name, "runs": len(done), "seed": seed,
        "window": [str(window[0]), str(window[1])],
        "deliveries in the window": _count(in_window),
        "quarters": _quarters(scenario, done, window),
        "flow, calendar days, mean and 95 % interval": (
            [round(v, 2) for v in _three(flows)] if flows else None),
        "hours per delivered aircraft by reason": {
            reason: round(hours / counted, 2) for reason, hours in sorted(totals.items(), key=lambda item: -item[1])
        } if counted else {},
        "serials": _serials(scenario, done),
        "never moving on": sorted({why for run in done for why in run.stuck}),
        "cautions": [str(caution) for caution in cautions_of(scenario)]}


def _three(values: list[float]) -> tuple[float, ...]:
    interval = mean_interval(values)
    bounds = (interval.low, interval.high) if interval.n > 1 else ()
    return (interval.point, *bounds)


def _count(counts: list[int]) -> dict[str, Any]:
    """What share of the runs reach at least; refused where the runs are too few."""
    if len(counts) < LEAST_RUNS:
        return {"each run": counts, "note": f"too few runs for an 8-in-10 range; {LEAST_RUNS} are needed"}
    return {f"{n} in 10 reach": int(at_least(counts, n / 10)) for n in (9, 8, 5, 1)}


def _quarters(scenario: Scenario, done: list[RunNumbers], window: tuple[date, date]) -> dict[str, Any]:
    each = [deliveries_by_quarter(list(run.delivered.values()), window) for run in done]
    table: dict[str, Any] = {}
    for name, whole in quarters_of(window, scenario.start).items():
        if not whole:
            table[name] = "refused: incomplete"
            continue
        counts = [count for run in each if (count := run[name]) is not None]
        plan = sum(quarter_of(str(order.promised)) == name for order in scenario.orders or () if order.promised)
        table[name] = {"plan": plan, **_count(counts),
                       "runs that keep the plan": sum(count >= plan for count in counts)}
    return table


def _serials(scenario: Scenario, done: list[RunNumbers]) -> list[dict[str, Any]]:
    """Dates by serial: half, 8 in 10 and 19 in 20 of the runs deliver by then; the chance of keeping the promise."""
    rows = []
    for order in scenario.orders or ():
        days = [float(date.fromisoformat(run.delivered[order.serial][:10]).toordinal())
                if order.serial in run.delivered else float("inf") for run in done]
        row: dict[str, Any] = {"serial": order.serial, "promised": str(order.promised) if order.promised else None}
        for words, share in (("half by", 0.5), ("8 in 10 by", 0.8), ("19 in 20 by", 0.95)):
            if len(done) >= LEAST_RUNS:
                row[words] = _day(percentile(days, share), scenario)
        if order.promised:
            row["runs that keep it"] = sum(day <= order.promised.toordinal() for day in days)
        rows.append(row)
    return rows


def _day(ordinal: float, scenario: Scenario) -> str:
    from ..scenario.calendar import months_on

    if ordinal == float("inf"):
        return f"{LATE} {months_on(scenario.end, scenario.run_on_months)}"
    return str(date.fromordinal(int(ordinal)))


def in_words(scenario: Scenario, answer: dict[str, Any]) -> str:
    """The answer as it is printed: sentence, range, table, cautions, where the files are."""
    counts = answer["deliveries in the window"]
    lines = [f"Stopped at {answer['runs']} runs. These {answer['runs']} are kept."] if answer["stopped"] else []
    first, last = answer["window"]
    if "note" in counts:
        lines.append(f"{answer['runs']} run(s) deliver {min(counts['each run'])} to {max(counts['each run'])} aircraft "
                     f"from {first} to {last}; {counts['note']}.")
    else:
        lines.append(f"8 in 10 runs deliver at least {counts['8 in 10 reach']} aircraft from {first} to {last}; "
                     f"half the runs at least {counts['5 in 10 reach']}.")
    reasons = answer["hours per delivered aircraft by reason"]
    if reasons:
        lost = {r: h for r, h in reasons.items() if r not in ("hands-on work", "off shift", "hold", "flight",
                                                              "appointment", "rework")}
        if lost:
            worst = max(lost, key=lambda reason: lost[reason])
            lines.append(f"Most hours are lost to: {worst}, {lost[worst]:.0f} clock hours of each delivered aircraft.")
    lines += ["", *_quarter_lines(answer), ""]
    lines += [f"Stuck    {why}" for why in answer["never moving on"]]
    lines += [f"Caution  {caution}" for caution in answer["cautions"]]
    lines.append(f"Kept in  {answer['kept in']}")
    return "\n".join(lines)


def _quarter_lines(answer: dict[str, Any]) -> list[str]:
    lines = ["quarter   plan   9 in 10   8 in 10   5 in 10   1 in 10   keeps the plan",
             "                   reach     reach     reach     reach"]
    for name, row in answer["quarters"].items():
        if isinstance(row, str):
            lines.append(f"{name}   {row}")
        elif "note" in row:
            lines.append(f"{name}   {row['plan']:4d}   each run: {', '.join(map(str, row['each run'][:12]))}")
        else:
            reach = "   ".join(f"{row[f'{n} in 10 reach']:7d}" for n in (9, 8, 5, 1))
            kept, of = row["runs that keep the plan"], answer["runs"]
            filled = round(10 * kept / of)
            lines.append(f"{name}   {row['plan']:4d}   {reach}   [{'#' * filled}{'.' * (10 - filled)}]  "
                         f"{chance_words(kept, of)}")
    return lines


def _keep(results: Path, file: str, scenario: Scenario, done: list[RunNumbers], answer: dict[str, Any]) -> Path:
    """The run folder: scenario as run, Parquet tables, the answer; the manifest last."""
    import pandas as pd

    as_run = scenario.model_dump_json(indent=1, by_alias=True, fallback=lambda value: value.as_declared())
    digest = hashlib.sha256(as_run.encode()).hexdigest()[:8]
    folder = results / f"{Path(file).stem}-{digest}-{answer['seed']}"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "manifest.json").unlink(missing_ok=True)
    _write(folder / "scenario.json", as_run.encode())
    deliveries = [(run.run, serial, moment) for run in done for serial, moment in run.delivered.items()]
    pd.DataFrame(deliveries, columns=["run", "serial", "delivered"]).assign(
        delivered=lambda table: pd.to_datetime(table["delivered"])).to_parquet(folder / "deliveries.parquet")
    runs = pd.DataFrame([{**{k: v for k, v in asdict(run).items() if isinstance(v, int)},
                          **{f"hours: {r}": h for r, h in run.reasons.items()}} for run in done])
    runs.to_parquet(folder / "runs.parquet")
    _write(folder / "answer.json", json.dumps(answer, indent=1).encode())
    _write(folder / "manifest.json", json.dumps(
        {"linesim": __version__, "scenario": scenario.name, "scenario sha256, 8 digits": digest,
         "seed": answer["seed"], "runs": [run.run for run in done]}, indent=1).encode())
    return folder


def _write(path: Path, content: bytes) -> None:
    """Whole or not at all."""
    part = path.with_suffix(path.suffix + ".part")
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
