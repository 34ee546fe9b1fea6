"""The chain of what set the date: its pieces add up to each stay, its stays to the flow time."""

from pathlib import Path

import pytest

from linesim.line.floor import run_once
from linesim.line.sheet import Sheet
from linesim.measures.chain import Chains
from linesim.measures.ledger import Ledger
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "birchwater.yaml"


def pulse(demo: Scenario) -> Scenario:
    """The demo as a pulse line."""
    assert demo.pulse is not None
    return demo.model_copy(update={"pulse": demo.pulse.model_copy(update={"in_force": True})})


@pytest.mark.parametrize("line", ["free flow", "pulse"])
def test_the_pieces_of_every_stay_add_up(line: str) -> None:
    """F112: work days on the reference clock and clock hours outside it, together, are the stay; the stays, one after
    the other, are launch to delivery."""
    demo = read_scenario(DEMO)
    sheet = Sheet(demo if line == "free flow" else pulse(demo))
    records = run_once(sheet, demo.seed, 5)
    ledger = Ledger(sheet, records)
    chains, day = Chains(ledger), sheet.calendar.work_day / 60
    assert len(records.delivered) > 50
    for serial in records.delivered:
        for stay in chains.stays(serial):
            found = sum(stay.work_days.values()) * day + sum(stay.outside_hours.values())
            assert found == pytest.approx((stay.left - stay.arrived) / 60, abs=1e-6), (serial, stay)
        stays = chains.that_set_the_date(serial)
        begin, end = ledger.span(serial)
        assert stays[0].arrived == begin
        assert stays[-1].left == end
        assert [a.left for a in stays[:-1]] == [b.arrived for b in stays[1:]]
