"""The plant edited in tables: a draft of a scenario file and the tables beside it. Nothing here draws a page."""
