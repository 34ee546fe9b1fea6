"""What does the scenario say? The plant on paper, edited in tables, undone and saved with every comment kept."""

from __future__ import annotations

import streamlit as st
from markupsafe import Markup

from ....scenario.faults import ScenarioFaults
from ... import words
from ...folder_check import Identity
from ...report import cautions
from ...report.blocks import Caution
from .. import chosen, memo
from ..desk import Desk, desk
from ..editing import fixed, plants
from ..editing.draft import Draft
from ..editing.fixed import Refused
from ..editing.nouns import NOUNS, PACKAGES, POSITIONS, RATE
from ..editing.on_paper import Paper, answer, on_paper, places_table, trades_table
from ..editing.papers import read
from ..editing.picture import pictures
from ..editing.tables import in_sheets, of_table, row_faults, sheet
from ..grid import grid
from ..new_rows import add_package, add_position
from ..places import given, results
from ..still_floor import still_floor

CAUTIONS = {PACKAGES.name: cautions.CREW, RATE.name: cautions.RATE}
GREY = "Grey, and why it may not be moved here"
TOLD = {PACKAGES.name: (fixed.CURE, fixed.INSPECTION, fixed.TRAVEL)}
NOWHERE = ("In no table", ("Caps of overtime and duty, limits of flight, weather minima and chances of luck stand in "
                           "the file itself. The command linesim language says what each means.",))
READING = ("Each place with its load on paper, no aircraft in it. The bar at its foot is filled that far. The pointer "
           "on a place says what its load is made of.")
BEFORE = "The loads are those of the last state without faults; they follow again once the faults are put right."
TYPED = ("A cell is changed by typing in it, a block of cells by pasting it from a spreadsheet at the marked cell. "
         "Rows are added {} and taken out at the left. Each change stands in the picture at once, in the file when it "
         "is saved.")
SHEET = ("Rows that stand in {} are read here and not written, so that the sheet keeps its formulas and its look. "
         "Change them there and open the file again; or save the sheet as CSV, and name that in the scenario file.")
TABLE = "plant_table"  # in the state of the session: the noun that is open


def page() -> None:
    """The answer on paper, what may be done with the draft, the picture, and the tables."""
    path = chosen.path()
    if path is None:
        chosen.here("plant")
        return
    try:
        here = desk(path, results())
    except ScenarioFaults as faults:
        memo.faults("plant", "This file cannot be read.", [str(fault) for fault in faults.faults])
        return
    here.show(next((noun for noun in NOUNS if noun.name == st.session_state.get(TABLE)), here.noun))
    parts = memo.parts("plant")
    paper = None if here.sound is None else on_paper(here.sound)
    first, more = answer(here.draft.now)
    memo.say(parts, first, more[:memo.BESIDE_THE_ANSWER], came_from=_came_from(here))
    with parts.progress:
        _told(here)
    with parts.inputs:
        _deeds(here)
    with parts.margin:
        memo.caution(CAUTIONS.get(here.noun.name, Caution("Before you change the plant.", words.AID)))
    if paper is not None and paper.numbers is not None:
        with parts.numbers:
            memo.numbers(_numbers(here, paper))
    with parts.body:
        if paper is not None:
            memo.head(_finding(paper), "" if not paper.places else READING if here.sound == here.draft.now else BEFORE)
            still_floor(*pictures(paper, memo.mode()), key="plant_floor")
            _rest(more[memo.BESIDE_THE_ANSWER:])
        _tables(here)
        if paper is not None:
            _on_paper(paper)
        _downloads(here)


# heading --------------------------------------------------------------------------------------------------------
def _came_from(here: Desk) -> str:
    """The digest is that beside the numbers of its runs; what cannot run has none."""
    scenario = read(here.draft.now).scenario
    digest = "" if scenario is None else f" · file {Identity.of(scenario, scenario.seed).digest[:8]}"
    lines = here.draft.lines_changed()
    state = "as on the disk" if not here.draft.changed else f"{words.counted(lines, 'line')} changed, not saved"
    return f"{here.draft.now.name}{digest} · {state}"


def _finding(paper: Paper) -> str:
    over = [load.place for load in paper.places if load.over]
    if over:
        return f"{words.listed(over)}: more is asked of {'it' if len(over) == 1 else 'them'} than there is time"
    return "No place is over its time on paper" if paper.places else "The places, in order of flow"


def _numbers(here: Desk, paper: Paper) -> list[memo.Number]:
    assert paper.numbers is not None
    places = sorted(paper.places, key=lambda load: -2.0 if load.share is None else -load.share)
    found = [memo.Number("Planned takt, work days", f"{paper.numbers['takt, work days']:g}")
             if paper.numbers["takt, work days"] else None,
             memo.Number("Fullest place on paper", _share(places[0].share), "", places[0].place),
             memo.Number("Fullest trade on paper", _share(paper.numbers["trades"][0]["load"]), "",
                         str(paper.numbers["trades"][0]["trade"])) if paper.numbers["trades"] else None,
             memo.Number("Lines not saved", str(here.draft.lines_changed()), "", here.draft.now.name)]
    return [one for one in found if one is not None]


