"""The floor as rectangles, read like text: rows from left to right, the next row below, breaks between areas.

Order and joins come from the scenario alone: the two feeder lanes lie one above the other and join in a bracket before
mate; parking stands before its place; a line goes from the end of a row round to the start of the next. Nothing is
placed by hand. Units are those of the picture (one screen pixel at full size); text is 12 units high.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import ceil

from ..line.plans import PlacePlan
from ..line.sheet import Sheet
from .floor_order import even_rows, lanes_of, past_roll_out
from .floor_text import header_lines
from .words import percent

WIDE, PHONE = 1176.0, 358.0     # the widths that the picture is made for
LEAST_WIDTH = 240.0
LEFT, RIGHT = 16.0, 12.0        # room for the lines that go round
GAP, JOIN_GAP = 14.0, 24.0
HEADS, CELL = (20.0, 34.0, 48.0), 88.0  # heights: one, two, three lines of name; aircraft, serial and reason
DOCK, DOCKS, SPOT = 100.0, 92.0, 76.0  # least widths: a single dock, one of several, a parking spot
MOST_IN_LINE = 8
WIDEST = 1.6                    # most that a row is stretched
ROW_GAP, HEADING = 26.0, 22.0
LANE_GAP = 12.0
BREAKS_BY_AREA = 600.0          # narrower pictures begin every area on a new row


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle."""

    x: float
    y: float
    w: float
    h: float


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one aircraft stands: a dock, or a parking spot; numbers from 0."""

    number: int
    box: Box


@dataclass(frozen=True, slots=True)
class Frame:
    """A place, or the parking before it, with its docks or spots."""

    place: int
    parked: bool
    half: str
    box: Box
    spots: tuple[Spot, ...]
    code: str                # bold, at the top left; "" for parking
    lines: tuple[str, ...]   # the name: after the code, and in two lines below it
    sentence: str
    propeller: bool          # aircraft here are past roll-out


@dataclass(frozen=True, slots=True)
class Heading:
    """Name of an area, above its first place: left end of the base line."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Link:
    """The way to the next place, as points; a chevron on it points to the right at `chevron`."""

    points: tuple[tuple[float, float], ...]
    chevron: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Layout:
    """The floor as drawn, without aircraft."""

    width: float
    height: float
    frames: tuple[Frame, ...]
    headings: tuple[Heading, ...]
    links: tuple[Link, ...]

    def spot(self, place: int, parked: bool, number: int) -> tuple[Frame, Spot]:
        """The frame and spot of an aircraft; raises KeyError for one that the plant does not have."""
        for frame in self.frames:
            if frame.place == place and frame.parked == parked and number < len(frame.spots):
                return frame, frame.spots[number]
        raise KeyError((place, parked, number))


@dataclass(slots=True)
class _Block:
    """A frame before it has its place."""

    plan: PlacePlan
    parked: bool
    columns: int
    least: float             # width
    count: int
    head: float = HEADS[0]   # height of its name, the same in all of a row

    @property
    def height(self) -> float:
        return self.head + CELL * ceil(self.count / self.columns)


Lane = list[_Block]


@dataclass(slots=True)
class _Piece:
    """What stays together in a row: one lane, or the two feeder lanes."""

    lanes: list[Lane]
    heads: list[dict[int, str]]  # by lane: number of a block -> heading
    least: float = 0.0

    def __post_init__(self) -> None:
        self.least = max(_least(lane) for lane in self.lanes)

    @property
    def heights(self) -> list[float]:
        return [max((block.height for block in lane), default=0.0) for lane in self.lanes]

    @property
    def lane_gap(self) -> float:
        return LANE_GAP + (HEADING if any(self.heads[1:]) else 0.0)

    @property
    def height(self) -> float:
        return sum(self.heights) + self.lane_gap * (len(self.lanes) - 1)


def layout(sheet: Sheet, width: float = WIDE) -> Layout:
    """The floor of a plant as rectangles, in a picture of a width; raises ValueError if that is too narrow."""
    if width < LEAST_WIDTH:
        raise ValueError(f"the floor picture needs a width of {LEAST_WIDTH:g} or more, got {width:g}")
    return _Drawing(sheet, width).layout()


