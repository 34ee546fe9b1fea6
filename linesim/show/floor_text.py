"""How wide a text is, and how a name is fitted into a box: by the widest of the usual fonts, so that it always fits."""

from __future__ import annotations

TEXT = 12.0  # height of all text in the picture, in its units

# widths of the characters of a wide sans serif as shares of the height of the text
_WIDTHS = {**dict.fromkeys("ijl.,:;'|!I", 0.34), **dict.fromkeys("ft()[]-/ ", 0.40), "r": 0.43,
           **dict.fromkeys("mw%MW+−=&@…", 0.92), **dict.fromkeys("ABCDEFGHKNOPQRSUVXYZ", 0.74),
           **dict.fromkeys("JLT", 0.62)}
_OTHERS = 0.635
_BOLD = 1.11


def width_of(text: str, *, bold: bool = False, size: float = TEXT) -> float:
    """Estimated width of a text: about that of the widest usual font."""
    return sum(_WIDTHS.get(one, _OTHERS) for one in text) * size * (_BOLD if bold else 1.0)


def cut_to(text: str, room: float, *, bold: bool = False) -> str:
    """The text, or as much of it as fits with an ellipsis; at the end of a word, if more than half of it stays."""
    if width_of(text, bold=bold) <= room:
        return text
    part = text
    while part and width_of(part.rstrip(" ,") + "…", bold=bold) > room:
        part = part[:-1]
    words = part.rsplit(" ", 1)[0]
    if " " in part and len(part) < len(text) and text[len(part)] != " " and 2 * len(words) > len(part):
        part = words
    return part.rstrip(" ,") + "…" if part else ""


def header_lines(code: str, name: str, note: str, room: float) -> tuple[str, ...]:
    """A place's code, what of its name stands after it, and two lines below; the note is the last, if there is one."""
    code = cut_to(code, room, bold=True)
    words = name.replace("/", "/ ").split()
    lines = [_taken(words, room - width_of(code + " ", bold=True)), _taken(words, room) or _cut_off(words, room)]
    rest = cut_to(" ".join(words), room).replace("/ ", "/")
    if note and not rest:
        rest = cut_to(note, room)
    elif note:
        lines[1] = cut_to(" ".join([lines[1], *words]).replace("/ ", "/"), room)
        rest = cut_to(note, room)
    return code, lines[0], lines[1], rest


def _taken(words: list[str], room: float) -> str:
    """As many words as fit, taken from the list."""
    line = ""
    while words and width_of(joined := f"{line} {words[0]}".strip().replace("/ ", "/")) <= room:
        line = joined
        words.pop(0)
    return line


def _cut_off(words: list[str], room: float) -> str:
    """A word that is wider than a line, as much of it as fits, taken from the list."""
    return cut_to(words.pop(0).rstrip(","), room) if len(words) > 1 else ""


def first_that_fits(texts: tuple[str, ...], room: float) -> str:
    """The first of several wordings, longest first, that fits; else the last one, cut."""
    return next((text for text in texts if width_of(text) <= room), cut_to(texts[-1], room))
