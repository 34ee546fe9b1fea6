"""The language as published: every field with unit, default and an example that is accepted; the schema for editors."""

from __future__ import annotations

import json
from copy import deepcopy
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from linesim.scenario.reference import accepts, default_of, examples, reference, unit_of
from linesim.scenario.schema import every_field, json_schema
from linesim.show.commands import main
from linesim.show.language import published

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FIELDS = list(every_field())
VALIDATOR = Draft202012Validator(json_schema())


def as_json(value: Any) -> Any:
    """A YAML file's values as an editor's schema sees them: dates are strings, keys are strings."""
    if isinstance(value, dict):
        return {str(key): as_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return [as_json(item) for item in value]
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    return str(value) if isinstance(value, date) else value


def values(name: str) -> dict[str, Any]:
    found: dict[str, Any] = as_json(YAML(typ="safe").load(SCENARIOS / name))
    return found


def test_every_field_has_a_unit_and_a_default_and_stands_in_the_reference() -> None:
    """All fields of the schema, 100 % of them."""
    text = reference()
    for kind, name, field in FIELDS:
        assert unit_of(field), (kind, name)
        assert default_of(field), (kind, name)
        assert f"| `{name}` |" in text
    defined = json_schema()
    properties = {("Scenario", name) for name in defined["properties"]} | {
        (kind, name) for kind, part in defined["$defs"].items() for name in part.get("properties", ())}
    assert properties - {("Scenario", "extends"), ("Scenario", "changes")} == {
        (kind.__name__, name) for kind, name, _ in FIELDS}


@pytest.mark.parametrize(("kind", "name", "field"), FIELDS, ids=[f"{kind.__name__}.{name}" for kind, name, _ in FIELDS])
def test_the_example_of_a_field_is_accepted(kind: Any, name: str, field: Any) -> None:
    """Put back through the declared kind."""
    assert accepts(kind, field, examples_once()[kind.__name__, name])
    assert not accepts(kind, field, object())


def examples_once(kept: list[Any] = []) -> Any:  # noqa: B006 - read once for four hundred fields
    if not kept:
        kept.append(examples())
    return kept[0]


@pytest.mark.parametrize("file", sorted(path.name for path in SCENARIOS.glob("*.yaml")))
def test_the_shipped_scenarios_are_valid_by_the_schema(file: str) -> None:
    """What the reader reads, the schema allows."""
    assert [error.message for error in VALIDATOR.iter_errors(values(file))] == []


def test_tables_and_further_forms_are_valid() -> None:
    """Tables beside the file, one number of people, unlimited orders, one place instead of a list."""
    found = values("birchwater.yaml")
    found["orders"] = {"xlsx": "plant.xlsx", "sheet": "Orders"}
    found["positions"][0]["packages"] = {"csv": "packages.csv"}
    found["trades"]["ASM"]["people"] = 5
    found["on_the_line"] = [{"serial": "S1", "at": "P1"}]
    assert list(VALIDATOR.iter_errors(found)) == []
    assert list(VALIDATOR.iter_errors({**found, "orders": "unlimited"})) == []


@pytest.mark.parametrize("wrong", [
    {"positons": []}, {"start": "4 January"}, {"runs": "many"}, {"runs": 0}, {"orders": "endless"},
    {"orders": {"csv": 3}}, {"launches": {"takt_work_days": 0}}, {"launches": {"takt": 4}},
    {"work_rules": {"ring": "square"}}, {"work_rules": {"crew_grows": "yes"}}, {"trades": {"ASM": {"people": -1}}},
    {"positions": [{"id": "A", "packages": [{"id": "a", "hours": -3}]}]},
    {"positions": [{"id": "A", "packages": [{"id": "a", "hours": {"normal": {"mean": 3}}}]}]},
    {"positions": [{"packages": []}]}, {"weather": {"flyable_share_by_month": {"1": 2}}}])
def test_a_wrong_file_is_not_valid(wrong: dict[str, Any]) -> None:
    """Misspelt keys, wrong kinds and values below the limits."""
    found = deepcopy(values("tiny.yaml"))
    assert list(VALIDATOR.iter_errors(found)) == []
    assert list(VALIDATOR.iter_errors({**found, **wrong}))


def test_the_published_files_are_those_of_today() -> None:
    """Made anew by `linesim language > scenarios/REFERENCE.md` and `linesim language --schema >
    scenarios/linesim.schema.json`."""
    for path, text in published(SCENARIOS).items():
        assert path.read_text(encoding="utf-8") == text


def test_the_command_shows_a_part_and_says_what_it_does_not_know(capsys: pytest.CaptureFixture[str]) -> None:
    """A section by its name, a field by its path; an unknown name with what is near."""
    assert main(["language", "Overtime"]) == 0
    assert "max_hours_per_week" in capsys.readouterr().out
    assert main(["language", "positions.PB.docks"]) == 0
    out = capsys.readouterr().out
    assert "| `docks` |" in out
    assert "| `parking` |" not in out
    assert main(["language", "dokcs"]) == 2
    assert "docks" in capsys.readouterr().err
    assert main(["language", "--schema"]) == 0
    assert json.loads(capsys.readouterr().out) == json_schema()
