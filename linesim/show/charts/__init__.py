"""Figures: each is a pure function of a small table. `plates.py` draws for paper and command line, `screen.py` for the
app; both take titles and reading lines from `findings.py` and sizes, dashes and colours from `settings.py`."""
