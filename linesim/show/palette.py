"""Colours by role, for a light and a dark page. A colour means one thing everywhere and never speaks alone.

Contrast (WCAG 2.2) on page and band: text 4.5 or more, marks 3 or more. The areas of the plant are one ramp in order of
flow, pale = early; its neighbours are too near to tell by colour alone, so each is labelled at its end.
"""

from __future__ import annotations

from collections.abc import Mapping

Mode = Mapping[str, str]

LIGHT: Mode = {
    "page": "#FFFFFF", "band": "#F1F3EE", "line": "#C9CFC3", "rule": "#868E80", "ink": "#20261D", "soft": "#565E52",
    "accent": "#46681C", "pale": "#DCE6CB", "ontime": "#12668F", "risk": "#8F6400", "late": "#8A1230",
    "work": "#528423", "rework": "#B01E74", "hold": "#6B45D6", "waiting": "#7A3F10", "blocked": "#2B312F",
    "area1": "#E4E9DC", "area2": "#C5D3B4", "area3": "#A3B98C", "area4": "#809D65", "area5": "#5F8043",
    "area6": "#46631F", "area7": "#2C420F"}
DARK: Mode = {
    "page": "#15191A", "band": "#1E2423", "line": "#3A4341", "rule": "#7C8781", "ink": "#E9ECE6", "soft": "#AEB7AF",
    "accent": "#A5C566", "pale": "#34432A", "ontime": "#62BFEE", "risk": "#F2CB68", "late": "#EC6C88",
    "work": "#B4DA77", "rework": "#E97FC4", "hold": "#9070E6", "waiting": "#DE6E2A", "blocked": "#DFE5E6",
    "area1": "#2C3530", "area2": "#3D4C39", "area3": "#526844", "area4": "#6B8650", "area5": "#87A55C",
    "area6": "#A5C566", "area7": "#CBE293"}
MODES = {"light": LIGHT, "dark": DARK}
AREAS = tuple(f"area{n}" for n in range(1, 8))
STATES = {"on time": "ontime", "at risk": "risk", "late": "late"}
FONTS = ("system-ui", "-apple-system", "Segoe UI", "Noto Sans", "Liberation Sans", "Arial", "sans-serif")
MOST_INK = 0.42  # strongest fill of a number's cell: ink on it stays readable in both modes


def area_roles(count: int) -> list[str]:
    """Roles of so many areas in order of flow, spread over the whole ramp; more than seven share steps."""
    last = len(AREAS) - 1
    return [AREAS[round(n * last / max(1, count - 1))] if count > 1 else AREAS[last // 2] for n in range(count)]


def variables(mode: Mode) -> str:
    """The colours as CSS variables."""
    return "".join(f"--{role}:{colour};" for role, colour in mode.items())


def luminance(colour: str) -> float:
    """Relative luminance of a colour #RRGGBB (WCAG 2.2)."""
    parts = [int(colour[n:n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21 (WCAG 2.2)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def mixed(over: str, under: str, share: float) -> str:
    """A colour laid over another with an opacity."""
    pairs = zip((over[1:3], over[3:5], over[5:7]), (under[1:3], under[3:5], under[5:7]), strict=True)
    return "#" + "".join(f"{round(int(a, 16) * share + int(b, 16) * (1 - share)):02X}" for a, b in pairs)
