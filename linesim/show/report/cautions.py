"""Cautions beside the results that tempt. They belong to the answer and are printed with it."""

from __future__ import annotations

from .. import words
from .blocks import Caution

RATE = Caution("Before you raise the rate.", "Faster launches put more aircraft on the same people and places, and "
               "work is hurried. Inspection is never skipped, and no cure or hold is shortened, to keep a takt.")
TRAVEL = Caution("Before more work travels.", "It is found later and by fewer eyes. Packages that may not travel stay: "
                 "mate, engine hang, control rigging, bonds, fuel and power-on checks, parachute, propeller, "
                 "end-of-line inspection.")
PROMISE = Caution(*words.BEFORE_A_PROMISE)
CREW = Caution("Before you add people to a job.", "The most people of a package are a safety ceiling as well as a "
               "space one. Weeks of overtime wear people out: injury rates rise on evenings and nights.")
NOT_DEAD = Caution("Before you cut days.", "Inspection and paperwork are not dead time to squeeze. Cure is elapsed "
                   "time, day and night; nobody may shorten it, and overtime does not. Booth limits are the permit's "
                   "and the fire authority's.")
FLIGHT = Caution("Before you fly more.", "Limits are hard. Weather minima cannot be lowered below the rule in the "
                 "file. Only current, qualified production test pilots fly; engine runs, fuel, propellers and "
                 "parachute rockets follow the approved procedures and licensed people.")
ONE_RUN = Caution("One possible course of events, not a forecast.", "Another run meets other weather, squawks and "
                  "shortages.")
