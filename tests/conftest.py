"""Options of the test run."""

import sys
from pathlib import Path

import pytest

for folder in ("floor", "line"):  # where tests share plants
    sys.path.insert(0, str(Path(__file__).parent / folder))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Another file of worked examples of the same form."""
    parser.addoption("--examples", help="file of worked examples to run instead of the project's own")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """List the worked examples that wait for a later rule."""
    waiting: dict[str, list[str]] = {}
    for report in terminalreporter.stats.get("skipped", []):
        if "::test_example" in report.nodeid and isinstance(report.longrepr, tuple):
            waiting.setdefault(report.longrepr[2].removeprefix("Skipped: "), []).append(
                report.nodeid.split("[")[1].rstrip("]"))
    if waiting:
        terminalreporter.section("worked examples left for later")
        for rule, names in sorted(waiting.items()):
            terminalreporter.line(f"{rule}: {', '.join(sorted(names))}")
