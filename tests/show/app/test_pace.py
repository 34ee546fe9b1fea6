"""How soon first numbers come: as long as they took before, else by the size of the scenario."""

from __future__ import annotations

from pathlib import Path

from linesim.scenario.reading import read_scenario
from linesim.show.app.pace import MOST, PACE, first_numbers, remember
from linesim.show.app.wish import ASKED, wished

SCENARIOS = Path(__file__).parents[3] / "scenarios"


def test_an_estimate_gives_way_to_what_was_measured(tmp_path: Path) -> None:
    """A larger plant takes longer; once the question was asked of it, as long as then, in whole seconds."""
    (tmp_path / ASKED).mkdir()
    tiny, demo = (read_scenario(SCENARIOS / f"{name}.yaml") for name in ("tiny", "birchwater"))
    small, large = (wished("rate", SCENARIOS / "tiny.yaml", one, {}, 3) for one in (tiny, demo))
    assert 1 <= first_numbers(tmp_path, small, tiny) < first_numbers(tmp_path, large, demo) <= 5
    remember(tmp_path, large, 7.3)
    assert first_numbers(tmp_path, large, demo) == 8
    assert first_numbers(tmp_path, small, tiny) < 7
    remember(tmp_path, large, 0.2)
    assert first_numbers(tmp_path, large, demo) == 1


def test_a_damaged_file_is_no_obstacle(tmp_path: Path) -> None:
    """It is read as if nothing were known, and written anew; it does not grow without end."""
    tiny = read_scenario(SCENARIOS / "tiny.yaml")
    wish = wished("rate", SCENARIOS / "tiny.yaml", tiny, {}, 3)
    (tmp_path / ASKED).mkdir()
    (tmp_path / ASKED / PACE).write_text("[1")
    assert first_numbers(tmp_path, wish, tiny) >= 1
    for n in range(MOST + 5):
        remember(tmp_path, wished(f"q{n}", SCENARIOS / "tiny.yaml", tiny, {}, 3), 1)
    assert (tmp_path / ASKED / PACE).read_text().count(":") == MOST
