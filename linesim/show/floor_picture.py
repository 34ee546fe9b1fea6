"""The floor as a picture: places as they are laid out, aircraft that grow, each coloured by why it stands there.

Plan view, nose to the right: a fuselage alone, a wing alone, joined at mate, a propeller from roll-out on. Colour never
speaks alone: the reason stands below in words, and the whole sentence is the title of the mark. SVG text, light and
dark by CSS variables; no script and nothing from the network.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from .floor_layout import CELL, Box, Frame, Layout, Link
from .floor_text import TEXT, cut_to, first_that_fits, width_of
from .palette import DARK, FONTS, LIGHT, Mode

ROLES = ("page", "band", "ink", "soft", "rule", "late", "work", "rework", "hold", "waiting", "blocked")
FUSELAGE = "M22 0C21-3.4 15-4.6 7-4.4L-19-1.6V1.6L7 4.4C15 4.6 21 3.4 22 0Z"
WING = "M10-3.5 8-22Q7.8-24 6-24H2.5Q.8-24 .6-22L-1.5-3.5V3.5L.6 22Q.8 24 2.5 24H6Q7.8 24 8 22L10 3.5Z"
TAIL = "M-13-1.8-16-9H-20V9H-16L-13 1.8Z"
PROPELLER = "M23.6-7V7"


@dataclass(frozen=True, slots=True)
class Mark:
    """An aircraft to be drawn. `reasons` are wordings of one reason, the fullest first."""

    place: int
    parked: bool
    spot: int
    half: str
    serial: str
    reasons: tuple[str, ...]
    family: str                # work, rework, hold, waiting, blocked or off shift
    over_takt: float | None    # work days here beyond the takt; shown where above 0
    sentence: str


def picture_svg(floor: Layout, aircraft: Sequence[Mark] = (), title: str = "The floor") -> str:
    """The picture as SVG text. Raises KeyError for an aircraft in a dock or spot that the plant does not have."""
    wide, high = _n(floor.width), _n(floor.height)
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" class="floor" viewBox="0 0 {wide} {high}" width="{wide}" '
             f'height="{high}" role="img">',
             f"<title>{escape(title)}</title>", f"<style>{style()}</style>",
             f'<rect class="page" width="{wide}" height="{high}"/>']
    parts += [part for link in floor.links for part in _link(link)]
    parts += [f'<text class="head" x="{_n(one.x)}" y="{_n(one.y)}">{escape(one.text)}</text>' for one in floor.headings]
    parts += [part for frame in floor.frames for part in _frame(frame)]
    parts += [part for mark in aircraft for part in _aircraft(floor, mark)]
    return "\n".join([*parts, "</svg>"])


def style() -> str:
    """The rules of the picture; colours are CSS variables, so that a page may set its own."""
    def variables(mode: Mode) -> str:
        return "".join(f"--{role}:{mode[role]};" for role in ROLES)

    fonts = ",".join(f"'{font}'" if " " in font else font for font in FONTS)
    fills = "".join(f".floor .{family}{{fill:var(--{family});stroke:none}}"
                    for family in ("work", "rework", "hold", "waiting", "blocked"))
    return (f".floor{{{variables(LIGHT)}font-family:{fonts};font-size:{TEXT:g}px;font-variant-numeric:tabular-nums}}"
            f"@media(prefers-color-scheme:dark){{.floor{{{variables(DARK)}}}}}"
            ".floor text{fill:var(--ink)}.floor .soft{fill:var(--soft)}.floor .late{fill:var(--late);font-weight:600}"
            ".floor .head,.floor .code{font-weight:600}.floor .code{fill:var(--ink)}"
            ".floor .middle{text-anchor:middle}.floor .page{fill:var(--page)}"
            ".floor .place{fill:var(--band);stroke:var(--rule)}"
            ".floor .parking{fill:var(--page);stroke:var(--rule);stroke-dasharray:4 3}"
            ".floor .split{stroke:var(--rule);stroke-dasharray:1.5 4}.floor .way{fill:none;stroke:var(--rule)}"
            + fills + ".floor .off{fill:var(--page)}.floor .outline{fill:none;stroke:var(--rule);stroke-width:2.4}"
            ".floor .propeller{fill:none;stroke:var(--ink);stroke-width:1.6}")


def _link(link: Link) -> Iterator[str]:
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in link.points)
    yield f'<polyline class="way" points="{points}"/>'
    if link.chevron is not None:
        x, y = link.chevron
        yield f'<path class="way" d="M{_n(x - 3)} {_n(y - 3.5)}L{_n(x + 1)} {_n(y)}L{_n(x - 3)} {_n(y + 3.5)}"/>'


def _frame(frame: Frame) -> Iterator[str]:
    box = frame.box
    yield (f'<g><title>{escape(frame.sentence)}</title><rect class="{"parking" if frame.parked else "place"}" '
           f'x="{_n(box.x)}" y="{_n(box.y)}" width="{_n(box.w)}" height="{_n(box.h)}" rx="3"/>')
    code = f'<tspan class="code">{escape(frame.code)}</tspan> ' if frame.code else ""
    yield f'<text class="soft" x="{_n(box.x + 6)}" y="{_n(box.y + 15)}">{code}{escape(frame.lines[0])}</text>'
    for n, line in enumerate(frame.lines[1:]):
        if line:
            yield f'<text class="soft" x="{_n(box.x + 6)}" y="{_n(box.y + 29 + 14 * n)}">{escape(line)}</text>'
    for spot in frame.spots:
        if spot.box.x > box.x + 1:
            yield f'<path class="split" d="M{_n(spot.box.x)} {_n(spot.box.y + 2)}V{_n(spot.box.y + CELL - 6)}"/>'
    yield "</g>"


def _aircraft(floor: Layout, mark: Mark) -> Iterator[str]:
    frame, spot = floor.spot(mark.place, mark.parked, mark.spot)
    box, middle = spot.box, spot.box.x + spot.box.w / 2
    family = "off" if mark.family == "off shift" else mark.family
    yield (f'<g><title>{escape(mark.sentence)}</title>'
           f'<g transform="translate({_n(middle)} {_n(box.y + 26)})">{_shape(mark, family, frame.propeller)}</g>')
    serial, over = texts_below(mark, box)
    late = f' <tspan class="late">{over}</tspan>' if over else ""
    yield (f'<text class="middle" x="{_n(middle)}" y="{_n(box.y + 64)}"><tspan class="code">{escape(serial)}</tspan>'
           f"{late}</text>")
    yield (f'<text class="middle" x="{_n(middle)}" y="{_n(box.y + 79)}">'
           f"{escape(first_that_fits(mark.reasons, box.w - 4))}</text></g>")


def texts_below(mark: Mark, box: Box) -> tuple[str, str]:
    """The serial and how far it is behind the takt, as they fit into a dock; "" where it is not behind."""
    over = over_words(mark.over_takt)
    room = box.w - 4 - (width_of(" " + over, bold=True) if over else 0.0)
    return cut_to(short_serial(mark.serial), room, bold=True), over


def over_words(days: float | None) -> str:
    """Work days beyond the takt: a tenth up to ten, then whole, so that the serial beside them is not cut."""
    if days is None or days < 0.05:
        return ""
    return f"+{days:.1f}" if days < 9.95 else f"+{days:.0f}"


def short_serial(serial: str) -> str:
    """What a shop calls an aircraft: the end of its serial after the last dash; the last four of a long one."""
    end = serial.rsplit("-", 1)[-1]
    return end if 0 < len(end) <= 6 else serial[-4:]


def _shape(mark: Mark, family: str, propeller: bool) -> str:
    paths = {"fuselage": (FUSELAGE, TAIL), "wing": (WING,)}.get(mark.half, (WING, FUSELAGE, TAIL))
    outline = [f'<path class="outline" d="{path}"/>' for path in paths] if family == "off" else []
    drawn = "".join([*outline, *(f'<path class="{family}" d="{path}"/>' for path in paths)])
    return drawn + (f'<path class="propeller" d="{PROPELLER}"/>' if propeller and not mark.half else "")


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
