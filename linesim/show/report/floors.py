"""The floor at three moments of one run, as pictures."""

from __future__ import annotations

import re

from markupsafe import Markup

from ...line.sheet import Sheet
from .. import words
from ..floor_layout import layout
from ..floor_picture import picture_svg
from ..floor_picture import style as own_style
from ..floor_words import jam_sentence, marks
from .again import OneRun
from .blocks import Section
from .cautions import ONE_RUN

WIDTH = 820.0  # units: more than the pixels of the column, so that a picture fits on a printed page


def floor_section(sheet: Sheet, one: OneRun) -> Section:
    """Start, first jam and end of the middle run."""
    said = jam_sentence(sheet, one.run, one.jam)
    drawn = layout(sheet, WIDTH)
    parts, drawings = [], []
    for moment in one.moments:
        when = sheet.calendar.wall_text(moment.at)
        title = f"{moment.name}, {when}"
        svg = picture_svg(drawn, marks(sheet, moment.standing), title)
        drawings.append((f"floor-{moment.key}", svg))
        parts.append(Markup("<figure><h3>{}</h3>{}</figure>").format(title, Markup(bare(svg))))
    return Section("floor", words.PAGES["floor"], [said], cautions=[ONE_RUN], after=Markup("").join(parts),
                   drawings=drawings)


def bare(svg: str) -> str:
    """The picture without its own rules and outside names: the page brings the rules."""
    return re.sub(r'<style>.*?</style>| xmlns="[^"]*"', "", svg, flags=re.DOTALL)


def floor_style() -> str:
    """The rules of the picture without its colours, which are those of the page."""
    return re.sub(r"--[a-z]+:#[0-9A-Fa-f]{6};", "", own_style())
