"""A figure as a file of its own, and as SVG that stands in a page: text stays text, no outside reference.

In a page the colours are the page's CSS variables. A file has plain colours on a page of its own: not every program
that shows SVG knows variables.
"""

from __future__ import annotations

import io
import re
from html import escape

import matplotlib as mpl
from matplotlib.figure import Figure

from ..palette import FONTS, LIGHT
from .settings import settings

ROLE_OF = {colour.lower(): role for role, colour in LIGHT.items()}
DPI = 150
NO_DATA_ABOUT_IT = {"Date": None, "Creator": None, "Format": None, "Type": None}


def inline(figure: Figure, key: str, title: str, description: str) -> str:
    """The figure (drawn with the light colours) as an SVG element; `key` keeps its names apart from other figures'."""
    file = io.StringIO()
    with mpl.rc_context(settings(LIGHT)):  # type: ignore[arg-type]
        figure.savefig(file, format="svg", transparent=True, metadata=NO_DATA_ABOUT_IT)
    text = file.getvalue()
    body = text[text.index("<svg"):]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r"<!--.*?-->\s*", "", body, flags=re.DOTALL)
    body = re.sub(r"<style.*?</style>|<clipPath.*?</clipPath>|<defs>\s*</defs>", "", body, flags=re.DOTALL)
    body = re.sub(r' clip-path="[^"]*"', "", body)  # nothing is drawn outside its axes that is not meant to be
    body = re.sub(r"(\d\.\d\d)\d+", r"\1", body)
    body = re.sub(r'\bid="([^"]*)"', rf'id="{key}-\1"', body)
    body = body.replace("xlink:href=\"#", f'href="#{key}-')
    body = re.sub(r"#[0-9a-f]{6}\b", lambda found: _variable(found.group()), body)
    body = re.sub(r"font-family: [^;\"]*;? ?", "", body)
    body = body.replace('<g id="' + key + '-figure_1">', f'<g id="{key}-figure_1" stroke-linejoin="round">')
    view = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', body)
    assert view is not None
    inside = body[body.index(">") + 1:]
    return (f'<svg class="figure" viewBox="{view.group()[9:-1]}" role="img" aria-labelledby="{key}-t {key}-d" '
            f'style="--wide:{float(view.group(1)):.0f}">'
            f'<title id="{key}-t">{escape(title)}</title><desc id="{key}-d">{escape(description)}</desc>{inside}')


def alone(figure: Figure, title: str, description: str) -> str:
    """The figure (drawn with the light colours) as an SVG document."""
    file = io.StringIO()
    with mpl.rc_context(settings(LIGHT)):  # type: ignore[arg-type]
        figure.savefig(file, format="svg", metadata=NO_DATA_ABOUT_IT)
    text = re.sub(r"<!DOCTYPE.*?>\s*|<metadata>.*?</metadata>\s*|<!--.*?-->\s*", "", file.getvalue(), flags=re.DOTALL)
    text = re.sub(r"(\d\.\d\d)\d+", r"\1", text)
    text = re.sub(r' d="[^"]*"', lambda found: f' {" ".join(found.group().split())}', text)  # one path, one line
    fonts = ", ".join(f"'{font}'" if " " in font else font for font in FONTS)
    text = re.sub(r"font(-family)?: ([0-9.a-z ]*)'DejaVu Sans'", rf"font\1: \2{fonts}", text)
    end = text.index(">", text.index("<svg")) + 1
    return f"{text[:end]}<title>{escape(title)}</title><desc>{escape(description)}</desc>{text[end:]}"


def pixels(figure: Figure) -> bytes:
    """The same figure as PNG."""
    file = io.BytesIO()
    with mpl.rc_context(settings(LIGHT)):  # type: ignore[arg-type]
        figure.savefig(file, format="png", dpi=DPI, metadata={"Software": None})
    return file.getvalue()


def _variable(colour: str) -> str:
    return f"var(--{ROLE_OF[colour]})" if colour in ROLE_OF else colour

