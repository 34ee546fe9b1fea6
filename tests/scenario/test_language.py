"""The language as published: every field with unit, default and an example that is accepted; the schema for editors."""

from __future__ import annotations

import json
import re
import shutil
from copy import deepcopy
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from linesim.scenario.examples import TABLE, accepts, examples
from linesim.scenario.reading import read_scenario
from linesim.scenario.reference import part, reference, sections
from linesim.scenario.scenario import Scenario
from linesim.scenario.schema import every_field, json_schema, needed
from linesim.scenario.spread import parse_spread
from linesim.scenario.units import default_of, unit_of
from linesim.show.commands import main
from linesim.show.language import published

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FIELDS = list(every_field())
SCHEMA = json_schema()
VALIDATOR = Draft202012Validator(SCHEMA)
EXAMPLES = examples()
ENDINGS = {"work_days": "work days", "minutes": "minutes", "weeks": "weeks", "months": "months", "hours": "hours",
           "days": "days", "factor": "factor", "multiplier": "factor", "usd": "USD", "share": "share"}


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
    rows = {(section.kind, row.name): row for section in sections() for row in section.rows}
    for kind, name, field in FIELDS:
        row = rows[kind, name]
        assert row.meaning, f"{kind.__name__}.{name} says nothing: give it a text where it is declared"
        assert row.unit == unit_of(field) != "", (kind, name)
        assert row.default == default_of(field) != "", (kind, name)
        assert row.allowed, (kind, name)
    defined = json_schema()
    properties = {("Scenario", name) for name in defined["properties"]} | {
        (kind, name) for kind, part in defined["$defs"].items() if "additionalProperties" in part
        for name in part["properties"]}
    assert properties - {("Scenario", "extends"), ("Scenario", "changes")} == {
        (kind.__name__, name) for kind, name, _ in FIELDS}


@pytest.mark.parametrize(("kind", "name", "field"), FIELDS, ids=[f"{kind.__name__}.{name}" for kind, name, _ in FIELDS])
def test_the_example_of_a_field_is_accepted(kind: Any, name: str, field: Any) -> None:
    """The line as it is printed, read as YAML and put through the declared kind."""
    assert (kind.__name__, name) in EXAMPLES, (
        f"no example of {kind.__name__}.{name}: no shipped scenario uses it and its default shows nothing; add "
        f'("{kind.__name__}", "{name}"): VALUE to TABLE in linesim/scenario/examples.py')
    printed = next(row.example for section in sections() if section.kind is kind for row in section.rows
                   if row.name == name)
    assert "..." not in printed
    value = as_json(YAML(typ="safe").load(printed)[name])  # the reader, too, takes every key as text
    assert accepts(kind, field, value), f"{kind.__name__}.{name} does not take its own example: {printed}"
    assert not accepts(kind, field, object())


PROBES = [
    -1, 0, 0.5, 1, 2, 24, 360, 20_000, 10**16, "", "x", "x" * 201, True, [], {}, None, "06:00", "6:00", "48:00",
    "06:00-10:00", "2027-01-04", "2300-01-01", "2027-01-05 06:00", "2027-01-05 06:00:00", ["x"], [""], [1], ["Mon"],
    "Mon", ["2027-01-04"], {"2027-01-04": "x"}, {"x": 1}, {"x": "y"}, {"exponential": 3}, {"fixed": -1}, {"column": []},
    {"column": [1]}, {"gamma": {"mean": 1, "cv": 1}}, {"erlang": {"mean": 1, "k": 1.5}}, {"normal": 1}, "unlimited",
    {str(month): 0.5 for month in range(1, 13)}, ["06:00-10:00"], {"uniform": {"low": 1, "high": 2}}]


@pytest.mark.parametrize(("kind", "name", "field"), FIELDS, ids=[f"{kind.__name__}.{name}" for kind, name, _ in FIELDS])
def test_the_schema_takes_what_the_reader_takes_and_nothing_else(kind: Any, name: str, field: Any) -> None:
    """Each field alone, on values of every sort: its example, limits and what lies beyond, other kinds."""
    schema = SCHEMA if kind is Scenario else SCHEMA["$defs"][kind.__name__]
    whole = [schema["properties"][name], needed(field.annotation, field.metadata)]
    validator = Draft202012Validator({"$defs": SCHEMA["$defs"], "allOf": whole})
    probes = [as_json(EXAMPLES[kind.__name__, name]), *PROBES]
    differ = [probe for probe in probes if accepts(kind, field, probe) != validator.is_valid(probe)]
    assert [probe for probe in differ if name != "language" or probe is not True] == []  # JSON tells true from 1


