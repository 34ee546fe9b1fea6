"""The floor picture: every place and dock once, nothing over anything else, every text inside its box."""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest

from linesim.line.floor import run_once
from linesim.line.records import State
from linesim.line.sheet import Sheet
from linesim.measures.moment import Standing, first_jam, floor_of
from linesim.scenario.reading import read_scenario
from linesim.show.floor_layout import LEAST_WIDTH, PHONE, WIDE, Box, Layout, layout
from linesim.show.floor_order import even_rows
from linesim.show.floor_picture import Mark, picture_svg, short_serial, style
from linesim.show.floor_text import TEXT, cut_to, header_lines, width_of
from linesim.show.floor_words import jam_sentence, marks

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SVG = "{http://www.w3.org/2000/svg}"
TOUCH = 1e-6


def sixty(folder: Path) -> Path:
    """A plant of 60 positions: long feeders of unequal length, a long line, places of up to 14 docks."""
    def position(code: str, area: str, docks: int = 1, parking: int = 0, half: str | None = None) -> dict[str, object]:
        place: dict[str, object] = {"id": code, "name": f"{area} of a plant with long names, step {code}", "area": area,
                                    "docks": docks, "parking": parking,
                                    "packages": [{"id": f"{code}-1", "trade": "ASM", "hours": 6, "crew_max": 2}]}
        return place | ({"half": half} if half else {})

    places = [position(f"FB-{n}", "Fuselage shop", half="fuselage") for n in range(1, 11)]
    places += [position(f"WB-{n}", "Wing shop", parking=n % 3, half="wing") for n in range(1, 8)]
    places += [position(f"P{n}", "Line") for n in range(1, 25)] + [position("ER", "Engine run", parking=2)]
    places += [position(f"PB{n}", "Paint", 2, 1) for n in range(1, 5)]
    places += [position(f"IA{n}", "Interior", 3) for n in range(1, 6)] + [position("FL", "Flight line", 14, 10)]
    places += [position(f"FX{n}", "Flight line", 2) for n in range(1, 5)]
    places += [position(f"FC{n}", "Finishing", 2) for n in range(1, 4)] + [position("AC", "Acceptance", 5, 26)]
    assert len(places) == 60
    file = folder / "sixty.yaml"
    file.write_text(json.dumps({
        "name": "Sixty", "start": "2027-01-04", "end": "2027-04-30", "orders": "unlimited", "positions": places,
        "shifts": {"day": {"start": "06:00", "end": "14:30"}}, "trades": {"ASM": {"people": {"day": 60}}},
        "launches": {"takt_work_days": 1}}))
    return file


PLANTS = ("birchwater", "birchwater-pulse", "tiny", "textbook-feedback", "sixty")
WIDTHS = (WIDE, PHONE, 700.0, LEAST_WIDTH)


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Sheet]:
    """The plants, read once."""
    files = {name: SCENARIOS / f"{name}.yaml" for name in PLANTS[:-1]} | {"sixty": sixty(tmp_path_factory.mktemp("s"))}
    return {name: Sheet(read_scenario(file)) for name, file in files.items()}


@pytest.fixture(scope="module")
def aircraft(sheets: dict[str, Sheet]) -> dict[str, list[Mark]]:
    """What stands in each plant in one run, about two months in (or at the end)."""
    found = {}
    for name, sheet in sheets.items():
        records = run_once(sheet, sheet.scenario.seed, 0)
        found[name] = marks(sheet, floor_of(sheet, records).at(min(60 * 1440.0 + 660.0, sheet.calendar.end / 2)))
    return found


@pytest.fixture(params=[(plant, width) for plant in PLANTS for width in WIDTHS], ids=lambda one: f"{one[0]}-{one[1]:g}")
def drawn(request: pytest.FixtureRequest, sheets: dict[str, Sheet],
          aircraft: dict[str, list[Mark]]) -> tuple[Sheet, Layout, list[Mark]]:
    """A plant at a width, with aircraft."""
    plant, width = request.param
    return sheets[plant], layout(sheets[plant], width), aircraft[plant]


