"""The floor empty of aircraft: in each place its load on paper as a number, and a bar at its foot filled that far.

Over 100 % the number is in the colour of late, with the word "over". The bars are one ramp, pale to deep.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from xml.sax.saxutils import escape

from ...floor_layout import PHONE, WIDE, Box, Frame, layout
from ...floor_picture import picture_svg
from ...palette import Mode
from ...words import percent
from .on_paper import Paper, PlaceLoad

BAR = 7.0      # height of the bar at the foot
MARGIN = 8.0


def pictures(paper: Paper, mode: Mode) -> tuple[str, str]:
    """The picture for a wide page and for a phone, as SVG text in the colours of the page."""
    loads = {load.place: load for load in paper.places}
    return _picture(paper, loads, mode, WIDE), _picture(paper, loads, mode, PHONE)


def _picture(paper: Paper, loads: Mapping[str, PlaceLoad], mode: Mode, width: float) -> str:
    floor = layout(paper.sheet, width)
    svg = picture_svg(floor, (), "The floor, empty: the load of each place on paper. A table below says the same.")
    parts = [part for frame in floor.frames if not frame.parked
             for part in _load(frame, loads.get(paper.sheet.places[frame.place].id))]
    colours = "".join(f"--{role}:{colour};" for role, colour in mode.items())
    style = (f"<style>svg.floor{{{colours}}}.floor .load{{font-size:20px;font-weight:500}}"
             ".floor .track{fill:var(--page);stroke:var(--rule)}.floor .full{fill:var(--area4)}"
             ".floor .nearly{fill:var(--area6)}.floor .over{fill:var(--late)}</style>")
    return "\n".join([svg.removesuffix("</svg>"), style, *parts, "</svg>"])


def _load(frame: Frame, load: PlaceLoad | None) -> Iterator[str]:
    """Number and bar of one place; without a plan its docks stay empty."""
    if load is None:
        return
    last = frame.spots[-1].box
    foot = Box(frame.box.x + MARGIN, last.y + last.h - MARGIN - BAR, frame.box.w - 2 * MARGIN, BAR)
    number = percent(load.share) if load.share is not None else "over"
    late = ' class="late"' if load.over else ""
    yield f"<g><title>{escape(load.sentence)}</title>"
    yield (f'<rect x="{frame.box.x:.1f}" y="{last.y:.1f}" width="{frame.box.w:.1f}" height="{last.h:.1f}" '
           'fill="transparent"/>')
    yield (f'<text x="{foot.x:.1f}" y="{foot.y - 14:.1f}"><tspan class="load{" late" if load.over else ""}">'
           f"{number}</tspan>" + (f'<tspan{late} dx="5">over</tspan>' if load.over and load.share is not None else "")
           + "</text>")
    share = 1.0 if load.share is None else min(1.0, load.share)
    kind = "over" if load.over else "nearly" if share >= 0.8 else "full"
    yield (f'<rect class="track" x="{foot.x:.1f}" y="{foot.y:.1f}" width="{foot.w:.1f}" height="{foot.h:.1f}"/>'
           f'<rect class="{kind}" x="{foot.x:.1f}" y="{foot.y:.1f}" width="{foot.w * share:.1f}" '
           f'height="{foot.h:.1f}"/></g>')
