"""Charts of single pages, for the screen; those that a page shares with the report stand in `show/charts/screen.py`."""
