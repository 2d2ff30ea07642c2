"""The four looks: every text can be read, and the states lie apart for every kind of eye. Figures, not taste.

Contrast is that of WCAG 2.2: 4.5 for text (level AA), 7 for high contrast (level AAA). States must be 10 apart by CIEDE2000,
about ten times what is just seen side by side; how an eye without one kind of cone sees them is simulated.
"""

from __future__ import annotations

from itertools import combinations, pairwise
from pathlib import Path
from typing import NamedTuple

import colours
import platformdirs
import pytest
from colours import EYES, Lab, Rgb
from pilot import make_app, press, run_app, settled
from rich.color import Color as RichColor
from textual.command import CommandPalette
from textual.pilot import Pilot
from textual.theme import Theme
from watch_ship import watch_ship

from pmsched.tui.app import PmschedApp
from pmsched.tui.themes import CONTRAST, DARK, LIGHT, RED_LIT, THEMES

LEAST_CONTRAST = {DARK.name: 4.5, LIGHT.name: 4.5, RED_LIT.name: 3.0, CONTRAST.name: 7.0}
LEAST_DIFFERENCE = 10.0
LEAST_STEP = 5.0
"""In the red-lit room: lightness (CIE L*) between states."""
# Every kind of screen, reached by keys from the one before; a form with a fault, a filter, the list of actions, a notice.
WALK = (
    ("down",), ("space",), ("d", "down", "down"), ("x", "ctrl+s"), ("escape", "slash", "z"), ("escape", "colon"),
    ("escape", "r"), ("1", "enter"), ("m",), ("enter",), ("c",), ("question_mark",), ("escape", "s"), ("escape", "w", "p"),
)  # fmt: skip


class Painted(NamedTuple):
    """A colour of text on its ground, and a text that is painted so."""

    text: Rgb
    ground: Rgb
    sample: str


def variables(theme: Theme) -> dict[str, str]:
    """The colours of a look by name, with those that textual works out."""
    return {**theme.to_color_system().generate(), **theme.variables}


def states(theme: Theme) -> dict[str, Rgb]:
    """The colours that lines of the lists have by their state, as ``Lines`` says."""
    named = variables(theme)
    looks = {"overdue": "error", "due": "warning", "soon": "success", "held": "accent", "usual": "foreground"}
    return {look: colours.rgb(named[name]) for look, name in looks.items()}


def _triple(colour: RichColor | None) -> Rgb:
    assert colour is not None
    assert colour.triplet is not None
    return colour.triplet.red, colour.triplet.green, colour.triplet.blue


def painted(app: PmschedApp) -> set[Painted]:
    """All text on the screen with its colours; of what lies in front only, where something does."""
    front = list(app.screen.query(".form, #--input, CommandList")) if app.screen.is_modal else [app.screen]
    boxes = [widget.region for widget in front]
    found = set()
    for y, strip in enumerate(app.screen._compositor.render_strips()):
        x = 0
        for segment in strip:
            style = segment.style
            inside = any(box.contains(x, y) for box in boxes)
            x += segment.cell_length
            if style is None or not inside or not any(map(str.isalnum, segment.text)):
                continue
            found.add(Painted(_triple(style.color), _triple(style.bgcolor), segment.text.strip()))
    return found


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, set[Painted]]:
    """What is painted on a walk over the screens, in each look."""
    folder = tmp_path_factory.mktemp("themes")
    ship = watch_ship(folder)
    found: dict[str, set[Painted]] = {}

    def walk(theme: Theme) -> set[Painted]:
        everything: set[Painted] = set()
        app = make_app(ship)
        app.papers = folder / "pages"

        async def steps(pilot: Pilot[None]) -> None:
            app.theme = theme.name
            await settled(app, pilot)
            for keys in WALK:
                await press(pilot, *keys)
                everything.update(painted(app))
                if keys == ("escape", "colon"):
                    assert isinstance(app.screen, CommandPalette)

        run_app(app, steps, notices=True)
        return everything

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: folder / "state")
        for theme in THEMES:
            found[theme.name] = walk(theme)
    return found


def named(theme: Theme) -> str:
    """The name of a look, for the ids of tests."""
    return theme.name


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=named)
def test_states_lie_apart(theme: Theme, eye: str) -> None:
    """Overdue, due, soon, held and usual lines differ by ten or more, two by two, for such an eye."""
    near = {
        (one, other): round(colours.difference(first, second, eye), 1)
        for (one, first), (other, second) in combinations(states(theme).items(), 2)
        if colours.difference(first, second, eye) < LEAST_DIFFERENCE
    }
    assert near == {}


