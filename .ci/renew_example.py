"""Makes the examples of the README anew: `python .ci/renew_example.py` in the tree, with linesim installed.

It carries out the first command of the README and those of its worked questions, keeps their small files under
results/example and writes the marked parts of README.md from them. With `--tale` it also asks what buys most on the
demo, and compares it with all of its comparisons, 200 runs each (some twenty minutes). A test holds README, examples
and code to each other.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
import shutil
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import linesim
from linesim.questions.baseline import Answer
from linesim.questions.figures import state_of
from linesim.questions.proof.summary import summary
from linesim.show import words
from linesim.show.commands import main
from linesim.show.report.sections import crew_sentence, sure_sentences
from linesim.show.running import in_words

TREE = Path(__file__).parents[1]
EXAMPLE, README = TREE / "results" / "example", TREE / "README.md"
DEMO, RUNS = "scenarios/birchwater.yaml", 60
FIGURES = ("lost", "load", "quarters", "dates", "floor-first-jam")
ASKED = {  # the worked question of each reader
    "rate": f"rate {DEMO} --takts 5,4.5,4 --runs 30",
    "crew": f"crew {DEMO} --trade FLM --people 2-4 --from FL --target 'days <= 33' --runs 30",
    "money": f"quarters {DEMO} --at-least 44 --runs {RUNS}"}
ASKED_FIGURES = {"rate": "asked-rate.svg", "crew": "asked-crew.svg", "money": "asked-money-money.svg"}
TALE, TALE_RUNS, TALE_SEED = EXAMPLE / "tale.json", 200, 4711  # fresh luck: not the seed that the data were tuned with
BUYS = f"buys {DEMO} --runs 60 --seed {TALE_SEED}"
SHOWN = ("deliveries in the window", "work days between deliveries", "flow time")
FILES = ("report.html", "answer.json", "manifest.json", "csv/deliveries-by-run.csv", "asked.json", "tale.json", *(
    f"figures/{name}.svg" for name in FIGURES), *(f"figures/{name}" for name in ASKED_FIGURES.values()))
PART = re.compile(r"(<!-- from the example: ([a-z ]+) -->\n).*?(<!-- end -->)", re.DOTALL)


def parts(numbers: Mapping[str, Any], asked: Mapping[str, Any], tale: Mapping[str, Any]) -> dict[str, str]:
    """The marked parts of the README by name, from the answers."""
    whole = in_words(Answer({**numbers, "kept in": ""}, numbers["sentences"]))
    states = [state_of(row["runs that keep it"], row.get("runs that promise it", numbers["runs"]))
              for row in numbers["serials"] if "runs that keep it" in row]
    counts = [f"{states.count(state)} {state}" for state in ("on time", "at risk", "late") if state in states]
    finance = [numbers["sentences"][0], *sure_sentences(numbers),
               f"Of {len(states)} promised aircraft: {words.listed(counts)}."]
    return {"answer": f"```text\n{whole[:whole.index('Caution')].strip()}\n```\n",
            "operations": quoted(numbers["sentences"][1:]), "planner": quoted([crew_sentence(numbers)]),
            "finance": quoted(finance),
            "where from": f"{words.runs(numbers['runs']).capitalize()} of `{DEMO}`, seed {numbers['seed']}.\n",
            **{name: f"`linesim {command}` answers:\n\n{quoted(asked[name])}" for name, command in ASKED.items()},
            "buys": f"`linesim {BUYS}` answers:\n\n{quoted(tale['buys']['sentences'])}",
            "tale": tale_table(tale), "proof": quoted((summary() or {"sentences": []})["sentences"])}


def quoted(sentences: list[str]) -> str:
    """Sentences as a quotation."""
    return f"> {' '.join(sentences)}\n"


def tale_table(tale: Mapping[str, Any]) -> str:
    """The comparisons of the demo as a table of differences, each with its paired 95 % interval."""
    ground, *others = tale["scenarios"]
    means = [ground["measures"][name]["mean"] for name in SHOWN]
    keeps = ground["keeps the plan"]
    rows = [f"{tale['runs']} runs, seed {tale['seed']}; differences on common luck with their paired 95 % interval.",
            "", "| scenario | deliveries in 2027 | work days between them | flow, calendar days | keeps the plan |",
            "|---|---|---|---|---|",
            f"| as it is, takt 4.5 | {means[0]:.1f} | {means[1]:.2f} | {means[2]:.0f} | "
            f"{keeps['runs']} of {keeps['of']} runs |"]
    for row in others:
        cells = [_difference(row["measures"][name]["difference"], digits)
                 for name, digits in zip(SHOWN, (1, 2, 0), strict=True)]
        kept = row["keeps the plan"]
        rows.append(f"| {row['name']} | {' | '.join(cells)} | {kept['runs']} of {kept['of']} runs |")
    return "\n".join(rows) + "\n"


def _difference(found: Mapping[str, float], digits: int) -> str:
    values = (round(found[name], digits) + 0.0 for name in ("mean", "low", "high"))  # no zero with a minus
    mean, low, high = (f"{value:+.{digits}f}".replace("-", "\N{MINUS SIGN}") for value in values)
    return f"{mean} ({low} to {high})"


def filled(text: str, found: Mapping[str, str]) -> str:
    """The README with its marked parts written anew."""
    return PART.sub(lambda part: f"{part[1]}{found[part[2]]}{part[3]}", text)


def asked_for(arguments: list[str]) -> dict[str, Any]:
    """What a command prints as JSON."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        code = main([*arguments, "--json"])
    if code:
        raise SystemExit(code)
    found: dict[str, Any] = json.loads(printed.getvalue())
    return found


