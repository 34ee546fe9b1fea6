"""What belongs together in a text stays on one line: dates, serials, quarters, amounts of money, shares."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

_TOGETHER = re.compile(r"\b\w+(?:-\d+)+(?: \d\d:\d\d)?\b|\b\d{4} Q\d\b|[−+]?\$\d[\d,.]*\d(?:\u202fM)?"
                       r"|\b\d[\d.]* %")


def unbroken(value: object) -> object:
    """Dates, serials and quarters in a text never break over two lines; what is ready to be set stays as it is."""
    if not isinstance(value, str) or hasattr(value, "__html__"):
        return value
    return Markup(_TOGETHER.sub(lambda found: f'<span class="day">{found.group()}</span>', str(escape(value))))