def test_red_lit_states_differ_in_lightness() -> None:
    """Where all is red, what is more urgent is lighter, step by step; a usual line lies between due and soon."""
    shades = states(RED_LIT)
    steps = [colours.lightness(shades[look]) for look in ("overdue", "due", "usual", "soon")]
    assert all(lighter - darker >= LEAST_STEP for lighter, darker in pairwise(steps)), steps


def test_high_contrast_has_one_colour() -> None:
    """Nothing is said by colour there: states are words."""
    assert set(states(CONTRAST).values()) == {(255, 255, 255)}


@pytest.mark.parametrize("theme", THEMES, ids=named)
def test_states_can_be_read(theme: Theme) -> None:
    """Each state's colour, and that of quiet lines, stands out from the ground of the lists."""
    ground = colours.rgb(variables(theme)["surface"])
    shades = {**states(theme), "quiet": colours.rgb(variables(theme)["foreground-darken-2"])}
    weak = {
        look: round(ratio, 2)
        for look, shade in shades.items()
        if (ratio := colours.contrast(shade, ground)) < LEAST_CONTRAST[theme.name]
    }
    assert weak == {}


@pytest.mark.parametrize("theme", THEMES, ids=named)
def test_all_painted_text_can_be_read(seen: dict[str, set[Painted]], theme: Theme) -> None:
    """Whatever is painted on a walk over all screens stands out from its own ground."""
    weak = [one for one in seen[theme.name] if colours.contrast(one.text, one.ground) < LEAST_CONTRAST[theme.name]]
    assert weak == []
    assert len({(one.text, one.ground) for one in seen[theme.name]}) >= 3


def test_red_lit_room_stays_dark_but_for_red(seen: dict[str, set[Painted]]) -> None:
    """No colour painted there holds half as much green or blue as red: eyes stay used to the dark."""
    shades = {shade for one in seen[RED_LIT.name] for shade in (one.text, one.ground)}
    assert [shade for shade in shades if shade[0] < 2 * max(shade[1:])] == []


@pytest.mark.parametrize(
    ("one", "other", "wanted"),
    [
        ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
        ((50, 0, 0), (50, -1, 2), 2.3669),
        ((50, 2.49, -0.001), (50, -2.49, 0.0009), 7.1792),
        ((50, 2.49, -0.001), (50, -2.49, 0.0011), 7.2195),
        ((50, 2.5, 0), (73, 25, -18), 27.1492),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
        ((2.0776, 0.0795, -1.135), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_difference_is_the_published_one(one: Lab, other: Lab, wanted: float) -> None:
    """Pairs of table 1 in Sharma, Wu and Dalal 2005 (from memory)."""
    assert colours.ciede2000(one, other) == pytest.approx(wanted, abs=0.00005)


def test_contrast_is_that_of_the_standard() -> None:
    """Black on white is 21 to 1, and #767676 on white is the weakest grey that passes 4.5."""
    white = (255, 255, 255)
    assert colours.contrast((0, 0, 0), white) == pytest.approx(21, abs=0.01)
    assert colours.contrast((0x76, 0x76, 0x76), white) >= 4.5 > colours.contrast((0x77, 0x77, 0x77), white)


@pytest.mark.parametrize(
    ("eye", "one", "other"),
    [
        ("protanopia", "#ff0000", "#5d5000"),
        ("deuteranopia", "#c05000", "#806c00"),
        ("tritanopia", "#ffef60", "#ffc8d8"),
    ],
)
def test_simulation_confuses(eye: str, one: str, other: str) -> None:
    """The simulated eye finds two colours near each other that differ much for the usual one."""
    first, second = colours.rgb(one), colours.rgb(other)
    assert colours.difference(first, second, eye) < colours.difference(first, second) / 2


@pytest.mark.parametrize("grey", [0, 90, 255])
def test_simulation_keeps_greys(grey: int) -> None:
    """Grey looks the same to every eye."""
    shade = (grey, grey, grey)
    assert [colours.difference(shade, colours.seen_by(shade, eye)) < 0.5 for eye in EYES] == [True] * 4


def test_first_look_needs_no_second_reading_of_the_rules(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The app starts in the dark look, set before its rules are read, and t goes round all four."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    app = make_app(tmp_path / "none.db")
    assert app.get_css_variables()["error"] == variables(DARK)["error"]
    order = [app.theme]

    async def steps(pilot: Pilot[None]) -> None:
        assert app.screen.styles.background.hex.lower() == DARK.background
        for _ in THEMES:
            await press(pilot, "t")
            order.append(app.theme)

    run_app(app, steps)
    assert order == [*(theme.name for theme in THEMES), DARK.name]