def test_the_table_of_examples_names_only_fields_of_the_language() -> None:
    """A field that was renamed takes its example with it."""
    assert set(TABLE) <= {(kind.__name__, name) for kind, name, _ in FIELDS}


@pytest.mark.parametrize(("kind", "name", "field"), FIELDS, ids=[f"{kind.__name__}.{name}" for kind, name, _ in FIELDS])
def test_a_unit_is_that_of_the_name(kind: Any, name: str, field: Any) -> None:
    """What ends in _work_days is work days, hours are labour hours unless they are said to be others."""
    unit = unit_of(field)
    ending = next((said for said in ENDINGS if name == said or name.endswith(f"_{said}")), "")
    if "_per_" not in name and "_by_" not in name and unit not in ("one of the words", "list of entries"):
        assert ENDINGS.get(ending, "") in unit, f"{kind.__name__}.{name} is in {unit}"
    assert not unit.startswith("hours"), f"{kind.__name__}.{name}: say labour, elapsed, working or paid hours"


def test_every_link_leads_to_a_section() -> None:
    """Links of the Markdown against its headings."""
    text = reference()
    headings = {found.lower().replace(" ", "-") for found in re.findall(r"^## (.+)$", text, re.MULTILINE)}
    links = re.findall(r"\]\(#([^)]+)\)", text)
    assert len(links) > 100
    assert set(links) <= headings


def test_the_examples_of_extending_tables_and_spreads_are_valid() -> None:
    """The sections that belong to no declaration, by the schema and (spreads) by the reader of spreads."""
    for section in sections()[-3:]:
        for row in section.rows:
            found = YAML(typ="safe").load(row.example)
            if section.title == "Spread":
                parse_spread(found["hours"])
                found = {"positions": [{"id": "A", "packages": [{"id": "a", **found}]}]}
            assert list(VALIDATOR.iter_errors({"extends": "tiny.yaml", **found})) == [], row


@pytest.mark.parametrize("own", [
    "work_time: {spread: {lognormal: {cv: 0.3}}}", "changes:", "changes: {positions.PB.docks: 2}",
    "launches: {first: 2027-01-05 06:00}", "money:", "weather: {flyable_share_by_month: {1: 0.4}}",
    "calendar: {closed: [2027-01-01]}", "trades: {FLM: {people: {day: 4}}}", "known: {hours: []}",
    "pulse: {in_force: true}", "attendance: {overtime: {effect_by_weekly_hours: {44: 0.9}}}",
    "shifts: {day: {start: '6:00'}}", "stock: {unsold_slots: hold}", "site: {latitude: 41}", "quality: {dial: 1.2}"])
def test_what_the_reader_accepts_of_a_file_that_extends_the_schema_accepts(own: str, tmp_path: Path) -> None:
    """Parts of sections, read by both."""
    shutil.copytree(SCENARIOS, tmp_path, dirs_exist_ok=True)
    file = tmp_path / "mine.yaml"
    file.write_text(f"extends: birchwater.yaml\n{own}\n", encoding="utf-8")
    read_scenario(file)
    assert list(VALIDATOR.iter_errors(as_json(YAML(typ="safe").load(file)))) == []


@pytest.mark.parametrize("own", [
    "work_time: {spread: {lognormal: {sd: 0.3}}}", "work_time: {spread: {normal: {mean: 1}}}", "changes: [1]",
    "trades: {FLM: {people: {day: -4}}}", "pulse: {in_farce: true}", "about:", "known: {hours: [{serial: S1}]}",
    "parts: {long_lead: [{item: a, position: B, late_chance: 0.1, delay_work_days: {gamma: {mean: 2}}}]}"])
def test_a_wrong_part_is_not_valid_either(own: str) -> None:
    """A file that extends another may say less, and nothing wrong."""
    assert list(VALIDATOR.iter_errors(as_json(YAML(typ="safe").load(f"extends: birchwater.yaml\n{own}\n"))))


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
    {"positions": [{"packages": []}]}, {"changes": {}}, {"work_time": {"spread": {"lognormal": {"cv": 0.2}}}},
    {"work_time": {"spread": {}}}, {"weather": {"flyable_share_by_month": {"1": 2}}}])
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
    assert out.startswith("POSITION\n")
    assert "\n  docks\n" in out
    assert "\n    example  docks: 2\n" in out
    assert "parking:" not in out
    assert max(map(len, out.splitlines())) <= 100
    assert [section.title for section, _ in part("squawks")][:2] == ["Flights", "Squawks"]
    assert main(["language", "dokcs"]) == 2
    assert "docks" in capsys.readouterr().err
    assert main(["language", "--schema"]) == 0
    assert json.loads(capsys.readouterr().out) == json_schema()
