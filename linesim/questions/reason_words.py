"""The reasons of the ledger as one reads them."""

from __future__ import annotations

REASONS = {
    "people": "waiting for people", "inspector": "waiting for an inspector", "pilot": "waiting for a pilot",
    "weather or daylight": "waiting for weather or daylight", "parts": "waiting for parts",
    "appointment or customer's date": "waiting for an appointment or a date", "tool stop": "a missing tool",
    "other half": "waiting for the other half", "pulse": "waiting for the pulse",
    "blocked": "blocked, next place taken",
    "off shift": "nights, breaks, days off"}
LOST_TO = {**REASONS, "blocked": "being blocked", "line stop": "line stops"}  # in the middle of a sentence


def lost_to(word: str) -> str:
    """What days are lost to; the word itself, where it says enough."""
    return LOST_TO.get(word, word)
