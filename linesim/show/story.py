"""`linesim story`: the life of one aircraft in one run, as text, as JSON and as one picture."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from ..line.floor import run_once
from ..line.sheet import Sheet
from ..questions.story import UnknownSerial, story
from ..questions.story_numbers import numbers_of_story
from ..scenario.reading import read_scenario
from .story_words import in_words

PICTURES = (".svg", ".png")


def story_file(file: str, serial: str, *, run: int, seed: int | None, as_json: bool, picture: str | None) -> int:
    """Run one run again and tell one serial's life; 2 for a serial or a kind of picture that there is not."""
    if picture is not None and Path(picture).suffix not in PICTURES:
        print(f"--picture: {picture}: the name must end in {' or '.join(PICTURES)}", file=sys.stderr)
        return 2
    scenario = read_scenario(file)
    seed = scenario.seed if seed is None else seed
    sheet = Sheet(scenario)
    records = run_once(sheet, seed, run)
    try:
        life = story(sheet, records, serial)
    except UnknownSerial as error:
        print(error, file=sys.stderr)
        return 2
    numbers = numbers_of_story(sheet, records, life, seed)
    if picture is not None and numbers["begins"] is not None:
        numbers["picture"] = _draw(picture, sheet, life, numbers)
        if numbers["picture"] is None:
            return 2
    print(json.dumps(numbers, indent=2) if as_json else "\n".join(in_words(numbers)))
    return 0


def _draw(picture: str, sheet: Sheet, life: Any, numbers: dict[str, Any]) -> str | None:
    from .story_picture import draw_story

    try:
        draw_story(Path(picture), sheet, life, numbers)
    except OSError as error:
        print(f"--picture: {picture}: cannot be written: {error.strerror}", file=sys.stderr)
        return None
    return picture