def renew(*, with_tale: bool) -> None:
    """Run the demo and the questions, keep the small files, write the README. The old files stay until all are made."""
    with tempfile.TemporaryDirectory() as out:
        made = Path(out) / "example"
        asked_for(["run", str(TREE / DEMO), "--runs", str(RUNS), "--out", out])
        folder, = (path.parent for path in Path(out).glob("*/manifest.json"))
        for name in ("report.html", "answer.json", "manifest.json", "csv/deliveries-by-run.csv",
                     *(f"figures/{name}.svg" for name in FIGURES)):
            (made / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(folder / name, made / name)
        asked = {name: asked_for([*_words(command), "--out", out, "--picture", str(
            Path(out) / f"asked-{name}.svg")])["sentences"] for name, command in ASKED.items()}
        for name in ASKED_FIGURES.values():
            shutil.copyfile(Path(out) / name, made / "figures" / name)
        (made / "asked.json").write_text(json.dumps(asked, indent=1), encoding="utf-8")
        if with_tale:
            keep_tale(asked_for([*_words(BUYS), "--out", out]), asked_for([
                "compare", str(TREE / DEMO), "--runs", str(TALE_RUNS), "--seed", str(TALE_SEED), "--out", out]))
        shutil.copyfile(TALE, made / TALE.name)
        shutil.rmtree(EXAMPLE)
        shutil.copytree(made, EXAMPLE)
    write_readme()


def _words(command: str) -> list[str]:
    return [str(TREE / word) if word == DEMO else word for word in re.findall(r"'([^']*)'|(\S+)", command)
            for word in [word[0] or word[1]]]


def keep_tale(buys: Mapping[str, Any], found: Mapping[str, Any]) -> None:
    """What the README's tale is made of: which change buys most, and the table of comparisons."""
    rows = [{"name": row["name"], "keeps the plan": row["keeps the plan"], "measures": {
        name: row["measures"][name] for name in SHOWN}} for row in found["scenarios"]]
    TALE.write_text(json.dumps({"runs": found["runs"], "seed": found["seed"], "first runs": first_runs(found["seed"]),
                                "buys": {"sentences": buys["sentences"], "first": buys["first"]["run again"],
                                         "second": (buys["second"] or {}).get("run again")},
                                "scenarios": rows}, indent=1), encoding="utf-8")


def first_runs(seed: int) -> list[str]:
    """The last delivery of the first three runs: it says whether the tale is still that of this code."""
    return [max(run.delivered.values()) for run in linesim.run(linesim.read(TREE / DEMO), runs=3, seed=seed).runs]


def write_readme() -> None:
    """The marked parts of the README from the kept files."""
    numbers, asked, tale = (json.loads((EXAMPLE / name).read_text(encoding="utf-8"))
                            for name in ("answer.json", "asked.json", "tale.json"))
    README.write_text(filled(README.read_text(encoding="utf-8"), parts(numbers, asked, tale)), encoding="utf-8")


if __name__ == "__main__":
    renew(with_tale="--tale" in sys.argv[1:])