def _share(share: float | None) -> str:
    return "over" if share is None else words.percent(share)


# what may be done with the draft --------------------------------------------------------------------------------
def _deeds(here: Desk) -> None:
    if st.button("Undo", key="plant_undo", disabled=not here.draft.can_undo):
        here.to(here.draft.undone())
        st.rerun()
    if st.button("Redo", key="plant_redo", disabled=not here.draft.can_redo):
        here.to(here.draft.redone())
        st.rerun()
    if plants.is_own(here.path, here.results, given()) and st.button(
            "Save", key="plant_save", type="primary", disabled=not here.draft.changed):
        _save(here)
    with st.popover("Save a copy", key=f"plant_copying_{here.drawn}"):  # another key: it is closed
        name = st.text_input("Name of the copy", key="plant_copy_name")
        if st.button("Save this copy", key="plant_copy", type="primary", disabled=not name.strip()):
            _save_copy(here, name)
    with st.popover("New plant", key=f"plant_beginning_{here.drawn}"):
        _new_plant(here)


def _told(here: Desk) -> None:
    """What became of the last deed, until the next one."""
    if here.told:
        st.html(Markup('<p class="cap" role="status">{}</p>').format(here.told))
    memo.fault_lines([words.sentence(here.refused)] if here.refused else [])


def _save(here: Desk) -> None:
    try:
        here.to(plants.saved(here.draft, here.path))
        here.told = f"Saved as {here.path.name}. The other pages run what it says now."
    except Refused as refused:
        here.refused = str(refused)
    st.rerun()


def _save_copy(here: Desk, name: str) -> None:
    try:
        path = plants.copied(here.draft.now, name, here.results)
    except Refused as refused:
        here.refused = str(refused)
    else:
        here.to(Draft.of(here.draft.saved))  # the changes are in the copy
        chosen.choose(plants.key_of(path))
    st.rerun()


def _new_plant(here: Desk) -> None:
    name = st.text_input("Name of the plant", key="plant_new_name")
    like = st.radio("To begin with", list(plants.GALLERY), format_func=lambda one: plants.GALLERY[one][0],
                    captions=[about for _, about in plants.GALLERY.values()], key="plant_new_like")
    if st.button("Begin this plant", key="plant_new", type="primary", disabled=not name.strip()):
        try:
            chosen.choose(plants.key_of(plants.begun(name, like, here.results)))
        except Refused as refused:
            here.refused = str(refused)
        st.rerun()


# tables ---------------------------------------------------------------------------------------------------------
def _tables(here: Desk) -> None:
    faults = row_faults(read(here.draft.now))
    counts = {noun.name: len(of_table(faults, noun)) for noun in NOUNS}
    sheets, closed = in_sheets(here.noun, read(here.base))
    of_sheets = SHEET.format(words.listed(sheets))
    memo.head("The plant in tables", of_sheets if closed else TYPED.format(
        "at the foot" if here.noun.adds else "by the button below"))
    names = [noun.name for noun in NOUNS]
    if TABLE not in st.session_state:
        st.session_state[TABLE] = here.noun.name
    st.segmented_control("Table", names, required=True, key=TABLE, wrap=True, label_visibility="collapsed",
                         format_func=lambda one: f"{one} ({counts[one]})" if counts[one] else one)
    table = sheet(here.noun, read(here.base))
    if table.rows or here.noun.adds:
        grid(table, here.key, memo.mode(), closed=closed)
    if sheets and not closed:
        st.html(Markup('<p class="cap">{}</p>').format(of_sheets))
    memo.fault_lines([*([here.untaken] if here.untaken else []), *of_table(faults, here.noun)])
    memo.fault_lines([one.text for one in faults if one.noun != here.noun.name])
    if here.noun is PACKAGES:
        add_package(here)
    if here.noun is POSITIONS:
        add_position(here)
    told = TOLD.get(here.noun.name, ())
    for beside, note in zip(st.columns(2, gap="large"), ((GREY, told), NOWHERE) if told else (NOWHERE,), strict=False):
        with beside:
            memo.note(*note)


def _rest(sentences: list[str]) -> None:
    """What would change the loads, beyond the sentences under the answer."""
    if sentences:
        memo.head("What else would change it")
        st.html(Markup('<ul class="also">{}</ul>').format(Markup("").join(
            Markup("<li>{}</li>").format(one) for one in sentences)))


def _on_paper(paper: Paper) -> None:
    for name, table in (("The picture above as a table", places_table(paper)),
                        ("People on paper", trades_table(paper))):
        if table is not None:
            with st.expander(name):
                memo.table(table)


def _downloads(here: Desk) -> None:
    with st.container(horizontal=True, gap="small"):
        papers = here.draft.now
        st.download_button("File, YAML", papers.files[0][1], papers.name, "application/yaml", on_click="ignore",
                           key="plant_file")
        if len(papers.files) > 1:
            st.download_button("All files, ZIP", plants.packed(papers), f"{papers.name.rsplit('.', 1)[0]}.zip",
                               "application/zip", on_click="ignore", key="plant_zip")
