"""How a length of work or a delay varies, as a file declares it: a spread. What it draws: `laws.py`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator

from .laws import INVERSE

FORMS = {
    "fixed": "a number",
    "exponential": "the mean",
    "erlang": "{mean, k}",
    "gamma": "{mean, cv}",
    "lognormal": "{mean, cv}",
    "triangular": "{low, mode, high}",
    "uniform": "{low, high}",
    "column": "a list of values",
}
_ALLOWED = "a number or one of " + ", ".join(f"{{{kind}: {what}}}" for kind, what in FORMS.items())


@dataclass(frozen=True, slots=True)
class Spread:
    """A distribution of a non-negative value. `parts` are its parameters in the order of FORMS."""

    kind: str
    parts: tuple[float, ...]

    @property
    def mean(self) -> float:
        """Mean, in the unit of the field that declares the spread."""
        if self.kind == "column":
            return math.fsum(self.parts) / len(self.parts)
        if self.kind in ("triangular", "uniform"):
            return math.fsum(self.parts) / len(self.parts)
        return self.parts[0]

    @property
    def is_fixed(self) -> bool:
        """True if every draw gives the same value."""
        return self.kind == "fixed"

    def value(self, uniform: float) -> float:
        """The value at one uniform in (0, 1)."""
        return INVERSE[self.kind](self.parts, uniform)

    def as_declared(self) -> Any:
        """The form in which a file states this spread."""
        if self.kind == "fixed":
            return self.parts[0]
        if self.kind == "exponential":
            return {self.kind: self.parts[0]}
        if self.kind == "column":
            return {self.kind: list(self.parts)}
        names = FORMS[self.kind].strip("{}").split(", ")
        return {self.kind: dict(zip(names, self.parts, strict=True))}


def _number(value: Any, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value) or value < 0:
        raise ValueError(f"{what}: {value!r} is not a number of 0 or more")
    return float(value)


def parse_spread(value: Any) -> Spread:
    """A spread from its declared form; raises ValueError naming what is allowed."""
    if isinstance(value, Spread):
        return value
    if isinstance(value, int | float):
        return Spread("fixed", (_number(value, "the value"),))
    if not isinstance(value, dict) or len(value) != 1:
        raise ValueError(f"must be {_ALLOWED}")
    (kind, given), = value.items()
    if kind not in FORMS:
        raise ValueError(f"{kind!r} is no spread; must be {_ALLOWED}")
    if kind in ("fixed", "exponential"):
        return Spread(kind, (_number(given, kind),))
    if kind == "column":
        if not isinstance(given, list) or not given:
            raise ValueError("column: must be a list of at least one value")
        return Spread(kind, tuple(sorted(_number(item, "column") for item in given)))
    names = FORMS[kind].strip("{}").split(", ")
    if not isinstance(given, dict) or set(given) != set(names):
        raise ValueError(f"{kind}: must be {FORMS[kind]}")
    spread = Spread(kind, tuple(_number(given[name], f"{kind}.{name}") for name in names))
    _check_order(spread)
    return spread


def _check_order(spread: Spread) -> None:
    if spread.kind in ("triangular", "uniform") and list(spread.parts) != sorted(spread.parts):
        raise ValueError(f"{spread.kind}: low must not lie above high, nor mode outside them")
    if spread.kind == "erlang" and (spread.parts[1] < 1 or spread.parts[1] % 1):
        raise ValueError("erlang: k must be a whole number of 1 or more")


SpreadOf = Annotated[Spread, BeforeValidator(parse_spread)]
