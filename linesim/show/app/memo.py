"""The parts of a page in their one order: question, answer, where it came from, inputs with their caution beside them,
two to four numbers, main chart, detail, table, downloads.

A page takes its parts from `parts`, fills them and computes nothing:

    parts = memo.parts("rate")
    with parts.inputs: ...          widgets, side by side
    with parts.margin: ...          caution, assumed
    found = following.follow(wish, parts)
    memo.answer(parts, found, sentences)
    with parts.numbers: memo.numbers([...])
    with parts.body: memo.chart(...), memo.table(...), downloads.row(...)

All text given to these functions is plain text; what must be marked is done here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import altair as alt
import streamlit as st
from markupsafe import Markup, escape
from streamlit.delta_generator import DeltaGenerator

from ...scenario.scenario import Scenario
from .. import words
from ..palette import DARK, LIGHT, Mode
from ..report.blocks import Caution, Table, filled
from ..unbroken import unbroken
from .chosen import Chosen
from .wish import Found

MARGIN = [3.1, 1.0]
FACETED = (alt.FacetChart, alt.HConcatChart, alt.VConcatChart, alt.ConcatChart, alt.RepeatChart)
LONG_CELL = 40  # letters: a longer cell may break
MOST_RUNS = 10_000
BESIDE_THE_ANSWER = 3  # sentences that stand under the first one


@dataclass(frozen=True, slots=True)
class Parts:
    """Containers of a page from top to bottom; `margin` stands beside inputs and numbers."""

    page: str
    heading: DeltaGenerator
    notice: DeltaGenerator
    inputs: DeltaGenerator
    progress: DeltaGenerator
    numbers: DeltaGenerator
    margin: DeltaGenerator
    body: DeltaGenerator


@dataclass(frozen=True, slots=True)
class Number:
    """One of the numbers of a page: its label, the number, its unit or of how many, the range below it; or instead of
    the range circles for so many runs of so many."""

    label: str
    value: str
    unit: str = ""
    below: str = ""
    circles: tuple[int, int] | None = None


def mode() -> Mode:
    """Colours of the page as the reader has it."""
    return DARK if st.context.theme.type == "dark" else LIGHT


def parts(page: str) -> Parts:
    """The containers of a page; `page` is its key in words.PAGES."""
    heading, notice = st.container(), st.container()
    with st.container(key="memo"):
        left, margin = st.columns(MARGIN, gap="large")
    with left:
        inputs = st.container(horizontal=True, vertical_alignment="bottom", gap="small", key="memo-inputs")
        progress, numbers = st.container(key="memo-progress"), st.container(key="memo-numbers")
    body = st.container()
    st.html(Markup('<p class="foot">{}</p>').format(words.AID))
    return Parts(page, heading, notice, inputs, progress, numbers, margin, body)


def runs_input(here: Chosen) -> int:
    """The number of runs of each scenario, shared by all pages."""
    return int(st.number_input("Runs", 1, MOST_RUNS, here.scenario.runs, key="runs", bind="query-params", width=130))


# heading -------------------------------------------------------------------------------------------------------------
def say(parts: Parts, sentence: str, more: Sequence[str] = (), marked: Sequence[str] = (), came_from: str = "") -> None:
    """Question, answer sentence with its key phrases underlined, further sentences, where it came from."""
    text = Markup('<p class="q">{}</p><h1 class="say">{}</h1>').format(words.PAGES[parts.page], _with(marked, sentence))
    if came_from:
        text += Markup('<div class="from">{}</div>').format(Markup(" · ").join(
            Markup("<span>{}</span>").format(part) for part in came_from.split(" · ")))
    for one in more:
        text += Markup('<p class="more">{}</p>').format(_with(marked, one))
    parts.heading.html(text)


def answer(parts: Parts, found: Found, sentences: Sequence[str], marked: Sequence[str] = ()) -> None:
    """The answer: the first sentence large, the next ones below it, and where all of it came from; see `more`."""
    wish, beside = found.wish, [*_so_far(found), *sentences[1:1 + BESIDE_THE_ANSWER]]
    came_from = words.came_from(wish.name, wish.digest[:8], found.runs, wish.seed, found.made)
    say(parts, sentences[0], [" ".join(beside)] if beside else [], marked, f"{came_from} · linesim {found.version}")


def _so_far(found: Found) -> list[str]:
    part = found.numbers.get("so far") or {}
    return [f"So far this is the first of {part['of']} scenarios that are tried."] if "scenarios" in part else []


def more(sentences: Sequence[str]) -> None:
    """What the answer says beyond the sentences that stand under its first one; for the body of a page."""
    rest = sentences[1 + BESIDE_THE_ANSWER:]
    if rest:
        head("What else these runs say")
        st.html(Markup('<ul class="also">{}</ul>').format(Markup("").join(
            Markup("<li>{}</li>").format(unbroken(one)) for one in rest)))


def line(parts: Parts, text: str) -> None:
    """An outlined line under the answer: the numbers are of other inputs, or of another linesim."""
    parts.notice.html(Markup('<div class="line" role="status">{}</div>').format(text))


def faults(page: str, head: str, lines: Sequence[str]) -> None:
    """A file that cannot run: how many faults, then each of them."""
    text = Markup('<p class="q">{}</p><h1 class="say">{}</h1>').format(words.PAGES[page], head)
    st.html(text)
    fault_lines(lines)


def fault_lines(lines: Sequence[str]) -> None:
    """What is wrong, one line each; nothing without lines."""
    if lines:
        st.html(Markup("").join(Markup('<p class="fault" role="alert">{}</p>').format(one) for one in lines))


# margin --------------------------------------------------------------------------------------------------------------
def caution(text: Caution) -> None:
    """A caution beside the control that tempts."""
    st.html(Markup('<div class="mn caution"><b>{}</b>{}</div>').format(text.head, text.text))


def note(head: str, lines: Sequence[str]) -> None:
    """A quiet note; nothing without lines."""
    if lines:
        listed = Markup("").join(Markup("<li>{}</li>").format(unbroken(one)) for one in lines)
        st.html(Markup('<div class="mn"><b>{}</b><ul>{}</ul></div>').format(head, listed))


def assumed(scenario: Scenario) -> None:
    """Inputs that are assumed and not from the plant's records."""
    if scenario.assumed:
        st.html(Markup('<div class="mn"><b>{}</b>{}</div>').format(
            "Assumed, not from your plant", words.sentence("; ".join(one.rstrip(".") for one in scenario.assumed))))