def apart(one: Box, other: Box) -> bool:
    """Whether two rectangles have no area in common."""
    return (one.x + one.w <= other.x + TOUCH or other.x + other.w <= one.x + TOUCH
            or one.y + one.h <= other.y + TOUCH or other.y + other.h <= one.y + TOUCH)


def inside(one: Box, other: Box) -> bool:
    """Whether a rectangle lies in another."""
    return (one.x >= other.x - TOUCH and one.y >= other.y - TOUCH and one.x + one.w <= other.x + other.w + TOUCH
            and one.y + one.h <= other.y + other.h + TOUCH)


def texts(svg: str) -> Iterator[tuple[Box, str]]:
    """Every text of a picture with the box that it takes by the width estimate."""
    for element in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        bold = element.get("class") == "head"
        wide = width_of(element.text or "", bold=bold)
        for part in element.iter(f"{SVG}tspan"):
            wide += width_of(part.text or "", bold=True) + width_of(part.tail or "")
        x, y = float(element.get("x", "")), float(element.get("y", ""))
        left = x - wide / 2 if element.get("class") == "middle" else x
        yield Box(left, y - 0.78 * TEXT, wide, TEXT), "".join(element.itertext())


def test_every_place_and_dock_is_drawn_once(drawn: tuple[Sheet, Layout, list[Mark]]) -> None:
    """Docks in the place's frame, parking in a frame of its own."""
    sheet, floor, _ = drawn
    declared = sorted([(place.index, False, place.docks) for place in sheet.places]
                      + [(place.index, True, place.parking) for place in sheet.places if place.parking])
    assert sorted((frame.place, frame.parked, len(frame.spots)) for frame in floor.frames) == declared
    for frame in floor.frames:
        assert [spot.number for spot in frame.spots] == list(range(len(frame.spots)))


def test_nothing_lies_over_anything(drawn: tuple[Sheet, Layout, list[Mark]]) -> None:
    """Frames apart, spots apart inside their frames, all inside the picture, and no way runs through a place."""
    _, floor, _ = drawn
    page = Box(0.0, 0.0, floor.width, floor.height)
    for n, frame in enumerate(floor.frames):
        assert inside(frame.box, page)
        assert all(apart(frame.box, other.box) for other in floor.frames[n + 1:])
        for k, spot in enumerate(frame.spots):
            assert inside(spot.box, frame.box)
            assert all(apart(spot.box, other.box) for other in frame.spots[k + 1:])
    for link in floor.links:
        for (x, y), (to_x, to_y) in zip(link.points, link.points[1:], strict=False):
            assert x == to_x or abs(y - to_y) < TOUCH
            run = Box(min(x, to_x), min(y, to_y), abs(to_x - x), abs(to_y - y))
            assert inside(run, page)
            assert all(apart(run, frame.box) for frame in floor.frames), link


def test_every_text_is_inside_its_box(drawn: tuple[Sheet, Layout, list[Mark]]) -> None:
    """By the widest usual font: names in their frame, serials and reasons in their dock, headings beside each other."""
    _, floor, aircraft = drawn
    boxes = [frame.box for frame in floor.frames]
    heads = []
    for box, text in texts(picture_svg(floor, aircraft)):
        around = [frame for frame in boxes if not apart(box, frame)]
        if around:
            assert any(inside(box, frame) for frame in around), text
        else:
            heads.append(box)
            assert inside(box, Box(0.0, 0.0, floor.width, floor.height)), text
    assert len(heads) == len(floor.headings)
    assert all(apart(one, other) for n, one in enumerate(heads) for other in heads[n + 1:])


