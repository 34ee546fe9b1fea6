"""The numbers of one run: deliveries, flow, where the time goes, how full places are and how busy people."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import islice, takewhile

import numpy as np

from ..line.records import REASON_WORDS, Records
from ..line.sheet import HOUR, Sheet
from ..scenario.orders import Order
from ..scenario.plan import planned_moments
from .chain_days import chain_days, chain_pieces
from .columns import Numbers, real, whole
from .defects import defects_of
from .labour import labour, load_by_week
from .ledger import Ledger
from .lost_days import lost_on_the_way
from .money import standing_labour, wage_hours
from .not_flown import counted as counted_days
from .not_flown import flying_days
from .open_squawks import open_squawks
from .tables import Tables, tables_of
from .travel import (
    Travelled,
    rates_by_package,
    stop_causes,
    stop_hours,
    stops_by_serial,
    travelled_by_origin,
)
from .window import backlog_months, window_of

SEGMENTS_OF_RUNS = 25  # every segment is kept of so many runs; any other can be run again alone


@dataclass(frozen=True, slots=True, eq=False)
class RunNumbers:
    """One run. Dates are local; hours by reason are summed over the aircraft delivered in the window."""

    run: int
    delivered: dict[str, str]      # serial -> wall time of delivery
    flow_hours: dict[str, float]   # serial -> launch to delivery; aircraft launched in the run, delivered in the window
    reasons: dict[str, float]
    counted: int                   # aircraft whose hours are in `reasons` and `chain`
    chain: Numbers                 # what set the dates, shape (2, places, ranks): work days, clock hours outside them
    flights: int
    squawks: int
    open_squawks: float            # mean number open in the window
    flying_days: dict[str, int]    # dates with a pilots' shift in the window: flown, or why not
    defects: dict[str, float]      # found by each gate, escaped, escapes expected, hours of repair: in the whole run
    stock: int
    stock_ready: dict[str, str]    # serial -> wall time at which it stood as finished stock
    promised: dict[str, str]       # promised dates that are not those of the order book; "" is none (any more)
    stuck: tuple[str, ...]
    in_process: dict[str, float]   # area -> mean number of aircraft standing there in the window
    places: Numbers                # working hours in the window by place and rank, over all docks
    waits: Numbers                 # hours that jobs waited in the window by place and trade (0 is nobody)
    labour: Numbers                # account in hours by trade, period and entry of ACCOUNT
    load_by_week: Numbers          # hours worked and working hours of those there: (2, trades, weeks)
    wage_hours: Numbers            # paid hours with their premiums, by trade and period
    standing_labour: Numbers       # hours worked on aircraft not delivered yet, (at the end, mean) x trade x period
    backlog_growth: int | None     # over the last months of the window; None without planned launches
    line_stops: int                # of the pulse line, begun in the window
    stop_hours: float              # working hours of the reference shift in which it stood, in the window
    stopped_by: dict[str, int]     # serial -> stops that it had a part in
    stop_causes: Numbers           # those hours by the place of who held the line, and its reason there
    travelled: dict[str, Travelled]  # place where the work was planned -> what travelled from it, all of the run
    tables: Tables

    def with_delivered(self, delivered: dict[str, str]) -> RunNumbers:
        """The same run with other deliveries, such as only those of one model."""
        return replace(self, delivered=delivered)


def numbers_of(sheet: Sheet, records: Records) -> RunNumbers:
    """The numbers of one run, with every segment if it is one of the first."""
    return _numbers_of(sheet, records, with_segments=records.replication < SEGMENTS_OF_RUNS)


def without_segments(sheet: Sheet, records: Records) -> RunNumbers:
    """The numbers of one run of a scenario that is only compared: nobody asks for its segments."""
    return _numbers_of(sheet, records, with_segments=False)


def _numbers_of(sheet: Sheet, records: Records, *, with_segments: bool) -> RunNumbers:
    calendar, ledger = sheet.calendar, Ledger(sheet, records)
    begin, end = window_instants(sheet)
    counted = [n for n, t in records.delivered.items() if begin <= t < end and n not in records.standing]
    hours = ledger.by_aircraft(counted)
    total = hours.sum(axis=0)
    names, rates = records.serials, rates_by_package(sheet) if records.travelled else {}
    places = [ledger.of_places(), ledger.of_places(parking=True)] if with_segments else None
    chains, account = chain_pieces(ledger, ledger.aircraft()), labour(sheet, ledger.columns)
    tables = tables_of(records, counted, hours, places, lost_on_the_way(chains, calendar.work_day))
    return RunNumbers(
        run=records.replication,
        delivered={names[n]: calendar.wall_text(t) for n, t in records.delivered.items()},
        flow_hours={names[n]: (records.delivered[n] - ledger.span(n)[0]) / HOUR for n in counted},
        reasons={words: float(total[state]) for state, words in REASON_WORDS.items() if total[state]},
        counted=len(counted), chain=chain_days(ledger, counted, chains),
        flights=len(records.flights), squawks=sum(f.squawks for f in records.flights),
        open_squawks=open_squawks(ledger.columns, begin, end),
        flying_days=counted_days(flying_days(ledger), *window_of(sheet.scenario)), defects=defects_of(records),
        stock=len(records.stock_ready),
        stock_ready={names[n]: calendar.wall_text(t) for n, t in records.stock_ready.items()},
        promised={names[n]: str(day or "") for n, day in records.promised.items()},
        stuck=tuple(sorted({stuck.why for stuck in records.stuck})),
        in_process=in_process(sheet, records, begin, end), places=ledger.by_place(begin, end),
        waits=ledger.waiting_by_trade(begin, end), labour=account,
        load_by_week=load_by_week(sheet, ledger.columns),
        wage_hours=wage_hours(sheet, account, ledger.columns), standing_labour=standing_labour(sheet, ledger.columns),
        backlog_growth=backlog_growth(sheet, records),
        line_stops=sum(begin <= stop.start < end for stop in records.stops),
        stop_hours=stop_hours(records.stops, calendar.reference, begin, end),
        stopped_by={names[n]: count for n, count in stops_by_serial(records.stops).items()},
        stop_causes=stop_causes(ledger, begin, end), travelled={
            sheet.places[n].id: of for n, of in travelled_by_origin(
                records.travelled, lambda job: rates.get(job, 0.0)).items()}, tables=tables)


def window_instants(sheet: Sheet) -> tuple[float, float]:
    """The window as instants; it never reaches beyond the end, where nothing is launched any more."""
    first, last = window_of(sheet.scenario)
    calendar = sheet.calendar
    return max(calendar.instant(first), 0.0), min(calendar.instant(last + timedelta(days=1)), calendar.end)


def in_process(sheet: Sheet, records: Records, begin: float, end: float) -> dict[str, float]:
    """Mean number of aircraft in the docks and parking of each area; a half counts a half."""
    found: dict[str, float] = {area_of(sheet, n): 0.0 for n in range(len(sheet.places))}
    stays = [*records.visits, *records.unfinished]
    if not stays or end <= begin:
        return found
    _, halves, places, _, arrived, _, left = zip(*stays, strict=True)
    stay = np.minimum(real(left), end) - np.maximum(real(arrived), begin)
    weight = np.array([0.5 if half else 1.0 for half in halves])
    for place, minutes in enumerate(np.bincount(whole(places), np.maximum(stay, 0.0) * weight, len(sheet.places))):
        found[area_of(sheet, place)] += float(minutes) / (end - begin)
    return found


def area_of(sheet: Sheet, place: int) -> str:
    """Area of a place; its own name, if it belongs to none."""
    position = sheet.places[place].position
    return position.area or position.name or position.id


def backlog_growth(sheet: Sheet, records: Records) -> int | None:
    """Launches planned less deliveries in the last months of the window; stock is neither. None without a plan."""
    if sheet.scenario.launches.saturated:
        return None
    first, last = backlog_months(window_of(sheet.scenario))
    begin, end = sheet.calendar.instant(first), sheet.calendar.instant(last + timedelta(days=1))
    planned = sum(begin <= t < end for t in _launches_planned(sheet, records))
    return planned - sum(begin <= t < end for t in records.delivered.values())


def _launches_planned(sheet: Sheet, records: Records) -> list[float]:
    """Planned launches of ordered aircraft. On a pulse line the declared plan counts: a late pulse makes the moments at
    which later ones fall due slip, and a plan that slips with the line would always be kept."""
    orders, launches = sheet.scenario.orders, sheet.scenario.launches
    if sheet.scenario.pulse is not None and sheet.scenario.pulse.in_force and launches.takt_work_days is not None:
        first = sheet.calendar.of_moment(launches.first) if launches.first else None
        moments = planned_moments(sheet.calendar, launches.takt_work_days, launches.steps, first)
        ahead = None if orders is None else len(orders) - len(records.standing) - len(records.unordered)
        return list(takewhile(lambda t: t < sheet.calendar.end, islice(moments, ahead)))
    return [t for serial, t in records.planned
            if orders is None or (serial < len(orders) and serial not in records.unordered)]


def promise_in(run: RunNumbers, order: Order) -> str:
    """The promised date of an order in a run; "" if it has none (any more)."""
    return run.promised.get(order.serial, str(order.promised or ""))


def deliveries_by_month(delivered: dict[str, str], months: list[str]) -> dict[str, int]:
    """Deliveries by local month YYYY-MM."""
    counts = Counter(moment[:7] for moment in delivered.values())
    return {month: counts[month] for month in months}
