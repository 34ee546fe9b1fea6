"""Shares in sentences: whole percent behind a thin space that does not break."""

THIN = "\N{NARROW NO-BREAK SPACE}"


def percent(share: float) -> str:
    """A share as whole percent."""
    return f"{100 * share:.0f}{THIN}%"
