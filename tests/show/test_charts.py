"""Figures: the title is true of the table, nothing is drawn twice or left out, text stays text, colours are roles."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from datetime import date
from itertools import pairwise
from typing import Any

import pandas as pd
import pytest

from linesim.questions import figures
from linesim.questions.spread import Spread, range_words, spread, ten_of
from linesim.show.charts import balance, dates, days, findings, flights, load, lost, quarters, screen, standing
from linesim.show.charts.settings import headed
from linesim.show.charts.standing import apart
from linesim.show.charts.svg import DPI, alone, inline, pixels
from linesim.show.palette import DARK, LIGHT, MODES, MOST_INK, area_roles, contrast, luminance, mixed

START = date(2027, 1, 4)


def quarter_rows(plan: int, counts: list[int], kept: int, runs: int = 200, name: str = "2027 Q1") -> pd.DataFrame:
    return pd.DataFrame([(name, plan, kept, runs, n, count, count >= plan) for n, count in enumerate(counts)],
                        columns=["quarter", "plan", "kept", "runs", "circle", "deliveries", "keeps"])


def date_rows(kept: list[int], runs: int = 100) -> pd.DataFrame:
    return pd.DataFrame([(f"S{n}", "D4", 30 + 5 * n, 20.0 + 5 * n, 28.0 + 5 * n, 33.0 + 5 * n, 40.0 + 5 * n, one, runs,
                          figures.state_of(one, runs)) for n, one in enumerate(kept)],
                        columns=["serial", "model", "promised", "early", "half", "eight", "nine", "kept", "runs",
                                 "state"])


def balance_rows(rows: list[tuple[int, int, int, int]]) -> pd.DataFrame:
    points = ["launch", "delivery"]
    return pd.DataFrame([(date(2027, 3, 31), points[n], 10.0, *row) for n, row in enumerate(rows)],
                        columns=["on", "point", "set_back", "needed", "low", "half", "high"])


LOST = pd.DataFrame([("ER", "Engine run", 1, .33, .07, .14, .02, .24, .2, 0.0, "FLM", "parts", .6),
                     ("PB", "", 1, .0, .0, .0, .0, .1, .9, 0.0, "", "", .9)],
                    columns=["place", "name", "docks", "people", "other", "blocked", "rework", "empty", "worked",
                             "held", "waits_for", "waits_else", "full"])
CHAIN = pd.DataFrame([("Line", "hands-on work", "work", 20.0), ("Line", "blocked", "blocked", 3.0),
                      ("Paint", "hands-on work", "work", 5.0), ("Paint", "people", "waiting", 2.0),
                      ("Paint", "hold", "hold", 1.5), ("Paint", "off shift", "off shift", 0.5)],
                     columns=["area", "reason", "family", "days"])
LEDGER = pd.DataFrame([("off shift", "off shift", 1896.0, 79.0), ("hands-on work", "work", 360.0, 15.0),
                       ("blocked", "blocked", 24.0, 1.0)], columns=["reason", "family", "hours", "days"])
LOAD = pd.DataFrame([("FLM", "Mechanic", "2027-01", .6, .5, .7), ("FLM", "Mechanic", "2027-02", .85, .8, .9),
                     ("PNT", "", "2027-01", .2, .1, .3)], columns=["trade", "name", "month", "load", "low", "high"])
FLIGHTS = pd.DataFrame([(1, 1.0, 6.8, 6.6, 7.0), (2, 1.0, 2.9, 2.8, 3.0), (3, .52, 1.2, 1.1, 1.3)],
                       columns=["flight", "flew", "squawks", "low", "high"])
WEEKS = [date(2027, 1, 4), date(2027, 1, 11), date(2027, 1, 18)]
AREAS = pd.DataFrame([(week, area, mean) for area, mean in (("Line", 6.0), ("Paint", 2.0)) for week in WEEKS],
                     columns=["week", "area", "mean"])
TOTAL = pd.DataFrame([(week, 7.0, 8.0, 9.5) for week in WEEKS], columns=["week", "low", "half", "high"])
QUARTERS = quarter_rows(12, [10, 11, 11, 12, 12, 12, 12, 12, 12, 13], 140)
DATES = date_rows([100, 70, 40])
BALANCE = balance_rows([(30, 28, 31, 33), (11, 8, 10, 12)])


def drawings(mode: Any) -> dict[str, Any]:
    """All figures of small made-up tables."""
    return {"quarters": quarters.plate(mode, QUARTERS), "dates": dates.plate(mode, DATES, START),
            "balance": balance.plate(mode, BALANCE), "standing": standing.plate(mode, AREAS, TOTAL),
            "lost": lost.plate(mode, LOST), "chain": days.chain(mode, CHAIN), "ledger": days.ledger(mode, LEDGER),
            "load": load.plate(mode, LOAD), "flights": flights.plate(mode, FLIGHTS)}


# titles ---
def test_quarters_name_the_least_sure_only_if_one_is_unsure() -> None:
    """8 in 10 runs is the line between the two templates."""
    sure, unsure = quarter_rows(12, [12] * 10, 160), quarter_rows(14, [13] * 10, 159, name="2027 Q2")
    assert findings.quarters(sure).title == "2027 Q1 keeps its plan in 8 in 10 runs or more"
    both = findings.quarters(pd.concat([sure, unsure]))
    assert both.title.startswith("2027 Q2 is the least sure: 7 in 10 runs reach")
    assert "9 in 10 ... 1 in 10 runs reach" in findings.quarters(sure).reading
    few = quarter_rows(12, [10, 11, 12], 1, 3)
    assert findings.quarters(few).reading.startswith("Each circle is one run")


@pytest.mark.parametrize(("kept", "title"), [
    ([100, 80], "All 2 aircraft keep their date in 8 in 10 runs or more"),
    ([100, 79], "1 of 2 aircraft is at risk; none is late in more than half the runs"),
    ([49, 50, 100], "1 of 3 aircraft is late in more than half the runs; 1 more is at risk"),
    ([0, 0], "2 of 2 aircraft are late in more than half the runs")])
def test_dates_count_what_is_late(kept: list[int], title: str) -> None:
    """On time from 8 in 10 on, late under half: the title follows the table."""
    assert findings.dates(date_rows(kept), len(kept)).title == title


@pytest.mark.parametrize(("rows", "title"), [
    ([(30, 28, 31, 33), (11, 8, 10, 12)], "Behind at delivery on 2027-03-31: 10 past, 11 needed"),
    ([(30, 28, 31, 33), (11, 11, 12, 12)], "No control point is behind in half the runs; in the slower ones some are"),
    ([(30, 30, 31, 33), (11, 11, 12, 12)], "No control point is behind")])
def test_balance_says_where_it_is_behind(rows: list[tuple[int, int, int, int]], title: str) -> None:
    """Behind in half the runs, in the slower ones, or nowhere."""
    assert findings.balance(balance_rows(rows), 200).title == title


def test_lost_names_what_is_largest() -> None:
    """The largest of the three losses of the first place; none where there is none."""
    assert findings.lost(LOST).title == "Engine run (ER) loses most: it waits for people in 33\u202f% of its hours"
    assert "stands blocked in 50" in findings.lost(LOST.assign(blocked=0.5)).title
    assert "waits for parts in 60" in findings.lost(LOST.assign(other=0.6)).title
    assert findings.lost(LOST[1:]).title == "No place waits or stands blocked"


def test_the_other_titles_hold_the_numbers_of_their_tables() -> None:
    """Sums and largest values, taken from the table itself."""
    assert findings.chain(CHAIN, 160, 5).title == \
        "Of 32.0 work days that set the dates, 25.0 are hands-on; being blocked takes 3.0"
    calm = CHAIN[CHAIN["family"] == "work"]
    assert findings.chain(calm, 160, 5).title == "Of 25.0 work days that set the dates, 25.0 are hands-on"
    assert findings.ledger(LEDGER).title.startswith("Of 95.0 calendar days in the plant, 15.0 are hands-on and 79.0")
    assert findings.load(LOAD).title == "The fullest trade is Mechanic (FLM): 85\u202f% of its working time in 2027-02"
    assert findings.flights(FLIGHTS).title == \
        "The first flight writes up 6.8 squawks, the second 2.9; 52\u202f% of the aircraft fly a third time"
    assert findings.flights(FLIGHTS[:1]).title == "The first flight writes up 6.8 squawks"
    areas = {"Line": {"mean": 6.0}, "Paint": {"mean": 2.0}}
    assert findings.standing(areas, 200).title == "Most aircraft stand in Line: 6.0 of 8.0"


# marks ---
def test_ten_runs_stand_for_all() -> None:
    """The 5th, 15th .. 95th percentile; of too few runs each one."""
    assert ten_of([float(n) for n in range(1, 201)]) == [10, 21, 41, 61, 81, 101, 121, 141, 161, 181]
    assert ten_of([3.0, 1.0, 2.0]) == [1.0, 2.0, 3.0]
    assert spread([float(n) for n in range(1, 101)]) == Spread(10.0, 50.0, 90.0)
    assert spread([5.0, 1.0, 3.0]) == Spread(1.0, 3.0, 5.0)
    assert [range_words(n) for n in (1, 28, 29)] == ["the run", "all 28 runs", "8 in 10 runs"]


def test_circles_never_lie_on_one_another() -> None:
    """At most five in a column, the columns side by side."""
    circles = quarters.stacked(quarter_rows(12, [12] * 10, 200))
    assert len(circles[["x", "level"]].drop_duplicates()) == 10
    assert circles["level"].max() == quarters.HIGH - 1
    assert circles["x"].mean() == pytest.approx(12)


def test_doubtful_serials_come_first() -> None:
    """The first late or at risk, in promised order; else those with the smallest chance."""
    table = date_rows([100, 10, 90, 20, 85])
    assert dates.shown(table, 2)["serial"].tolist() == ["S1", "S3"]
    assert dates.shown(table, 3)["serial"].tolist() == ["S1", "S3", "S4"]


def test_dates_after_the_end_are_arrows_not_dates() -> None:
    """What half the runs do not reach has no dot; the edge of the picture is not a date of delivery."""
    table = date_rows([100, 10]).assign(half=[28.0, float("inf")], eight=[33.0, float("inf")], nine=float("inf"))
    assert "An arrow: after the end of the runs." in findings.dates(table, 2).reading
    assert "An arrow" not in findings.dates(date_rows([100]), 1).reading
    lines = dates.plate(LIGHT, table, START).axes[0].get_lines()
    assert sum(line.get_marker() == ">" for line in lines) == 2
    assert sum(line.get_marker() == "o" and line.get_color() == LIGHT["accent"] for line in lines) == 1
    rows = next(iter(screen.dates(LIGHT, table, START).to_dict()["datasets"].values()))
    assert rows[1]["eight_said"] == "after the end of the runs"
    assert not rows[1]["half"]


def test_labels_keep_their_distance() -> None:
    """In order, far enough apart, not below the axis."""
    found = apart([0.1, 0.15, 0.2, 5.0], 1.0)
    assert all(b - a >= 1.0 - 1e-6 for a, b in pairwise(found))
    assert min(found) >= 0


def test_svg_is_text_in_the_colours_of_the_page() -> None:
    """Text elements, CSS variables only, names of its own, no clips, no outside reference, title and description."""
    for key, figure in drawings(LIGHT).items():
        svg = inline(figure, key, "A <title>", "what it says")
        assert svg.count("<text") > 3, key
        assert not re.findall(r"#[0-9a-fA-F]{6}\b", svg), key
        assert "var(--" in svg
        assert not re.search(r"url\(|http|<style", svg)
        ids = re.findall(r'\bid="([^"]*)"', svg)
        assert len(ids) == len(set(ids))
        assert all(name.startswith(f"{key}-") for name in ids)
        assert set(re.findall(r'href="#([^"]*)"', svg)) <= set(ids)
        assert f'<title id="{key}-t">A &lt;title&gt;</title>' in svg


@pytest.mark.parametrize("mode", list(MODES))
def test_all_figures_are_drawn_in_both_modes(mode: str) -> None:
    """Also alone, with title and reading line, as a picture file."""
    for key, figure in drawings(MODES[mode]).items():
        pixels(figure)
        before = figure.get_figheight()
        headed(figure, MODES[mode], "A finding " * 9, "How to read it. " * 12)
        assert figure.get_figheight() > before, key
        texts = [text.get_text() for text in figure.texts]
        assert any("A finding" in text for text in texts)
        pixels(figure)
        share = figure.transFigure.inverted()
        reading, = (text.get_window_extent().transformed(share).y0 for text in figure.texts
                    if "How to read" in text.get_text())
        for legend in figure.legends:
            found = legend.get_window_extent().transformed(share)
            assert found.y1 <= reading + 0.02, key
            assert max(axes.get_position().y1 for axes in figure.axes) <= found.y0 + 0.02, key


def test_a_figure_alone_is_an_svg_document() -> None:
    """Well formed, plain colours, text as text in the fonts of the page, nothing from outside; the PNG is the same
    figure in pixels."""
    for key, figure in drawings(LIGHT).items():
        text = alone(headed(figure, LIGHT, "A <finding>", "How to read it."), "A <finding>", "How to read it.")
        root = ElementTree.fromstring(text)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert root[0].text == "A <finding>"
        assert text.count("<text") > 3, key
        assert "var(--" not in text
        assert "system-ui" in text
        assert "DejaVu" not in text
        assert not re.search(r"<image|@import|(href|src)=\"(?!#)|url\((?!#)", text), key
        wide, high = (int.from_bytes(pixels(figure)[n:n + 4], "big") for n in (16, 20))
        assert (wide, high) == pytest.approx(tuple(figure.get_size_inches() * DPI), abs=1)


@pytest.mark.parametrize("mode", list(MODES))
def test_screen_figures_are_whole_and_hold_the_same_rows(mode: str) -> None:
    """The Altair charts are valid and carry the tables they are given."""
    colours = MODES[mode]
    charts = {"quarters": (screen.quarters(colours, QUARTERS), 10), "dates": (screen.dates(colours, DATES, START), 3),
              "balance": (screen.balance(colours, BALANCE), 2), "standing": (screen.standing(colours, AREAS, TOTAL), 6),
              "lost": (screen.lost(colours, LOST), 10), "chain": (screen.chain(colours, CHAIN), 8),
              "ledger": (screen.ledger(colours, LEDGER), 3), "load": (screen.load(colours, LOAD), 3),
              "flights": (screen.flights(colours, FLIGHTS), 3)}
    for key, (chart, rows) in charts.items():
        spec = chart.to_dict()
        assert rows in {len(data) for data in spec["datasets"].values()}, key
        assert spec["config"]["background"] == "transparent"


# colours ---
@pytest.mark.parametrize("mode", [LIGHT, DARK], ids=["light", "dark"])
def test_contrast(mode: Any) -> None:
    """Text 4.5 or more on page and band, marks and outlines 3; a number on a cell of the load grid too."""
    for role in ("ink", "soft", "accent", "ontime", "risk", "late"):
        assert contrast(mode[role], mode["page"]) >= 4.5, role
        assert contrast(mode[role], mode["band"]) >= 4.5, role
    for role in ("rule", "work", "rework", "hold", "waiting", "blocked"):
        assert contrast(mode[role], mode["page"]) >= 3, role
    for role in ("waiting", "blocked", "rework"):
        assert contrast(mode["page"], mode[role]) >= 4.5, role
    for share in (0.0, 0.2, MOST_INK):
        assert contrast(mode["ink"], mixed(mode["accent"], mode["page"], share)) >= 4.5
    assert contrast(mode["ink"], mixed(mode["waiting"], mode["page"], lost.PALE["other"])) >= 4.5


def test_contrast_of_known_colours() -> None:
    """Black on white is 21 (WCAG 2.2)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert luminance("#FFFFFF") == pytest.approx(1)


def test_areas_are_one_ramp() -> None:
    """Early pale, late deep, over the whole ramp, for any number of areas."""
    for count in (1, 2, 5, 7, 12):
        roles = area_roles(count)
        assert len(roles) == count
        tones = [luminance(LIGHT[role]) for role in roles]
        assert tones == sorted(tones, reverse=True)
