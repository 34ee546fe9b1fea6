"""One set of settings for all figures: on paper and command line (matplotlib) and on the screen (Altair)."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from ..palette import FONTS, Mode

P = ParamSpec("P")
WIDTH = 7.2        # inches: the column of the report
TEXT = 9.0         # points
DASH = (5.0, 4.0)  # of what is planned
LINE, THIN, DOT = 1.6, 0.8, 6.0
PLAIN = "DejaVu Sans"  # comes with matplotlib and is the widest usual font: what fits in it fits in all


def settings(mode: Mode) -> dict[str, Any]:
    """matplotlib's settings."""
    return {
        "font.family": PLAIN, "font.size": TEXT, "text.color": mode["ink"],
        "axes.labelsize": TEXT, "xtick.labelsize": TEXT, "ytick.labelsize": TEXT, "axes.labelcolor": mode["soft"],
        "xtick.labelcolor": mode["soft"], "ytick.labelcolor": mode["ink"], "xtick.color": mode["rule"],
        "ytick.color": mode["rule"], "axes.edgecolor": mode["rule"], "axes.linewidth": THIN,
        "axes.spines.top": False, "axes.spines.right": False, "axes.spines.left": False,
        "ytick.major.size": 0, "xtick.major.size": 3, "axes.grid": True, "axes.grid.axis": "y",
        "grid.color": mode["line"], "grid.linewidth": THIN, "grid.alpha": 0.7, "axes.axisbelow": True,
        "figure.facecolor": mode["page"], "axes.facecolor": "none", "savefig.facecolor": mode["page"],
        "figure.dpi": 110, "savefig.dpi": 110, "svg.fonttype": "none", "svg.hashsalt": "linesim",
        "lines.linewidth": LINE, "lines.solid_capstyle": "butt", "legend.frameon": False,
        "figure.constrained_layout.use": True}


def drawn(draw: Callable[Concatenate[Mode, P], Figure]) -> Callable[Concatenate[Mode, P], Figure]:
    """A figure drawn with the settings of its mode."""
    @wraps(draw)
    def within(mode: Mode, /, *given: P.args, **named: P.kwargs) -> Figure:
        with mpl.rc_context(settings(mode)):  # type: ignore[arg-type]
            return draw(mode, *given, **named)

    return within


def sheet_of(height: float) -> Figure:
    """An empty figure of a height in inches."""
    return Figure(figsize=(WIDTH, height))


def rows_axis(axes: Axes, labels: list[str], *, room: float = 0.6) -> None:
    """Rows from top to bottom, one label each; the grid runs down."""
    axes.set_yticks(range(len(labels)), labels)
    axes.set_ylim(len(labels) - 1 + room, -room)
    axes.grid(False)
    axes.grid(True, axis="x")


def label(axes: Axes, x: float, y: float, text: str) -> None:
    """A number at the end of a bar, a little off it."""
    axes.annotate(text, (x, y), (3, 0), textcoords="offset points", va="center_baseline", annotation_clip=False)


def headed(figure: Figure, mode: Mode, title: str, reading: str) -> Figure:
    """The figure with its finding and its reading line on it, to stand alone."""
    heads, lines = textwrap.wrap(title, 66), textwrap.wrap(reading, 92)
    top = 0.06 + 0.19 * len(heads)
    room = top + 0.16 * len(lines) + 0.06
    high = figure.get_figheight() + room
    figure.set_figheight(high)
    engine = figure.get_layout_engine()
    assert isinstance(engine, ConstrainedLayoutEngine)
    of_legends = 0.0
    for legend in figure.legends:  # above the axes: moved below the heading, its room is no longer kept by the engine
        legend.set_bbox_to_anchor((0, 0, 1, 1 - room / high), transform=figure.transFigure)
        of_legends = legend.get_window_extent().height / figure.dpi
    engine.set(rect=(0, 0, 1, 1 - (room + of_legends) / high))
    figure.text(0.01, 1 - 0.06 / high, "\n".join(heads), fontsize=11, fontweight="bold", va="top", color=mode["ink"],
                fontfamily=PLAIN)
    figure.text(0.01, 1 - (top + 0.04) / high, "\n".join(lines), fontsize=TEXT, va="top", color=mode["soft"],
                fontfamily=PLAIN)
    return figure


def altair_config(mode: Mode) -> dict[str, Any]:
    """The same for Altair: the value of `config`."""
    font = ", ".join(f"'{name}'" if " " in name else name for name in FONTS)
    size = round(TEXT * 4 / 3)
    axis = {"labelColor": mode["soft"], "titleColor": mode["soft"], "labelFontSize": size, "titleFontSize": size,
            "titleFontWeight": "normal", "domainColor": mode["rule"], "tickColor": mode["rule"],
            "gridColor": mode["line"], "gridOpacity": 0.7}
    return {"background": "transparent", "font": font, "view": {"stroke": None}, "axis": axis,
            "axisX": {"grid": False}, "axisY": {"domain": False, "ticks": False},
            "text": {"color": mode["ink"], "fontSize": size}, "header": {"labelColor": mode["ink"],
            "labelFontWeight": "bold", "labelFontSize": size, "title": None}, "legend": {"disable": True},
            "line": {"strokeWidth": 2}, "point": {"size": 90}, "rule": {"color": mode["ink"]}}

