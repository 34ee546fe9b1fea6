"""Makes the example run of the README anew: `python .ci/renew_example.py` in the tree, with linesim installed.

It carries out the first command of the README, keeps the small files of its run folder under results/example and writes
the marked parts of README.md from them. A test holds README, example and code to each other.
"""

from __future__ import annotations

import json
import re
import shutil
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from linesim.questions.baseline import Answer
from linesim.questions.figures import state_of
from linesim.show import words
from linesim.show.commands import main
from linesim.show.report.sections import crew_sentence, sure_sentences
from linesim.show.running import in_words

TREE = Path(__file__).parents[1]
EXAMPLE, README = TREE / "results" / "example", TREE / "README.md"
DEMO, RUNS = "scenarios/birchwater.yaml", 60
FIGURES = ("lost", "load", "quarters", "dates", "floor-first-jam")
FILES = ("report.html", "answer.json", "manifest.json", "csv/deliveries-by-run.csv", *(
    f"figures/{name}.svg" for name in FIGURES))
PART = re.compile(r"(<!-- from the example: ([a-z ]+) -->\n).*?(<!-- end -->)", re.DOTALL)


def parts(numbers: Mapping[str, Any]) -> dict[str, str]:
    """The marked parts of the README by name, from the numbers of the answer."""
    whole = in_words(Answer({**numbers, "kept in": ""}, numbers["sentences"]))
    states = [state_of(row["runs that keep it"], row.get("runs that promise it", numbers["runs"]))
              for row in numbers["serials"] if "runs that keep it" in row]
    counts = [f"{states.count(state)} {state}" for state in ("on time", "at risk", "late") if state in states]
    finance = [numbers["sentences"][0], *sure_sentences(numbers),
               f"Of {len(states)} promised aircraft: {words.listed(counts)}."]
    return {"answer": f"```text\n{whole[:whole.index('Caution')].strip()}\n```\n",
            "operations": quoted(numbers["sentences"][1:]), "planner": quoted([crew_sentence(numbers)]),
            "finance": quoted(finance),
            "where from": f"{words.runs(numbers['runs']).capitalize()} of `{DEMO}`, seed {numbers['seed']}.\n"}


def quoted(sentences: list[str]) -> str:
    """Sentences as a quotation."""
    return f"> {' '.join(sentences)}\n"


def filled(text: str, found: Mapping[str, str]) -> str:
    """The README with its marked parts written anew."""
    return PART.sub(lambda part: f"{part[1]}{found[part[2]]}{part[3]}", text)


def renew() -> int:
    """Run the demo, keep the small files, write the README."""
    with tempfile.TemporaryDirectory() as out:
        code = main(["run", str(TREE / DEMO), "--runs", str(RUNS), "--out", out])
        if code:
            return code
        folder, = (path.parent for path in Path(out).glob("*/manifest.json"))
        shutil.rmtree(EXAMPLE, ignore_errors=True)
        for name in FILES:
            (EXAMPLE / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(folder / name, EXAMPLE / name)
    numbers = json.loads((EXAMPLE / "answer.json").read_text(encoding="utf-8"))
    README.write_text(filled(README.read_text(encoding="utf-8"), parts(numbers)), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(renew())
