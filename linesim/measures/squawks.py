"""Flights and squawks per aircraft: by flight number, and by the trade that clears them.

Only aircraft count that were launched in the run and delivered in the window: all their flights are in the records. A
squawk of a flight is counted when it is written up; by trade, from the work that clears it, in the runs of which every
segment is kept.
"""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

KEY = ["run", "serial"]


def counted(tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """The aircraft that count: run and serial."""
    rows = tables["reasons"][KEY].drop_duplicates()
    return rows.assign(serial=rows["serial"].astype(str))


def by_flight(tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """By run and flight number: run, flight, flew (aircraft that flew it), squawks (written up on it)."""
    aircraft = counted(tables)
    flights = tables["flights"].assign(serial=tables["flights"]["serial"].astype(str)).merge(aircraft, on=KEY)
    return flights.groupby(["run", "flight"]).agg(flew=("serial", "nunique"), squawks=("squawks", "sum")).reset_index()


def by_trade(tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Squawks by run, place and trade that clears them: run, place, trade, squawks; of the runs with segments."""
    segments = tables["segments"]
    if not len(segments):
        return pd.DataFrame(columns=["run", "place", "trade", "squawks"])
    jobs = segments["job"].cat
    squawk = [name for name in jobs.categories if "squawk" in name.split()]
    rows = segments.loc[segments["job"].isin(squawk), ["run", "serial", "place", "job", "trade"]].drop_duplicates()
    rows = rows.astype({"serial": str, "place": str, "job": str, "trade": str})
    rows = rows[rows["trade"] != ""].drop_duplicates([*KEY, "place", "job"])
    rows = rows.merge(counted(tables), on=KEY)
    return rows.groupby(["run", "place", "trade"]).size().rename("squawks").reset_index()
