"""Every outside check of the package: the engine against exact values, formulas, tables and common practice.

Each check names its source; `linesim proof` prints the same table.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linesim.questions.proof.check import Check, each, exact, of_runs, within
from linesim.questions.proof.registry import PARTS, by_name, checks_of, proofs
from linesim.questions.proof.shipments import quarters
from linesim.questions.proof.summary import numbers_of, row_of, sentences_of, summary
from linesim.show.commands import main
from linesim.show.proving import in_words


@pytest.mark.parametrize("name", [pytest.param(proof.name, marks=pytest.mark.slow if proof.slow else ())
                                  for _, proof in proofs(slow=True)])
def test_the_engine_agrees(name: str) -> None:
    """Within 4 exact standard errors, or exactly where there is no luck."""
    checks = checks_of(name)
    assert checks
    assert [check for check in checks if not check.holds] == []
    assert all(check.source for check in checks)


def test_names_of_proofs_are_used_once() -> None:
    names = [proof.name for of in PARTS.values() for proof in of]
    assert len(names) == len(set(names))
    assert by_name(names[3]).name == names[3]


def test_a_check_fails_when_it_is_wrong() -> None:
    """A number that is off, missing, or 5 standard errors away does not hold; one inside the band does."""
    assert within("a", "s", 1.0, 1.39, 0.1).holds
    assert not within("a", "s", 1.0, 0.5, 0.1).holds
    assert not exact("a", "s", 1, 1.0001).holds
    assert not exact("a", "s", 1, float("nan")).holds
    assert not each("a", "s", [1, 2], [1]).holds
    assert not each("a", "s", [], []).holds
    assert not each("a", "s", [1, 2, 3], [1, float("nan"), 3]).holds
    assert each("a", "s", [1, 2], [1, 2]).holds
    assert of_runs("a", "s", 0.0, [-1.0, 1.0, 0.5, -0.4]).holds
    assert not of_runs("a", "s", 90.0, [-1.0, 1.0, 0.5, -0.4]).holds


def test_the_summary_counts_what_the_table_holds(tmp_path: Path) -> None:
    checks = [exact("a", "s", 1, 1), within("b", "s", 0.0, 1.5, 1.0), within("c", "s", 0.0, 9.0, 1.0),
              Check("d", "s", 1.0, float("nan"), None, 0.0)]
    rows = [row_of("lines" if n < 2 else "queues", check) for n, check in enumerate(checks)]
    numbers = numbers_of(rows)
    assert (numbers["checks"], numbers["hold"], numbers["random"]) == (4, 2, 2)
    assert (numbers["within 1"], numbers["within 2"], numbers["furthest"]) == (0, 1, 9.0)
    assert [(one["subject"], one["checks"], one["hold"]) for one in numbers["subjects"]] == [
        ("lines", 2, 2), ("queues", 2, 0)]
    file = tmp_path / "proof.json"
    file.write_text(json.dumps({"linesim": "1", "slow part too": False, "summary": numbers, "checks": rows}))
    kept = summary(file)
    assert kept is not None
    assert kept["sentences"] == sentences_of(numbers)
    assert kept["sentences"][0].startswith("2 of 4 checks")
    assert summary(tmp_path / "none.json") is None


def test_the_table_says_what_does_not_hold() -> None:
    """Every check with its source by number; what fails is named once more at the end."""
    checks = [exact("a line", "a book", 1, 1), within("a queue", "a paper", 0.0, 9.0, 1.0),
              Check("a chance", "a book", 1.0, float("nan"), None, 0.0)]
    rows = [row_of("lines", check) for check in checks]
    lines = in_words({"checks": rows, "left out": ["the demo"], "summary": numbers_of(rows), "beside, never asserted": [
        {"year": "industry 2018", "source": "press", "quarters": [None, 20.0, 30.0, 50.0]}]})
    assert lines[0] == "Lines"
    assert lines[2].split() == ["1", "1", "exact", "holds", "a", "line", "[1]"]
    assert lines[3].split() == ["0", "9", "+9.00", "FAILS", "a", "queue", "[2]"]
    assert lines[4].split() == ["1", "none", "exact", "FAILS", "a", "chance", "[1]"]
    assert any(line.startswith("industry 2018") and "20.0" in line for line in lines)
    assert "Left out: the demo." in lines
    assert "DOES NOT HOLD  a queue: expected 0, got 9" in lines
    assert "DOES NOT HOLD  a chance: expected 1, got no number" in lines


def test_a_folder_that_is_not_there_is_named(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Before anything is run; exit code 2."""
    assert main(["proof", "--out", str(tmp_path / "none" / "proof.json")]) == 2
    assert "there is no folder" in capsys.readouterr().err


def test_years_stand_beside_each_other() -> None:
    """Quarters of the industry and of the demo, in percent: shown, and nothing is asked of them but to be shares."""
    rows = quarters()
    assert [row["year"] for row in rows[:4]] == ["industry 2018", "industry 2021", "industry 2022", "industry 2023"]
    assert rows[3]["quarters"] == [17.2, 25.1, 25.1, 32.5]
    assert sum(rows[-1]["quarters"]) == pytest.approx(100, abs=0.3)
