"""Work in process: how many aircraft stand in each area, week by week."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from .. import words
from ..palette import Mode, area_roles
from .dates import month_ticks
from .settings import drawn, sheet_of


@drawn
def plate(mode: Mode, areas: pd.DataFrame, total: pd.DataFrame) -> Figure:
    """Tables of questions.figures.standing."""
    names = list(dict.fromkeys(areas["area"]))
    weeks = total["week"].tolist()
    days = np.array([(week - weeks[0]).days for week in weeks], dtype=float)
    means = areas.pivot(index="area", columns="week", values="mean").loc[names].to_numpy()
    figure = sheet_of(3.3)
    axes = figure.add_subplot()
    axes.stackplot(days, means, colors=[mode[role] for role in area_roles(len(names))], edgecolor=mode["rule"],
                   linewidth=0.6, clip_on=False)
    for name in ("low", "high"):
        axes.plot(days, total[name], color=mode["page"], lw=2.6, clip_on=False)
        axes.plot(days, total[name], color=mode["ink"], lw=1.1, ls=(0, (1, 1.6)), clip_on=False)
    axes.set_xlim(days[0], days[-1])
    axes.set_ylim(0, max(total["high"].max(), means.sum(axis=0).max()) * 1.04)
    tops = np.cumsum(means[:, -1])
    span = axes.get_ylim()[1]
    for y, name, here, at in zip(apart(list(tops - means[:, -1] / 2), span * 0.062), names, means[:, -1],
                                 tops - means[:, -1] / 2, strict=True):
        axes.plot([1.004, 1.018], [at, y], transform=axes.get_yaxis_transform(), color=mode["rule"], lw=0.8,
                  clip_on=False)
        axes.text(1.024, y, f"{name} {words.tenths(float(here))}", transform=axes.get_yaxis_transform(), va="center")
    axes.set_title("Aircraft", fontsize=9, color=mode["soft"], loc="left")
    month_ticks(axes, weeks[0], most=7)
    return figure


def apart(wanted: Sequence[float], least: float) -> list[float]:
    """Places of labels, near those wanted (in rising order) and `least` apart."""
    found = list(wanted)
    for _ in range(200):
        moved = False
        for n in range(len(found) - 1):
            near = least - (found[n + 1] - found[n])
            if near > 1e-9:
                found[n] -= near / 2
                found[n + 1] += near / 2
                moved = True
        if not moved:
            break
    below = min(0.0, found[0]) if found else 0.0
    return [one - below for one in found]
