"""One run as its records tell it: who stood where, who worked on what, who was there, when a shift works.

Written from the rules of the floor alone: it knows the scenario, the calendar and the light, and what a record says,
not how the engine came to it. Nothing is checked here; the folders `audit`, `strict` and `measured` read it.
"""