def cautions(scenario: Scenario, numbers: Mapping[str, Any]) -> None:
    """What is declared and not in these numbers, and what to look at; for the foot of every answer. What is assumed
    stands in the margin, the planning aid in the last line."""
    from ..report.page import lists

    _, *others = lists(scenario, {"cautions": [one for one in numbers.get("cautions", ()) if not _said_below(one)]})
    for title, lines in others:
        note(title, lines)


def _said_below(caution: str) -> bool:
    return caution.lower().startswith("planning aid")


# numbers, charts, tables ---------------------------------------------------------------------------------------------
def numbers(found: Sequence[Number]) -> None:
    """Two to four numbers in a row."""
    st.html(Markup('<div class="nums" style="--of:{}">{}</div>').format(len(found), Markup("").join(
        _number(one) for one in found)))


def circles(successes: int, of: int) -> Markup:
    """Ten drawn circles that stand for all runs, or one for each under ten."""
    full = filled(successes, of)
    marks = "".join(f'<i{" class=y" if n < full else ""}></i>' for n in range(min(10, of)))
    return Markup('<span class="ten" role="img" aria-label="{}">{}</span>').format(
        words.chance(successes, of), Markup(marks))


def head(title: str, reading: str = "") -> None:
    """Heading of a chart or a part: its finding, and below it what is drawn and how to read it."""
    below = Markup('<p class="cs">{}</p>').format(unbroken(reading)) if reading else Markup("")
    st.html(Markup('<h2 class="ct">{}</h2>{}').format(unbroken(title), below))


