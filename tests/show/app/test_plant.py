"""The page of the plant: what it answers on paper, a new plant, a copy, and no `Save` over what is shipped."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from streamlit.testing.v1 import AppTest

from linesim.scenario.reading import read_scenario

Opened = Callable[..., AppTest]
Text = Callable[[AppTest], str]


def test_the_page_answers_on_paper(opened: Opened, text: Text) -> None:
    """Sizes, takt and loads of the file as it stands; a shipped file has no `Save`; nothing can be undone yet."""
    app = opened("plant")
    assert not app.exception
    assert "2 positions, 1 trade, 3 aircraft. At takt 1, every load is under 90\u202f%" in text(app)
    assert "tiny.yaml" in text(app)
    assert "as on the disk" in text(app)
    assert app.button(key="plant_undo").disabled
    assert "plant_save" not in [one.key for one in app.button]


def test_the_file_has_the_same_digest_on_every_page(opened: Opened, finished: Callable[[AppTest], AppTest], text: Text,
                                                    ) -> None:
    """Beside the plant on paper and beside the numbers of its runs."""
    marks = [set(re.findall(r"file ([0-9a-f]{8})\b", text(app)))
             for app in (opened("plant"), finished(opened("quarters", runs="1")), opened("floor", run="0"))]
    assert len(marks[0]) == 1
    assert marks[0] == marks[1] == marks[2]


def test_a_new_plant_and_its_copy(opened: Opened, text: Text, results: Path) -> None:
    """`New plant` begins a file of one's own and chooses it; a name that is there already is refused in words."""
    app = opened("plant")
    app.text_input(key="plant_new_name").set_value("My plant").run()
    app.button(key="plant_new").click().run()
    assert "my-plant.yaml" in text(app)
    assert "8 positions, 6 trades, 23 aircraft." in text(app)
    assert app.button(key="plant_save").disabled
    app.text_input(key="plant_new_name").set_value("My plant").run()
    app.button(key="plant_new").click().run()
    assert "There is a plant called my-plant already; choose another name" in text(app)
    app.text_input(key="plant_copy_name").set_value("Second").run()
    app.button(key="plant_copy").click().run()
    assert "second.yaml" in text(app)
    assert read_scenario(results / "plants" / "second" / "second.yaml").name == "Second"


def test_forms_add_in_the_flow(opened: Opened, text: Text) -> None:
    """A package added by its form is one step that can be undone; one without a name is refused in words."""
    app = opened("plant")
    app.session_state["plant_table"] = "Packages"
    app.run()
    form = next(one for one in app.button if one.label == "Add this package")
    form.click().run()
    assert "A package needs a short name of its own" in text(app)
    next(one for one in app.text_input if one.label.startswith("Short name")).set_value("a2")
    next(one for one in app.number_input if one.label.startswith("Hours")).set_value(4)
    next(one for one in app.button if one.label == "Add this package").click().run()
    assert "1 line changed, not saved" in text(app)
    app.button(key="plant_undo").click().run()
    assert "as on the disk" in text(app)