class _Drawing:
    """One layout in the making."""

    def __init__(self, sheet: Sheet, width: float) -> None:
        self.sheet, self.width, self.room = sheet, width, width - LEFT - RIGHT
        self.feeders, self.line = lanes_of(sheet)
        self.past_roll_out = past_roll_out(self.line)
        self.frames: list[Frame] = []
        self.headings: list[Heading] = []
        self.links: list[Link] = []
        self.ends: list[tuple[PlacePlan, float, float]] = []  # open ends of the way: right edge, middle height

    def layout(self) -> Layout:
        """All rows, one below the other."""
        pieces = [*self._feeder_pieces(), *self._line_pieces()]
        y = 4.0
        for row in self._rows(pieces):
            y = self._row(row, y)
        return Layout(self.width, y + 4.0, tuple(self.frames), tuple(self.headings), tuple(self.links))

    # pieces ------------------------------------------------------------------------------------------------------
    def _blocks(self, plan: PlacePlan) -> Iterator[_Block]:
        if plan.parking:
            yield self._block(plan, plan.parking, SPOT, parked=True)
        yield self._block(plan, plan.docks, DOCK if plan.docks == 1 else DOCKS, parked=False)

    def _block(self, plan: PlacePlan, count: int, least: float, *, parked: bool) -> _Block:
        lines = ceil(count / min(MOST_IN_LINE, int(self.room // least)))
        columns = ceil(count / lines)
        return _Block(plan, parked, columns, columns * least, count)

    def _feeder_pieces(self) -> Iterator[_Piece]:
        """The feeder lanes, side by side; long ones in as many parts as the longer needs."""
        lanes = [[block for plan in lane for block in self._blocks(plan)] for lane in self.feeders]
        if not lanes:
            return
        parts = [_broken(lane, self.room) for lane in lanes]
        most = max(map(len, parts))
        parts = [part if len(part) == most else _in_parts(lane, most) for lane, part in zip(lanes, parts, strict=True)]
        heads = [_heads([block.plan for block in lane]) for lane in lanes]
        if len(heads) > 1 and list(heads[0].values()) == list(heads[1].values()):
            heads[1] = {}
        begun = [0] * len(lanes)
        for n in range(most):
            chunks = [part[n] for part in parts]
            yield _Piece(chunks, [{k - begin: text for k, text in head.items() if begin <= k < begin + len(chunk)}
                                  for head, begin, chunk in zip(heads, begun, chunks, strict=True)])
            begun = [begin + len(chunk) for begin, chunk in zip(begun, chunks, strict=True)]

    def _line_pieces(self) -> Iterator[_Piece]:
        """One piece for each area; an area that is longer than a row in several, a place without area by itself."""
        for _, plans in groupby(enumerate(self.line), key=lambda one: one[1].position.area or one[0]):
            area = [plan for _, plan in plans]
            heads = area[0].position.area
            for k, part in enumerate(_broken([block for plan in area for block in self._blocks(plan)], self.room)):
                yield _Piece([part], [{0: heads} if heads and not k else {}])

    def _rows(self, pieces: list[_Piece]) -> list[list[_Piece]]:
        if self.width < BREAKS_BY_AREA:
            starts = [n for n, piece in enumerate(pieces) if n == 0 or len(piece.lanes) > 1 or piece.heads[0]
                      or len(pieces[n - 1].lanes) > 1] + [len(pieces)]
            groups = [pieces[a:b] for a, b in pairwise(starts)]
        else:
            groups = [pieces]
        return [group[a:b] for group in groups
                for a, b in even_rows([piece.least for piece in group], self.room, JOIN_GAP)]

    # rows --------------------------------------------------------------------------------------------------------
    def _row(self, row: list[_Piece], y: float) -> float:
        """Lay one row below `y`; gives the lower edge."""
        turning = bool(self.ends)
        gaps = [JOIN_GAP if len(piece.lanes) > 1 else GAP for piece in row[:-1]]
        inside = [max(GAP * (len(lane) - 1) for lane in piece.lanes) for piece in row]
        hands = sum(piece.least for piece in row) - sum(inside)
        stretch = min(WIDEST, (self.room - sum(gaps) - sum(inside)) / hands)
        wides = [(piece.least - within) * stretch + within for piece, within in zip(row, inside, strict=True)]
        self._name(row, wides)
        turn_at = y + ROW_GAP / 2
        top = y + (ROW_GAP if turning else 0.0) + (HEADING if any(any(piece.heads) for piece in row) else 0.0)
        height = max(piece.height for piece in row)
        x = LEFT
        for n, piece in enumerate(row):
            self._piece(piece, x, top + (height - piece.height) / 2, wides[n], turn_at if n == 0 and turning else None)
            x += wides[n] + (gaps[n] if n < len(gaps) else 0.0)
        return top + height

    def _name(self, row: list[_Piece], wides: list[float]) -> None:
        """Give all blocks of a row room for the longest of their names."""
        lanes = [(lane, wide) for piece, wide in zip(row, wides, strict=True) for lane in piece.lanes if lane]
        lines = max(len(self._lines(block, block.least * _stretch(lane, wide))[1]) for lane, wide in lanes
                    for block in lane)
        for lane, _ in lanes:
            for block in lane:
                block.head = HEADS[lines - 1]

    def _lines(self, block: _Block, wide: float) -> tuple[str, tuple[str, ...]]:
        """The code of a block, and its name in one to three lines, the first of them beside the code."""
        plan = block.plan
        if block.parked:
            return "", (f"{block.count} spots" if block.count > 1 else "spot",)
        code = plan.id.removesuffix(f" {plan.position.name.lower()}")
        code, *lines = header_lines(code, plan.position.name, self._note(plan), wide - 12)
        while len(lines) > 1 and not lines[-1]:
            lines.pop()
        return code, tuple(lines)

    def _piece(self, piece: _Piece, x: float, y: float, wide: float, turn_at: float | None) -> None:
        ends, starts = self.ends, []
        self.ends = []
        for lane, heads, high in zip(piece.lanes, piece.heads, piece.heights, strict=True):
            if lane:
                starts.append(self._lane(lane, heads, x, y + high / 2, wide))
            y += high + piece.lane_gap
        self._arrive(ends, starts, turn_at)

    def _lane(self, lane: Lane, heads: dict[int, str], x: float, middle: float,
              wide: float) -> tuple[PlacePlan, float, float]:
        """One lane on a middle height; gives its first place, left edge and middle."""
        stretch = _stretch(lane, wide)
        x += wide - GAP * (len(lane) - 1) - stretch * sum(block.least for block in lane)
        first, before = x, None
        for n, block in enumerate(lane):
            box = Box(x, middle - block.height / 2, block.least * stretch, block.height)
            if n in heads:
                self.headings.append(Heading(x, box.y - 7.0, heads[n]))
            if before is not None and (block.plan is before or before.next == block.plan.index):
                self.links.append(_straight(x - GAP, middle, x))
            self.frames.append(self._frame(block, box))
            x, before = box.x + box.w + GAP, block.plan
        last = lane[-1].plan
        self.ends.append((last, x - GAP, middle))
        return lane[0].plan, first, middle

    def _frame(self, block: _Block, box: Box) -> Frame:
        plan, w = block.plan, box.w / block.columns
        top = box.y + block.head
        spots = tuple(Spot(n, Box(box.x + w * (n % block.columns), top + CELL * (n // block.columns), w, CELL))
                      for n in range(block.count))
        code, lines = self._lines(block, box.w)
        sentence = f"Parking before {plan.id}: {lines[0]}" if block.parked else _sentence(plan)
        return Frame(plan.index, block.parked, plan.half, box, spots, code, lines, sentence,
                     plan.index in self.past_roll_out)

    def _note(self, plan: PlacePlan) -> str:
        """Where the aircraft goes, if that is not the next place drawn."""
        if plan.position.back_to is not None:
            return f"back to {plan.position.back_to.position}: {percent(plan.position.back_to.chance)}"
        order = [*(self.feeders[0] if self.feeders else []), *self.line]
        at = order.index(plan) if plan in order else None
        follows = at is not None and plan.next is not None and order[at + 1:at + 2] == [self.sheet.places[plan.next]]
        if plan.half or plan.next is None or follows:
            return ""
        return f"then {self.sheet.places[plan.next].id}"

    # the way -----------------------------------------------------------------------------------------------------
    def _arrive(self, ends: Sequence[tuple[PlacePlan, float, float]], starts: list[tuple[PlacePlan, float, float]],
                turn_at: float | None) -> None:
        """Lead the open ends to the places that come after them: straight, in a bracket, or round to the next row."""
        for lane, (plan, x, y) in enumerate(starts):
            coming = [end for end in ends if end[0] is plan or end[0].next == plan.index]
            if not coming:
                continue
            if len(coming) > 1:
                here = max(end[1] for end in coming) + (JOIN_GAP / 2 if turn_at is None else GAP / 2)
                middle = sum(end[2] for end in coming) / len(coming)
                self.links += [Link(((end[1], end[2]), (here, end[2]), (here, middle)), (end[1] + 6.0, end[2]))
                               for end in coming]
                coming = [(coming[0][0], here, middle)]
                self._lead(coming[0][1:], (x, y), turn_at, lane, out=0.0)
            else:
                self._lead(coming[0][1:], (x, y), turn_at, lane, out=7.0)

    def _lead(self, start: tuple[float, float], end: tuple[float, float], turn_at: float | None, lane: int,
              out: float) -> None:
        if turn_at is None:
            self.links.append(_straight(start[0], start[1], end[0], end[1]))
            return
        right, left, turn = start[0] + out - 3.0 * lane, 3.0 + 4.0 * lane, turn_at + 4.0 * lane
        self.links.append(Link(((start[0], start[1]), (right, start[1]), (right, turn), (left, turn), (left, end[1]),
                                end), (end[0] - 5.0, end[1])))


def _straight(x: float, y: float, to_x: float, to_y: float | None = None) -> Link:
    end = y if to_y is None else to_y
    points = ((x, y), (to_x, end)) if end == y else ((x, y), ((x + to_x) / 2, y), ((x + to_x) / 2, end), (to_x, end))
    return Link(points, (max((x + to_x) / 2, to_x - 6.0), end))


def _heads(plans: list[PlacePlan]) -> dict[int, str]:
    """Headings of a lane: at the first block of each run of an area."""
    areas = [plan.position.area or "" for plan in plans]
    return {n: area for n, area in enumerate(areas) if area and (n == 0 or areas[n - 1] != area)}


def _stretch(lane: Lane, wide: float) -> float:
    """How much wider than its least the blocks of a lane are drawn."""
    return min(WIDEST, (wide - GAP * (len(lane) - 1)) / sum(block.least for block in lane))


def _least(lane: Lane) -> float:
    return sum(block.least for block in lane) + GAP * max(0, len(lane) - 1)


def _broken(lane: Lane, room: float) -> list[Lane]:
    """A lane in rows that fit, none much shorter than the others; parking stays with its place where it fits."""
    together: list[Lane] = []
    for block in lane:
        mine = together and together[-1][-1].parked and together[-1][-1].plan is block.plan
        if mine and _least([*together[-1], block]) <= room:
            together[-1].append(block)
        else:
            together.append([block])
    return [[block for part in together[a:b] for block in part]
            for a, b in even_rows([_least(part) for part in together], room, GAP)]


def _in_parts(lane: Lane, parts: int) -> list[Lane]:
    """A lane in so many parts of about the same number of blocks, the last ones full."""
    cuts = [len(lane) - ceil(len(lane) * (parts - n) / parts) for n in range(parts)] + [len(lane)]
    return [lane[a:b] for a, b in pairwise(cuts)]


def _sentence(plan: PlacePlan) -> str:
    docks = "1 dock" if plan.docks == 1 else f"{plan.docks} docks"
    return f"{plan.id}{' ' + plan.position.name if plan.position.name else ''}: {docks}"
