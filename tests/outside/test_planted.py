"""The list of planted mistakes and the mutants stay true to the source; one mistake is planted for a trial."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from one_line_changes import changed, drawn, function_at, mutants_of, statement_at
from planted import MISTAKES, ROOT, Mistake, plant

from linesim.questions.proof.registry import by_name


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.what)
def test_a_mistake_has_one_place(mistake: Mistake) -> None:
    """It stands once in the source, the changed source is a program, and the proof named for it is on the list."""
    text = (ROOT / "linesim" / mistake.file).read_text(encoding="utf-8")
    assert text.count(mistake.before) == 1
    ast.parse(text.replace(mistake.before, mistake.after))
    assert by_name(mistake.first).name == mistake.first


def test_a_planted_mistake_is_caught() -> None:
    """The script says which check notices it."""
    found = plant(next(mistake for mistake in MISTAKES if mistake.what.startswith("one place more")))
    assert found is not None
    assert found.startswith("given times, 3 places")


def test_mutants_are_drawn_evenly_and_are_programs() -> None:
    """The same seed draws the same ones; each changes one line and can be read."""
    found = drawn(ROOT, 400, 3)
    assert found == drawn(ROOT, 400, 3)
    assert len({mutant.file for mutant in found}) > 15
    for mutant in found:
        text = (ROOT / "linesim" / mutant.file).read_text(encoding="utf-8")
        spoiled = changed(text, mutant)
        ast.parse(spoiled)
        assert [n for n, (a, b) in enumerate(zip(text.splitlines(), spoiled.splitlines(), strict=True), 1)
                if a != b] == [mutant.line]


def test_the_function_of_a_line_is_the_innermost() -> None:
    text = "x = 1\n\ndef f():\n    y = 2\n    def g():\n        return 3\n    return g\n"
    assert [function_at(text, line) for line in (1, 3, 4, 6, 7)] == [None, None, 3, 5, 3]


def test_the_statement_of_a_line_is_the_innermost() -> None:
    text = "def f():\n    if (a and\n            b):\n        y = [1,\n             2]\n    return y\n"
    assert [statement_at(text, line) for line in (1, 2, 3, 4, 5, 6)] == [{1}, {2, 3}, {2, 3}, {4, 5}, {4, 5}, {6}]


def test_what_can_be_changed(tmp_path: Path) -> None:
    """Sizes by both ways, beside a draw only reversed; what stops every run at once is not dropped."""
    file = tmp_path / "a.py"
    text = ("def f(a: int = 0) -> int:\n    first = self.luck.uniform('x')\n    a = min(a, 3)\n    if first < a:\n"
            "        return a\n    self.kept[a] = first\n    assert a > 1\n    return a <= first\n")
    file.write_text(text, encoding="utf-8")
    found = sorted(changed(text, one).splitlines()[one.line - 1].strip() for one in mutants_of(file, "a.py"))
    assert found == ["a = max(a, 3)", "a = min(a, 4)", "def f(a: int = 1) -> int:", "if first >= a:", "pass", "pass",
                     "pass", "return a > first"]
