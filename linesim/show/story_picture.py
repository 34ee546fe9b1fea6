"""One aircraft's life as one line: work days from launch to delivery, broken at each change of reason.

Place names stand above, reasons below where there is room. Before mate each half has its own line. Nights and days off
are left out: the line is drawn on the working time of the reference shift, with dates below.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

from matplotlib import font_manager, rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from ..line.records import REASON_WORDS, State
from ..line.sheet import Sheet
from ..measures.moment import FAMILIES
from ..questions.story import Story
from ..scenario.calendar import months_on
from .palette import FONTS, LIGHT, Mode
from .story_words import set_by
from .words import counted

WIDTH, DPI = 13.0, 110  # inches; dots an inch
TEXT = 10.5             # points: of a picture as wide as a page of the app these are 10 pixels and more
BAR = 0.34
LANES = {"": 0.0, "fuselage": 1.15, "wing": -1.15}
READ_SO = "Read from left to right; nights and days off are left out, (place) is parked before it."
SHORT = {State.WORK: "work", State.CUSTOMER: "a date", State.WEATHER: "weather", State.OTHER_HALF: "other half"}
LEGEND = {"work": "work, flight", "rework": "rework", "hold": "hold, appointment", "waiting": "waiting",
          "blocked": "blocked", "off shift": "off shift"}


def draw_story(file: Path, sheet: Sheet, story: Story, numbers: dict[str, Any], colours: Mode = LIGHT, *,
               titled: bool = True) -> None:
    """Draw a life into an SVG or PNG file, with its title or without; OSError if it cannot be written."""
    there = set(font_manager.get_font_names())
    with rc_context({"font.family": [font for font in FONTS if font in there] + ["DejaVu Sans"], "font.size": TEXT,
                     "svg.fonttype": "none", "svg.hashsalt": story.serial, "text.color": colours["ink"]}):
        figure = figure_of(sheet, story, numbers, colours, titled=titled)
        figure.savefig(file, dpi=DPI, metadata={"Date": None} if file.suffix == ".svg" else {"Software": None})


def figure_of(sheet: Sheet, story: Story, numbers: dict[str, Any], colours: Mode = LIGHT, *,
              titled: bool = True) -> Figure:
    """The figure of a life."""
    assert story.began is not None
    assert story.ended is not None
    halves = len(story.lives) > 1 or "" not in story.lives
    height = (3.9 if halves else 2.7) - (0.0 if titled else 0.6)
    figure = Figure(figsize=(WIDTH, height), layout="constrained", facecolor=colours["page"])
    axes = figure.add_subplot(facecolor=colours["page"])
    axis = _WorkDays(sheet, story.began)
    last = axis.at(story.ended)
    axes.set_xlim(-0.01 * last, max(last, 0.01) * 1.01)
    axes.set_ylim(-1.95 if halves else -0.8, 1.85 if halves else 0.75 if titled else 0.5)
    for half, spans in story.lives.items():
        y, per_unit = LANES[half], WIDTH * 68 / max(last, 0.01)  # points of the page a work day is wide, about
        for state, begin, end in _joined(axis, spans):
            fill, edge = _paint(FAMILIES[state], colours)
            axes.barh(y, end - begin, left=begin, height=BAR, color=fill, edgecolor=edge, linewidth=0.6)
            words = SHORT.get(state, REASON_WORDS[state])
            if (end - begin) * per_unit > 0.65 * TEXT * len(words):
                axes.text((begin + end) / 2, y - BAR / 2 - 0.06, words, ha="center", va="top")
        _places(axes, sheet, story, half, axis, per_unit, colours)
    if halves:
        for half in ("fuselage", "wing"):
            if half in story.lives:
                axes.text(0.0, LANES[half] + (0.62 if half == "fuselage" else -0.62), half, color=colours["soft"],
                          va="center")
        _join(axes, story, axis, colours)
    if titled:
        axes.set_title(f"{title(story, numbers)}\n", loc="left", fontsize=1.2 * TEXT, fontweight="bold")
        axes.text(0.0, 1.02, f"{set_by(numbers)}  {READ_SO}", transform=axes.transAxes, fontsize=0.95 * TEXT,
                  va="bottom", color=colours["soft"])
    _dress(axes, sheet, story, axis, colours)
    return figure


def _join(axes: Axes, story: Story, axis: _WorkDays, colours: Mode) -> None:
    """The bracket at mate: from the ends of both lines to the beginning of the aircraft's."""
    whole = story.lives.get("")
    if whole is not None:
        at = axis.at(whole[0].start)
        for y in (LANES["fuselage"] - BAR / 2, LANES["wing"] + BAR / 2):
            axes.plot([at, at], [y, BAR / 2 if y > 0 else -BAR / 2], color=colours["rule"], linewidth=0.8)


