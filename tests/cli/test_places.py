"""Every file that pmsched writes in the user's folders is named in the manual, and what is named there is written."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import platformdirs
import pytest
from command_line import Run
from manual_pages import PAGES, points
from small_ship import NOW

import seeds_demo.build
from pmsched.cli.faults import keep_report
from pmsched.cli.guide_state import GuideState
from pmsched.store.drafts import draft_for
from pmsched.store.register import Register
from pmsched.tui import flows
from pmsched.tui.flows_signing import _LAST
from pmsched.tui.page import write_page
from pmsched.usecases.round_draft import RoundDraft, TypedValue

OLD = Path(__file__).parents[1] / "store" / "old_registers"
# What stands for what differs from case to case, in the names on the page.
EXAMPLES = {"1a2b3c": "[0-9a-f]+", "1a": "[0-9a-f]{2}", "AE2-02": "[A-Za-z0-9-]+", "0001-to-0002": r"\d+-to-\d+"}


def named() -> dict[str, re.Pattern[str]]:
    """The files that the page names, each with what its name may be."""
    names = [one for point in points(PAGES["places"]) for one in re.split(r",\s+", point)]
    patterns = {}
    for name in names:
        parts = re.split(f"({'|'.join(EXAMPLES)}|[0-9]+)", name)
        patterns[name] = "".join(
            EXAMPLES.get(part) or (r"\d+" if part.isdecimal() else re.escape(part)) for part in parts
        )
    return {name: re.compile(pattern) for name, pattern in patterns.items()}


def written(folder: Path) -> Iterator[str]:
    """The files in the user's folders, as the page names them: within the data and the state folder."""
    for place in ("data", "state"):
        root = folder / place
        yield from (path.relative_to(root).as_posix() for path in root.rglob("*") if path.is_file())
    yield from (f"log/{path.name}" for path in (folder / "log").iterdir())


@pytest.fixture
def used(bare: Run, template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[set[str]]:
    """What lies there after pmsched was used in every way that leaves something; the register is open."""
    register = tmp_path / "data" / "register.db"
    target = str(register)
    register.parent.mkdir()
    shutil.copy(OLD / "form_0001.db", register)
    assert bare("people").code == 0
    (tmp_path / "photo.jpg").write_bytes(b"a photo")
    # The template of the ship has something to report; the old register was only there to be brought to the new form.
    shutil.copy(template, register)
    assert bare("report", "ME-LO", "--attach", str(tmp_path / "photo.jpg"), "--by", "CE").code == 0
    assert bare("backup", str(tmp_path / "copy.db")).code == 0
    assert bare("restore", str(tmp_path / "copy.db"), "--by", "CE").code == 0
    monkeypatch.setattr(seeds_demo.build, "build_demo", lambda path, *_a, **_k: _copied(register, path))
    assert bare("demo").code == 0
    RoundDraft(target).put("ME-H", TypedValue("12", NOW))
    draft_for(target, "report ME-LO").save({"remarks": "filter clean"})
    draft_for(target, _LAST).save({"code": "CE"})
    GuideState(target).work_on(tmp_path / "plan.xlsx")
    strange = draft_for(str(tmp_path / "other.db"), "round")
    strange.path.write_text("not a draft", encoding="utf-8")
    assert strange.load() == {}
    monkeypatch.setattr(platformdirs, "user_documents_path", lambda: tmp_path / "none")
    write_page(flows._usual_folder(), "watch-2030-01-15-1000", "a page")
    assert keep_report("a fault") is not None
    with Register(target) as opened, opened.reading():
        yield set(written(tmp_path))


def _copied(source: Path, target: Path) -> None:
    target.parent.mkdir()
    shutil.copy(source, target)


def test_every_file_written_is_named_and_every_file_named_is_written(used: set[str]) -> None:
    """A file that nobody told of would be deleted, or left lying, by whoever finds it."""
    patterns = named()
    assert [name for name in sorted(used) if not any(one.fullmatch(name) for one in patterns.values())] == []
    assert [name for name, one in patterns.items() if not any(one.fullmatch(found) for found in used)] == []
