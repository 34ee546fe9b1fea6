"""Plain text of 88 columns."""

from __future__ import annotations

import textwrap

WIDTH = 88


def wrapped(text: str, indent: int = 0) -> list[str]:
    """A sentence in lines; the later ones indented."""
    return textwrap.wrap(text, WIDTH, subsequent_indent=" " * indent, break_long_words=False, break_on_hyphens=False)
