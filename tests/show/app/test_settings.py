"""The settings that are shipped: this machine only, nothing sent anywhere, and the colours of the palette."""

from __future__ import annotations

import tomllib
from pathlib import Path

from linesim.show.app.style import style
from linesim.show.opening import SCRIPT
from linesim.show.palette import DARK, FONTS, LIGHT, contrast

TOP = Path(__file__).parents[3]
SETTINGS = tomllib.loads((TOP / ".streamlit" / "config.toml").read_text())


def test_the_package_and_the_project_have_the_same() -> None:
    """`linesim app` and `streamlit run app.py` serve alike."""
    packed = SCRIPT.parent / ".streamlit" / "config.toml"
    assert not (SCRIPT.parent / "pages").exists()  # pages of its own, Streamlit would take them for
    assert packed.read_bytes() == (TOP / ".streamlit" / "config.toml").read_bytes()


def test_this_machine_only_and_nothing_is_sent() -> None:
    """Loopback, known hosts, small files, no statistics, no details of errors."""
    server = SETTINGS["server"]
    assert (server["address"], server["maxUploadSize"]) == ("127.0.0.1", 10)
    assert set(server["allowedHosts"]) == {"localhost", "127.0.0.1"}
    assert SETTINGS["browser"]["gatherUsageStats"] is False
    assert SETTINGS["client"]["showErrorDetails"] == "none"
    assert SETTINGS["client"]["toolbarMode"] == "viewer"


def test_the_colours_are_those_of_the_palette() -> None:
    """Each by its role, light and dark; the side swaps page and band."""
    roles = {"primaryColor": "accent", "backgroundColor": "page", "secondaryBackgroundColor": "band",
             "textColor": "ink", "linkColor": "accent", "borderColor": "line", "dataframeBorderColor": "line",
             "dataframeHeaderBackgroundColor": "band"}
    side = {"backgroundColor": "band", "secondaryBackgroundColor": "page", "borderColor": "line"}
    for name, mode in (("light", LIGHT), ("dark", DARK)):
        theme = SETTINGS["theme"][name]
        wanted = {setting: mode[role] for setting, role in roles.items()}
        assert {setting: theme[setting] for setting in roles} == wanted
        assert theme["sidebar"] == {setting: mode[role] for setting, role in side.items()}
        assert set(theme["chartCategoricalColors"]) <= set(mode.values())
    assert all(font in SETTINGS["theme"]["font"] for font in FONTS)


def test_what_is_written_on_the_accent_can_be_read() -> None:
    """The style puts a text colour on the button of each mode, 4.5 to 1 or more."""
    for mode in (LIGHT, DARK):
        sheet = style(mode)
        on = sheet.split("--on-accent:")[1][:7]
        assert contrast(on, mode["accent"]) >= 4.5
        assert f"--ink:{mode['ink']}" in sheet
