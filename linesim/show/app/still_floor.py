"""The floor picture that does not move, in the page itself, so that each place says its sentence under the pointer.

Two pictures are laid out, for a wide page and for a phone; the one that fits is shown.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import streamlit as st

CSS = """
.still{container-type:inline-size}
.still svg{display:block;width:100%;height:auto;max-width:1360px}
.still .narrow{display:none}
@container (max-width:620px){.still .wide{display:none}.still .narrow{display:block}}
"""
JS = """
export default function(component) {
  const { data, parentElement } = component;
  const [wide, narrow] = parentElement.querySelectorAll(".still > div");
  if (wide.innerHTML !== data.wide) wide.innerHTML = data.wide;
  if (narrow.innerHTML !== data.narrow) narrow.innerHTML = data.narrow;
}
"""


@cache
def _component() -> Callable[..., Any]:
    return st.components.v2.component("linesim.still", css=CSS, js=JS, html=(
        '<div class="still"><div class="wide"></div><div class="narrow"></div></div>'))


def still_floor(wide: str, narrow: str, key: str) -> None:
    """Put a picture on the page: SVG text for a wide page and for a phone, drawn here and escaped there."""
    _component()(key=key, data={"wide": wide, "narrow": narrow})
