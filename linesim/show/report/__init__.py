"""The page that an operations manager prints: one file, no outside reference, no script, light and dark."""

from .page import report_html, write_report

__all__ = ["report_html", "write_report"]