def test_texts_of_neighbouring_docks_do_not_meet(drawn: tuple[Sheet, Layout, list[Mark]]) -> None:
    """No two texts of one picture overlap."""
    _, floor, aircraft = drawn
    found = list(texts(picture_svg(floor, aircraft)))
    for n, (box, text) in enumerate(found):
        for other, beside in found[n + 1:]:
            assert apart(box, other), (text, beside)


def test_every_aircraft_is_a_shape_and_a_sentence(drawn: tuple[Sheet, Layout, list[Mark]]) -> None:
    """One title for each; text is 12 units high; colours stand in the rules only, so that a page may set its own."""
    _, floor, aircraft = drawn
    svg = picture_svg(floor, aircraft, "A & B < C")
    root = ElementTree.fromstring(svg)
    titles = [title.text for title in root.iter(f"{SVG}title")]
    assert titles[0] == "A & B < C"
    assert sorted(title for title in titles if title in {mark.sentence for mark in aircraft}) == sorted(
        mark.sentence for mark in aircraft)
    assert aircraft or floor.height < 400
    assert f"font-size:{TEXT:g}px" in svg
    assert TEXT >= 12
    assert [float(number) for number in root.get("viewBox", "").split()] == pytest.approx(
        [0.0, 0.0, floor.width, floor.height], abs=0.05)
    body = re.sub(r"<style>.*</style>", "", svg, flags=re.DOTALL)
    assert "#" not in body
    assert "prefers-color-scheme:dark" in svg


def test_it_is_read_like_text(sheets: dict[str, Sheet]) -> None:
    """In the order of flow each place stands to the right of the one before, or in a lower row; areas begin rows."""
    for name in ("birchwater", "sixty"):
        floor = layout(sheets[name], WIDE)
        at = {frame.place: frame.box for frame in floor.frames if not frame.parked}
        for half in ("", "fuselage", "wing"):
            places = [place.index for place in sheets[name].places if place.half == half]
            for before, after in itertools.pairwise(places):
                assert at[after].x >= at[before].x + at[before].w or at[after].y >= at[before].y + at[before].h
        heads = [(round(head.y), head.x) for head in floor.headings]
        assert len(set(heads)) == len(heads)
    demo = {frame.place: frame.box for frame in layout(sheets["birchwater"], WIDE).frames if not frame.parked}
    names = {place.id: demo[place.index] for place in sheets["birchwater"].places}
    assert names["FB-1"].y == names["FB-2"].y < names["P1"].y < names["WB-1"].y == names["WB-2"].y
    assert names["P1"].y == names["P8"].y


def test_feeders_join_in_a_bracket_before_mate(sheets: dict[str, Sheet]) -> None:
    """Two ways come from the last places of the feeders and meet in one point, from which one leads to mate."""
    sheet = sheets["birchwater"]
    floor = layout(sheet, WIDE)
    box = {sheet.places[frame.place].id: frame.box for frame in floor.frames if not frame.parked}
    ends = [link.points[-1] for link in floor.links if link.points[0] in {
        (box[name].x + box[name].w, box[name].y + box[name].h / 2) for name in ("FB-2", "WB-2")}]
    assert len(ends) == 2
    assert ends[0] == ends[1]
    to_mate = [link for link in floor.links if link.points[0] == ends[0]]
    assert len(to_mate) == 1
    assert to_mate[0].points[-1] == (box["P1"].x, box["P1"].y + box["P1"].h / 2)


def test_a_phone_has_up_to_three_places_a_row_and_a_heading_for_each_area(sheets: dict[str, Sheet]) -> None:
    """Narrow pictures begin every area on a new row."""
    floor = layout(sheets["birchwater"], PHONE)
    assert [head.text for head in floor.headings] == [
        "Build-up", "Line", "Engine run", "Paint", "Interior", "Flight line", "Finishing"]
    assert {head.x for head in floor.headings} == {16.0}
    rows: dict[float, int] = {}
    for frame in floor.frames:
        rows[frame.box.y + frame.box.h / 2] = rows.get(frame.box.y + frame.box.h / 2, 0) + 1
    assert max(rows.values()) == 3


