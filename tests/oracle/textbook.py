"""A slow textbook model of the floor rules, to hold the engine against.

It is written from the text of the floor rules alone: one SimPy process for each aircraft (or half), package and
planned launch, one for the calendar, and one that settles an instant in the order of the rules: what is due happens,
then moves, then the pulse, then launches, then people are dealt out. Times are exact fractions of minutes, so that two
things at one instant are at one instant. Nothing here is quick, and nothing is shared with the engine.
"""

from __future__ import annotations

from textbook_floor import Floor
from textbook_plant import Plant, Told


def told(plant: Plant) -> Told:
    """What the textbook model says of a plant."""
    return Floor(plant).run()
