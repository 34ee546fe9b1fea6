"""A run that cannot be carried out is named, and a command repeats it alone."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

import pytest

from linesim.line.records import Records
from linesim.line.sheet import Sheet
from linesim.scenario.changing import changed
from linesim.scenario.reading import read_scenario
from linesim.show.commands import main
from linesim.show.failed_run import failed_run, said_of
from linesim.show.folder_check import Identity

TINY = Path(__file__).parents[2] / "scenarios" / "tiny.yaml"


def broken_in_run_3(sheet: Sheet, records: Records) -> Any:
    """What is read off a run; of run 3 it cannot be."""
    if records.replication == 3:
        raise KeyError("no such bench")
    return records.replication


def test_it_is_found_among_those_that_are_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Run 3 of those from 1 on; the command that is named does that run of the file."""
    scenario = read_scenario(TINY)
    failed = failed_run(KeyError("no such bench"), "Tiny", scenario, 1, range(1, 6), 1, broken_in_run_3)
    assert failed.number == 3
    assert str(failed) == "Run 3 of Tiny failed: KeyError: 'no such bench'. 1 run of it is kept."
    said = failed.repeated(str(TINY), Identity.of(scenario, 1).digest)
    command = shlex.split(said.partition("Repeat it alone: ")[2])
    assert command[:2] == ["linesim", "run"]
    assert main([*command[1:], "--no-report", "--json", "--out", str(tmp_path / "alone")]) == 0
    assert '"runs": 1' in capsys.readouterr().out


def test_of_a_changed_scenario_no_file_is_named_that_is_another() -> None:
    """The file says something else than what was run."""
    scenario = read_scenario(TINY)
    more = changed(scenario, {"trades.ASM.people.day": 4})
    failed = failed_run(KeyError("no such bench"), "4 ASM", more, 1, [3], 0, broken_in_run_3)
    said = failed.repeated(str(TINY), Identity.of(scenario, 1).digest)
    assert "linesim run FILE --seed 1 --only 3, where FILE is a copy that has its change" in said


def test_said_of_a_file_it_is_told_from_a_change_of_it() -> None:
    """As the commands say it: the file itself is named only for a run of the file."""
    scenario = read_scenario(TINY)
    for one, named in ((scenario, str(TINY)), (changed(scenario, {"trades.ASM.people.day": 4}), "FILE")):
        failed = failed_run(KeyError("no such bench"), "Tiny", one, 1, [3], 0, broken_in_run_3)
        assert f"linesim run {named} --seed 1 --only 3" in said_of(failed, str(TINY))


def test_where_none_of_them_fails_alone_that_is_left_open() -> None:
    """What it ran into is said all the same."""
    failed = failed_run(MemoryError("full"), "Tiny", read_scenario(TINY), 1, [0, 1], 7, broken_in_run_3)
    assert failed.repeated(str(TINY), "") == "A run of Tiny failed: MemoryError: full. 7 runs of it are kept."
