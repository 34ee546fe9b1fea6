"""What a section of the report is made of: sentences, figures, tables, cautions. All of it is text ready to be set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from markupsafe import Markup
from matplotlib.figure import Figure

from .. import words
from ..charts.findings import Finding
from ..charts.svg import inline

ROWS_ON_A_PAGE = 22
NUMBERS = set(f"0123456789$−+<.,% to()of–{words.THIN}")


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A figure with its finding above it; `key` names its files."""

    key: str
    title: str
    reading: str
    svg: Markup
    figure: Figure


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of printed cells; `note` says what they are."""

    note: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    fits: bool = True  # narrow enough for ordinary type

    @property
    def kind(self) -> str:
        """How it is set: in ordinary or small type, whole on a page or not."""
        return f"{'fits' if self.fits else 'many'}{' short' if len(self.rows) <= ROWS_ON_A_PAGE else ''}"

    @property
    def columns(self) -> list[int]:
        """Columns that say anything."""
        return [n for n in range(len(self.head)) if n == 0 or any(row[n] for row in self.rows)]

    def right(self, column: int) -> bool:
        """Columns of numbers stand to the right."""
        cells = [row[column] for row in self.rows if row[column]]
        return bool(cells) and column > 0 and all(set(cell) <= NUMBERS for cell in cells)


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution beside the result that tempts: its first words, and the rest."""

    head: str
    text: str


@dataclass(frozen=True, slots=True)
class Section:
    """One question: its answer, then figures, tables and cautions."""

    key: str
    question: str
    answer: Sequence[str]
    pictures: Sequence[Picture] = ()
    tables: Sequence[Table] = ()
    cautions: Sequence[Caution] = ()
    extra: Markup = field(default_factory=Markup)   # beside the answer
    after: Markup = field(default_factory=Markup)   # below the cautions
    drawings: Sequence[tuple[str, str]] = ()        # name and SVG of what is no figure: files beside the page


def picture(figure: Figure, key: str, finding: Finding) -> Picture:
    """A drawn figure with its finding; the table of the section holds its numbers."""
    said = f"{finding.reading} The numbers stand in a table of this section."
    return Picture(key, finding.title, finding.reading, Markup(inline(figure, key, finding.title, said)), figure)


def filled(successes: int, of: int) -> int:
    """How many of ten circles (of each run one, under ten) are filled; the words beside them say the true count."""
    return successes if of < 10 else words.tenths_full(successes, of)


def circles(successes: int, of: int, said: str) -> Markup:
    """Ten circles, or one for each run; drawn and never typed."""
    full = filled(successes, of)
    marks = "".join(f'<circle cx="{7 + 13 * n}" cy="7" r="4.6" class="{"full" if n < full else "open"}"/>'
                    for n in range(min(10, of)))
    head = '<svg class="ten" width="{}" height="14" viewBox="0 0 {} 14" role="img" aria-label="{}">'
    wide = 13 * min(10, of) + 1
    return Markup(head).format(wide, wide, said) + Markup(f"{marks}</svg>")
