"""`linesim quarters`: deliveries, revenue and cash by quarter and month, as text, as JSON and as a picture."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..measures.cash import BOUGHT_OUT, CONCEDED, FIXED, IN, MATERIAL, WAGES
from ..questions.amounts import REACH
from ..questions.quarter_words import million
from ..questions.quarters import Asked, UnknownModel, models_of, only, quarters
from ..scenario.reading import read_scenario
from ..scenario.scenario import Scenario
from .answered import save, stopped_before
from .asking import EXIT_FAULTS, EXIT_STOPPED, Answered, Asking, Variant, Where, WrongOption, asking, most_runs
from .story import PICTURES
from .words import BEFORE_A_PROMISE, chance, runs, wrapped

CIRCLES = "circles"  # the table of the circles that stand for all runs


def quarters_of_file(file: str, *, model: str | None, at_least: int | None, runs: int | None, seed: int | None,
                     jobs: int, out: str | None, as_json: bool, picture: str | None, cluster: str | None = None) -> int:
    """Answer the question of a scenario file; its runs are those of `linesim run`, and are not done again."""
    if picture is not None and Path(picture).suffix not in PICTURES:
        print(f"--picture: {picture}: the name must end in {' or '.join(PICTURES)}", file=sys.stderr)
        return EXIT_FAULTS
    scenario = read_scenario(file)
    try:
        with asking(Where.of(file, scenario, seed, jobs, out, cluster)) as ask:
            found = answered(ask, scenario, {"model": model, "at least": at_least}, most_runs(scenario, runs, None))
    except WrongOption as wrong:
        print(f"--{wrong.option}: {wrong}", file=sys.stderr)
        return EXIT_FAULTS
    if found is None:
        stopped_before("the first run was done")
        return EXIT_STOPPED
    if picture is not None:
        found.numbers["pictures"] = draw(Path(picture), found)
    print(json.dumps(found.numbers, indent=2) if as_json else "\n".join(in_words(found.numbers)))
    return EXIT_STOPPED if ask.stopped else 0


def answered(ask: Asking, scenario: Scenario, options: Mapping[str, Any], runs: int) -> Answered | None:
    """The answer from so many runs, with the table of the circles; None if it was stopped before the first. `options`:
    `model` (None: all), `at least` (aircraft in the window; None: as many as are promised). Raises WrongOption."""
    from ..questions import figures
    from .folder import tables_of_runs

    model = options.get("model")
    if model is not None and model not in (known := models_of(scenario)):
        raise WrongOption("model", str(UnknownModel(model, known)))
    ground = Variant(scenario.name, scenario)
    numbers, = ask.do([ground], runs)
    if not numbers:
        return None
    sheet, done = ask.sheet(scenario), ask.hold(ground, numbers)
    answer = quarters(sheet, done, ask.where.seed, Asked(model, options.get("at least")))
    answer.numbers.update({"stopped": ask.stopped, "sentences": answer.sentences})
    of, few = (scenario, done) if model is None else only(scenario, done, model)
    circles = figures.quarters(sheet, tables_of_runs(ask.sheet(of), few), answer.numbers)
    return Answered(answer.numbers, {CIRCLES: circles})


def draw(picture: Path, found: Answered) -> list[str]:
    """Draw the deliveries into a file and, where money is declared, that into one beside it; gives their names. Raises
    FolderRefused where they cannot be written."""
    from .quartering_section import figures_of

    drawn = {picture if n == 0 else picture.with_stem(f"{picture.stem}-{key}"): one
             for n, (key, one) in enumerate(figures_of(found.numbers, found.tables[CIRCLES]).items())}
    for path, (figure, finding) in drawn.items():
        save(path, figure, finding.title, finding.reading)
    return [str(path) for path in drawn]


# in words ------------------------------------------------------------------------------------------------------------
def in_words(numbers: Mapping[str, Any]) -> list[str]:
    """Sentences, tables, what was assumed, cautions."""
    lines = [f"Stopped: this answer is from the first {runs(numbers['runs'])}.", ""] if numbers["stopped"] else []
    lines += [line for sentence in numbers["sentences"] for line in wrapped(sentence)]
    lines += ["", *_quarters(numbers), *_chances(numbers), *_months(numbers)]
    money = numbers["money"]
    if money:
        lines += [*_revenue(money), *_plant(money), *_cash(money)]
        lines += ["", *(line for what, how in money["how it is counted"].items()
                         for line in wrapped(f"Counted  {what}: {how}", 9))]
    lines += ["", *(line for caution in [" ".join(BEFORE_A_PROMISE), *numbers["cautions"]]
                     for line in wrapped(f"Caution  {caution}", 9))]
    if numbers.get("pictures"):
        lines += wrapped(f"Drawn in  {', '.join(numbers['pictures'])}", 10)
    return [*lines, *wrapped(f"From {runs(numbers['runs'])}, seed {numbers['seed']}, if the inputs are right.")]


def _quarters(numbers: Mapping[str, Any]) -> list[str]:
    few = "note" in numbers["deliveries in the window"]
    head = "quarter   plan   " + ("delivered in each run" if few else "9 in 10   8 in 10   5 in 10   1 in 10 ") + \
        ("" if few else "  late   keeps the plan")
    lines = [head] if few else [head, " " * 19 + "reach     reach     reach     reach  mean"]
    for name, row in numbers["quarters"].items():
        if isinstance(row, str):
            lines += wrapped(f"{name}   {row}", 10)
        elif few:
            lines += wrapped(f"{name}   {row['plan']:4d}   {', '.join(map(str, row['each run']))}", 17)
        else:
            reach = "   ".join(f"{row[f'{n} in 10 reach']:7d}" for n in REACH)
            kept = chance(row["runs that keep the plan"], numbers["runs"])
            lines.append(f"{name}   {row['plan']:4d}   {reach}  {numbers['late, mean'][name]:5.1f}   {kept}")
    return lines


def _chances(numbers: Mapping[str, Any]) -> list[str]:
    """From what nearly all runs reach in every quarter to what hardly any does in one."""
    table, of = numbers["runs that deliver at least"], numbers["runs"]
    if not table:
        return []
    rows = list(table.items())
    first = max((n for n, (_, row) in enumerate(rows) if all(20 * kept > 19 * of for kept in row.values())), default=0)
    last = min((n for n, (_, row) in enumerate(rows) if all(20 * kept < of for kept in row.values())),
               default=len(rows) - 1)
    names = list(rows[0][1])
    lines = ["", "Runs that deliver at least so many in the quarter:", (f"{'aircraft':<10}" + "".join(
        f"{name:<20}" for name in names)).rstrip()]
    return lines + [(f"{count:>8}  " + "".join(f"{chance(row[name], of):<20}" for name in names)).rstrip()
                    for count, row in rows[first:last + 1]]


def _months(numbers: Mapping[str, Any]) -> list[str]:
    money = numbers["money"] if numbers["model"] is None else None
    brings = f"   revenue, mean, {money['currency']} million" if money else ""
    lines = ["", f"month     promised   delivered, mean   95 % interval{brings}"]
    for month, row in numbers["deliveries by month"].items():
        span = f"{row['low']:.1f} to {row['high']:.1f}" if "low" in row else ""
        sold = million(money["revenue by month"][month]["mean"]) if money else ""
        lines.append(f"{month}   {row['promised']:8d}   {row['mean']:15.1f}   {span:<13}{sold:>17}".rstrip())
    models = numbers["deliveries by model"]
    if len(models) > 1:
        names = list(next(iter(models.values())))
        lines += ["", "Delivered by model, mean of the runs:",
                  f"{'model':<10}" + "".join(f"{name:>14}" for name in names)]
        lines += [f"{model:<10}" + "".join(f"{row[name]['mean']:14.1f}" for name in names)
                  for model, row in models.items()]
    return lines


def _revenue(money: Mapping[str, Any]) -> list[str]:
    """What the quarters and the window bring, and what they cost in lateness and capital."""
    rows = {**money["revenue by quarter"], "window": money["revenue in the window"]}
    few = "note" in money["revenue in the window"]
    lines = ["", f"Revenue at acceptance, {money['currency']} million:",
             "quarter       mean" + ("" if few else "   9 in 10   8 in 10   5 in 10   1 in 10") +
             "   concessions   carrying cost"]
    if not few:
        lines.append(" " * 26 + "reach     reach     reach     reach   mean          mean")
    for name, row in rows.items():
        reach = "" if few else "".join(f"{million(row[f'{n} in 10 reach']):>10}" for n in REACH)
        late, carrying = ((money[of]["in the window"] if name == "window" else money[of]["by quarter"][name])["mean"]
                          for of in ("late concessions", "carrying cost"))
        lines.append(f"{name:<9}{million(row['mean']):>9}{reach}{million(late):>14}{million(carrying):>16}")
    by_model = money["revenue by model"]
    if len(by_model) > 1:
        lines.append("by model  " + ", ".join(f"{model} {million(row['mean'])}" for model, row in by_model.items()))
    return lines


def _plant(money: Mapping[str, Any]) -> list[str]:
    value = money["value in the plant"]
    lines = ["", f"In the plant at cost at the end of the month, {money['currency']} million:"]
    rows = {**value["at the end of"], "window": value["mean of the window"]}
    few = "note" in value["mean of the window"]
    lines.append("month        mean" + ("" if few else "   half the runs   8 in 10 runs"))
    for month, row in rows.items():
        span = "" if few else (f"{million(row['half the runs']):>16}   {million(row['8 in 10 runs from'])} to "
                               f"{million(row['to'])}")
        lines.append(f"{month:<9}{million(row['mean']):>8}{span}" + ("   mean of the window" * (month == "window")))
    return lines


SHORT = {IN: "balances", CONCEDED: "conceded", BOUGHT_OUT: "bought-out", MATERIAL: "other mat.", WAGES: "wages",
         FIXED: "fixed"}


def _cash(money: Mapping[str, Any]) -> list[str]:
    found = money["cash"]
    if not found:
        return []
    lines = ["", f"Cash by month, {money['currency']} million, mean of the runs; in above 0, out below 0:",
             f"{'month':<9}" + "".join(f"{name:>11}" for name in SHORT.values()) + f"{'net':>8}"]
    for month, row in [*found["by month"].items(), ("window", found["in the window"])]:
        lines.append(f"{month:<9}" + "".join(f"{million(row[kind]):>11}" for kind in SHORT)
                     + f"{million(row['net']['mean']):>8}")
    return lines