def _paint(family: str, colours: Mode) -> tuple[str, str]:
    """Fill and edge: losses are loud, work is pale, off shift is hollow."""
    if family in ("work", "off shift"):
        return (colours["pale"], colours["accent"]) if family == "work" else (colours["page"], colours["rule"])
    return colours[family], colours[family]


class _WorkDays:
    """Instants as work days of the reference shift since the beginning of a life."""

    def __init__(self, sheet: Sheet, began: float) -> None:
        self.clock, self.day = sheet.calendar.reference, sheet.calendar.work_day
        self.zero = self.clock.reading(began)

    def at(self, t: float) -> float:
        """Work days passed up to an instant."""
        return (self.clock.reading(t) - self.zero) / self.day


def _joined(axis: _WorkDays, spans: Any) -> Iterator[tuple[State, float, float]]:
    """Spans on the working clock: nights have no width, so what they part grows together."""
    held: tuple[State, float, float] | None = None
    for span in spans:
        begin, end = axis.at(span.start), axis.at(span.end)
        if end <= begin:
            continue
        if held is not None and held[0] == span.state and held[2] == begin:
            held = (span.state, held[1], end)
            continue
        if held is not None:
            yield held
        held = (span.state, begin, end)
    if held is not None:
        yield held


def _places(axes: Axes, sheet: Sheet, story: Story, half: str, axis: _WorkDays, per_unit: float, colours: Mode) -> None:
    """Names of the places above the line, with a tick where each begins; parking is the place's name in brackets."""
    y = LANES[half] + BAR / 2
    for stay in story.stays:
        if stay.half != half:
            continue
        begin, end = axis.at(stay.arrived), axis.at(stay.left)
        axes.plot([begin, begin], [y, y + 0.2], color=colours["rule"], linewidth=0.8)
        name = sheet.places[stay.place].id
        text = f"({name})" if stay.parked else name
        if (end - begin) * per_unit > 0.71 * TEXT * len(text):
            axes.text((begin + end) / 2, y + 0.06, text, ha="center", va="bottom",
                      fontweight="normal" if stay.parked else "bold")


def title(story: Story, numbers: dict[str, Any]) -> str:
    """Who, in which run, and how it stands to its promise."""
    ended = {"delivered": "delivered", "finished stock": "finished as stock"}.get(story.how, "not delivered by")
    late = numbers["days late"]
    days = "" if late is None else counted(abs(late), "day")
    kept = "" if late is None else f", {days} {'late' if late > 0 else 'early'}" if late else ", to the day"
    return f"{story.serial}, run {story.run}: {ended} {numbers['ends'][:10]}{kept}"


def _dress(axes: Axes, sheet: Sheet, story: Story, axis: _WorkDays, colours: Mode) -> None:
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(colours["rule"])
    axes.set_yticks([])
    ticks = list(_dates(sheet, story, axis))
    axes.set_xticks([at for at, _ in ticks], [text for _, text in ticks])
    axes.tick_params(axis="x", colors=colours["soft"], labelsize=0.95 * TEXT)
    families = [name for name in LEGEND if any(FAMILIES[span.state] == name for spans in story.lives.values()
                                               for span in spans if axis.at(span.end) > axis.at(span.start))]
    handles = [Patch(facecolor=fill, edgecolor=edge, linewidth=0.6)
               for fill, edge in (_paint(name, colours) for name in families)]
    axes.legend(handles, [LEGEND[name] for name in families], loc="lower right", ncols=len(families), frameon=False,
                fontsize=0.95 * TEXT, bbox_to_anchor=(1.0, -0.02), handlelength=1.0, columnspacing=1.2)


def _dates(sheet: Sheet, story: Story, axis: _WorkDays) -> Iterator[tuple[float, str]]:
    """First days of months, or Mondays in a short life, as ticks."""
    assert story.began is not None
    assert story.ended is not None
    calendar = sheet.calendar
    first, last = calendar.date_of(story.began), calendar.date_of(story.ended)
    if (last - first).days > 75:
        day = months_on(first.replace(day=1), 1)
        while day <= last:
            yield axis.at(calendar.instant(day)), str(day)[:7]
            day = months_on(day, 1)
        return
    step = 7 if (last - first).days > 10 else 1
    day = first + timedelta(days=(-first.weekday()) % 7 if step == 7 else 0)
    while day <= last:
        yield max(0.0, axis.at(calendar.instant(day))), str(day)
        day += timedelta(days=step)
