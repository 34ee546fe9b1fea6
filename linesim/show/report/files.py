"""The figures of the report as files beside it: each figure once, as SVG for a page and PNG for a slide."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from shutil import rmtree

from ..charts.settings import headed
from ..charts.svg import alone, pixels
from ..palette import LIGHT
from ..whole_files import write_whole
from .blocks import Section

FIGURES = "figures"


def write_figures(folder: Path, sections: Sequence[Section]) -> None:
    """Write `figures/` of a run folder anew. A figure gets its finding as a heading, so that it can stand alone."""
    target = folder / FIGURES
    if target.exists():
        rmtree(target)
    target.mkdir()
    for section in sections:
        for one in section.pictures:
            figure = headed(one.figure, LIGHT, one.title, one.reading)
            write_whole(target / f"{one.key}.svg", alone(figure, one.title, one.reading).encode())
            write_whole(target / f"{one.key}.png", pixels(figure))
        for name, svg in section.drawings:
            write_whole(target / f"{name}.svg", svg.encode())