def test_aircraft_grow(sheets: dict[str, Sheet]) -> None:
    """A propeller from roll-out on: from the place of the end-of-line inspection."""
    sheet = sheets["birchwater"]
    past = {sheet.places[frame.place].id for frame in layout(sheet, WIDE).frames if frame.propeller}
    assert past == {"P8", "ER", "PP", "PB", "IA", "FL", "FC", "AC"}


def test_a_layout_is_a_pure_function(sheets: dict[str, Sheet]) -> None:
    """Twice the same; too narrow and unknown docks are refused in words."""
    sheet = sheets["birchwater"]
    assert layout(sheet, WIDE) == layout(Sheet(sheet.scenario), WIDE)
    with pytest.raises(ValueError, match=r"240 or more, got 100"):
        layout(sheet, 100.0)
    with pytest.raises(KeyError):
        layout(sheet, WIDE).spot(0, False, 1)


def test_rows_are_as_few_and_as_even_as_can_be() -> None:
    """Least rows first, then least squared empty room, found by hand."""
    assert even_rows([4, 4, 4, 4], 9, gap=1) == [(0, 2), (2, 4)]
    assert even_rows([5, 3, 3, 5], 9, gap=1) == [(0, 2), (2, 4)]
    assert even_rows([20, 1], 9, gap=1) == [(0, 1), (1, 2)]
    assert even_rows([], 9, gap=1) == []


def test_names_are_cut_at_words() -> None:
    """A long name is cut after a word, with an ellipsis, and never runs over its box."""
    for room in (40.0, 60.0, 89.0, 150.0):
        code, first, *rest = header_lines("P5", "Environmental, exhaust and intake", "", room)
        assert width_of(f"{code} ", bold=True) + width_of(first) <= room
        assert all(width_of(line) <= room for line in rest)
    assert header_lines("A", "Mate", "then C", 90.0) == ("A", "Mate", "", "then C")
    assert cut_to("Engine hang", 1000.0) == "Engine hang"
    assert short_serial("DN4-0249") == "0249"
    assert short_serial("17") == "17"
    assert short_serial("LONGSERIAL20270001") == "0001"


def test_the_jam_is_said_in_one_sentence(sheets: dict[str, Sheet]) -> None:
    """Nothing jams in the tiny plant; in the demo the sentence names place, serial and day of the jam."""
    tiny, demo = sheets["tiny"], sheets["birchwater"]
    assert jam_sentence(tiny, 4, first_jam(floor_of(tiny, run_once(tiny, 1, 4)))) == (
        "In run 4 no aircraft stood blocked for more than a work day.")
    jam = first_jam(floor_of(demo, run_once(demo, demo.scenario.seed, 0)))
    assert jam is not None
    said = jam_sentence(demo, 0, jam)
    assert demo.calendar.wall_text(jam.at)[:10] in said
    assert jam.serial in said
    assert demo.places[jam.place].id in said


@pytest.mark.parametrize("state", [None, *State])
def test_every_reason_has_a_family_and_words(state: State | None, sheets: dict[str, Sheet]) -> None:
    """No reason is drawn without a colour family of the rules, a short wording that fits a spot, and a sentence."""
    for parked in (False, True):
        one = Standing("DN4-0249", "", 13, parked, 0, state, ("P7-30",), ("INS",), 0.0, 1.5, -0.5, 13)
        mark, = marks(sheets["birchwater"], [one])
        assert mark.family in ("work", "rework", "hold", "waiting", "blocked", "off shift")
        assert f".floor .{mark.family.replace('off shift', 'off')}{{fill:" in style()
        assert width_of(mark.reasons[-1]) <= 100
        assert mark.sentence.startswith("DN4-0249 parked before PP" if parked else "DN4-0249 in PP")
        assert mark.sentence.endswith(" Here since 2027-01-04 00:00, 1.5 work days.")
