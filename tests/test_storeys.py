"""The five storeys: imports only go down, and heavy libraries live where the design says."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "linesim"
STOREYS = ["scenario", "line", "measures", "questions", "show"]
ONLY_IN = {"simpy": {"line"}, "matplotlib": {"show"}, "streamlit": {"show"}, "altair": {"show"},
           "pandas": {"measures", "questions", "show"}}
FILES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE)


def imports_of(path: Path) -> list[str]:
    """Full names of the modules that a file imports."""
    names: list[str] = []
    package = ("linesim", *path.relative_to(PACKAGE).parent.parts)
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            names.append(".".join(part for part in (base, node.module or "") if part))
    return names


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_only_go_down(path: Path) -> None:
    """A storey may use an earlier one, never a later one; simpy, pandas and drawing stay in their storey."""
    here = path.relative_to(PACKAGE).parts[0]
    allowed = STOREYS[: STOREYS.index(here) + 1]
    for name in imports_of(path):
        parts = name.split(".")
        if parts[0] == "linesim" and len(parts) > 1:
            assert parts[1] in allowed, f"{path} imports {name}"
        if parts[0] in ONLY_IN:
            assert here in ONLY_IN[parts[0]], f"{path} imports {name}"


def test_the_check_sees_an_upward_import(tmp_path: Path) -> None:
    """The reader of imports resolves relative imports, so an upward one cannot hide."""
    assert "linesim.line.luck" in imports_of_text("from ..line.luck import Luck", "scenario")


def imports_of_text(text: str, storey: str) -> list[str]:
    """As imports_of, for a text that would stand in a storey."""
    probe = PACKAGE / storey / "_probe_.py"

    class Probe(type(probe)):  # type: ignore[misc]
        def read_text(self, *args: object, **kw: object) -> str:
            return text

    return imports_of(Probe(probe))