def chart(title: str, reading: str, drawn: Any, said: str) -> None:
    """An Altair chart under its finding; `said` is its text alternative."""
    head(title, reading)
    drawing(drawn, said)


def drawing(drawn: Any, said: str) -> None:
    """An Altair chart alone; `said` is its text alternative."""
    if not isinstance(drawn, FACETED) and drawn.width == "container":
        drawn = drawn.properties(autosize={"type": "fit-x", "contains": "padding"})  # its height is that of the rows
    st.altair_chart(drawn, theme=None, width="stretch", alt=said)


def key(entries: Sequence[tuple[str, str]]) -> None:
    """Words and colours in one line above a chart; no colour: hollow."""
    text = Markup("").join(Markup('<span><i style="{}"></i>{}</span>').format(
        f"background:{colour}" if colour else "box-shadow:inset 0 0 0 1px var(--rule)", word)
        for word, colour in entries)
    st.html(Markup('<div class="key">{}</div>').format(text))


def table(found: Table) -> None:
    """A table as the command prints it; wider than the page, it is moved sideways by itself."""
    used = found.columns
    right = {n for n in used if found.right(n)}
    heads = Markup("").join(Markup('<th scope="col"{}>{}</th>').format(_kind(n in right), unbroken(found.head[n]))
                            for n in used)
    rows = Markup("").join(Markup("<tr>{}</tr>").format(Markup("").join(
        Markup("<{0}{1}>{2}</{3}>").format(Markup('th scope="row"' if n == used[0] else "td"),
                                           _kind(n in right, row[n]), _in_cell(row[n]), "th" if n == used[0] else "td")
        for n in used)) for row in found.rows)
    st.html(Markup('<p class="cs of">{3}</p><div class="wide" tabindex="0" role="region" aria-label="{0}">'
                   '<table><thead><tr>{1}</tr></thead><tbody>{2}</tbody></table></div>').format(
                       found.note, heads, rows, unbroken(found.note)))


def _in_cell(text: str) -> object:
    """Only a long cell may break."""
    return unbroken(text) if len(Markup(text).striptags()) > LONG_CELL else text


def _kind(right: bool, text: str = "") -> Markup:
    return Markup(' class="n"' if right else ' class="w"' if len(Markup(text).striptags()) > LONG_CELL else "")


def _number(one: Number) -> Markup:
    below = circles(*one.circles) if one.circles is not None else unbroken(one.below)
    unit = Markup(" <small>{}</small>").format(one.unit) if one.unit else ""
    return Markup('<div><div class="l">{}</div><div class="v">{}{}</div><div class="s">{}</div></div>').format(
        unbroken(one.label), one.value, unit, below)


def _with(marked: Sequence[str], sentence: str) -> Markup:
    """A sentence with some of its phrases underlined."""
    text = Markup(unbroken(sentence))
    for phrase in marked:
        found = Markup(unbroken(phrase))  # "FB-2 Systems" is held together in part
        found = found if found in text else escape(phrase)
        text = Markup(text.replace(found, Markup("<b>{}</b>").format(found), 1))
    return text


def far(text: str, share: float | None) -> None:
    """One line that says how far the runs are, and a bar (share from 0 to 1; None: no bar)."""
    bar = Markup("") if share is None else Markup(
        '<div class="track" role="progressbar" aria-label="Runs done" aria-valuemin="0" aria-valuemax="100" '
        'aria-valuenow="{0}"><div style="width:{0}%"></div></div>').format(round(100 * share))
    st.html(Markup('<div class="far"><p role="status">{}</p>{}</div>').format(text, bar))
