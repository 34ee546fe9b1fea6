"""Options of the test run."""

import sys
from pathlib import Path

import pytest

# the source is tested, and some tests take a part of it out; commands and processes of their own use what is compiled,
# if it is, as those of a user do; line/test_compiled.py holds compiled code to the source
with pytest.MonkeyPatch.context() as choice:
    choice.setenv("LINESIM_FLOOR", "source")
    import linesim.line
    import linesim.measures  # noqa: F401

for folder in ("floor", "line"):  # where tests share plants
    sys.path.insert(0, str(Path(__file__).parent / folder))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Another file of worked examples of the same form."""
    parser.addoption("--examples", help="file of worked examples to run instead of the project's own")
