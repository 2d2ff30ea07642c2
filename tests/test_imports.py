"""What is really loaded at run time: the linter of imports sees only what is written at the top of modules."""

from __future__ import annotations

import importlib.util
import pkgutil
from pathlib import Path

import deeds
import loaded_modules
import pytest

DATABASE = ("sqlalchemy", "alembic")
SCREEN = ("textual", "rich")
# The libraries that a command may need, each imported inside the function that needs it.
OCCASIONAL = (
    "argon2",
    "cryptography",
    "dateutil",
    "icalendar",
    "numpy",
    "openpyxl",
    "platformdirs",
    "reportlab",
    "rfc8785",
    "scipy",
    "xlsxwriter",
)

BANNED_IN_ROOM = {
    "pmsched.domain": (*DATABASE, *SCREEN, "click"),
    "pmsched.store": (*SCREEN, "click"),
    "pmsched.exchange": (*DATABASE, *SCREEN, "click"),
    "pmsched.usecases": (*SCREEN, "click"),
}


def modules_of(room: str) -> list[str]:
    """The room's package and every module in it, at any depth, found without running the modules."""
    spec = importlib.util.find_spec(room)
    assert spec is not None
    assert spec.submodule_search_locations is not None
    names = [room]
    for found in pkgutil.iter_modules(spec.submodule_search_locations, f"{room}."):
        names += modules_of(found.name) if found.ispkg else [found.name]
    return names


@pytest.mark.parametrize("room", BANNED_IN_ROOM)
def test_room_loads_nothing_foreign(room: str) -> None:
    """All modules of a room together load nothing that the room must not know."""
    names = modules_of(room)
    loaded = loaded_modules.after("".join(f"import {name}\n" for name in names))
    assert set(names) <= loaded.modules
    assert loaded.of(BANNED_IN_ROOM[room]) == []


def test_command_line_starts_light() -> None:
    """The command line itself loads click, and no library that only some commands need."""
    loaded = loaded_modules.after("import pmsched.cli.main")
    assert loaded.of(["click"]) == ["click"]
    assert loaded.of((*DATABASE, *SCREEN, *OCCASIONAL)) == []


@pytest.mark.parametrize("option", ["--help", "--version"])
def test_questions_about_the_program_stay_light(option: str) -> None:
    """Asking for help or for the version loads no database and no screen, and succeeds."""
    loaded = loaded_modules.after_command(option)
    assert loaded.exit_code == 0, loaded.narration
    assert loaded.of((*DATABASE, *SCREEN, *OCCASIONAL)) == []


def test_due_list_loads_no_screen_and_no_migrations(tmp_path: Path) -> None:
    """``pmsched due`` reads the database, and loads neither the screens nor the migrations' library."""
    register = tmp_path / "register.db"
    deeds.create_register(register)
    loaded = loaded_modules.after_command("--register", str(register), "due")
    assert loaded.exit_code == 0, loaded.narration
    assert loaded.of(["sqlalchemy"]) == ["sqlalchemy"]
    assert loaded.of(["textual", "alembic"]) == []


@pytest.mark.parametrize("option", ["", "--check"])
def test_loading_files_loads_no_workbook_library(tmp_path: Path, option: str) -> None:
    """``pmsched load`` with CSV files pays for no library that reads or writes workbooks."""
    register, path = tmp_path / "register.db", tmp_path / "people.csv"
    deeds.create_register(register)
    path.write_text("code,name,rank,department\n2E,B. Reader,2/E,engine\n", encoding="utf-8")
    loaded = loaded_modules.after_command(
        "--register", str(register), "--by", "CE", "load", str(path), *filter(None, [option])
    )
    assert loaded.exit_code == 0, loaded.narration
    assert loaded.of(["sqlalchemy", "openpyxl", "xlsxwriter"]) == ["sqlalchemy"]


def test_screens_start_without_the_database() -> None:
    """Nothing that reads a register is loaded before the first paint: it is loaded in a thread behind it."""
    loaded = loaded_modules.after("import pmsched.cli.main, pmsched.cli.screens, pmsched.tui.start")
    assert loaded.of(["textual"]) == ["textual"]
    # textual itself loads platformdirs.
    assert loaded.of((*DATABASE, *(package for package in OCCASIONAL if package != "platformdirs"))) == []


def test_screens_start_with_the_watch_alone() -> None:
    """The other screens and all forms are loaded when they are first opened."""
    loaded = loaded_modules.after("import pmsched.tui.start")
    screens = sorted(name for name in loaded.modules if name.startswith("pmsched.tui.screens."))
    assert screens == ["pmsched.tui.screens.base", "pmsched.tui.screens.watch"]
