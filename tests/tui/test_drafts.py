"""Drafts: what was typed is on the disk at once, survives what happens to the file, and is gone once signed."""

from __future__ import annotations

import json
import threading
from pathlib import Path

import platformdirs
import pytest

from pmsched.domain.errors import Refusal
from pmsched.tui.drafts import Draft, draft_for, drafts_folder
from pmsched.usecases.record_round import RoundLine
from pmsched.usecases.round_draft import RoundDraft, TypedValue

AT = 1_750_000_000
SHIP = "register.db"


@pytest.fixture(autouse=True)
def _own_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The user's folder is the test's."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")


def test_saved_values_are_loaded_again(tmp_path: Path) -> None:
    """Another object, as after a restart, finds what was saved, whatever characters it holds."""
    Draft(tmp_path, "round").save({"value": "12 090", "remarks": "[/] ü \\"})
    assert Draft(tmp_path, "round").load() == {"value": "12 090", "remarks": "[/] ü \\"}


def test_saving_again_replaces(tmp_path: Path) -> None:
    """The newest values alone are kept, in one file."""
    draft = Draft(tmp_path, "round")
    draft.save({"first": 1})
    draft.save({"second": 2})
    assert draft.load() == {"second": 2}
    assert [path.name for path in tmp_path.iterdir()] == ["round.json"]


def test_nothing_kept_is_empty(tmp_path: Path) -> None:
    """A draft never saved is no error."""
    assert Draft(tmp_path / "never", "round").load() == {}


def test_cleared_draft_is_gone(tmp_path: Path) -> None:
    """Cleared twice is as good as once."""
    draft = Draft(tmp_path, "round")
    draft.save({"a": 1})
    draft.clear()
    draft.clear()
    assert draft.load() == {}
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", ["[1, 2", "[1, 2]", '"typed"', "\x00"], ids=["cut", "list", "word", "zero"])
def test_file_that_is_no_draft_is_put_aside(tmp_path: Path, text: str) -> None:
    """A damaged file is neither read nor thrown away."""
    draft = Draft(tmp_path, "round")
    draft.path.write_text(text, encoding="utf-8")
    assert draft.load() == {}
    assert draft.path.with_suffix(".unreadable").read_text(encoding="utf-8") == text


def test_folder_in_the_way_is_refused(tmp_path: Path) -> None:
    """What cannot be kept is told at once, with the place."""
    (tmp_path / "state").write_text("a file in the way", encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        Draft(tmp_path / "state", "round").save({"a": 1})
    assert refused.value.code == "draft-not-kept"
    assert str(tmp_path) in refused.value.message


def test_failed_save_leaves_the_earlier_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk takes nothing away of what was kept before."""
    draft = Draft(tmp_path, "round")
    draft.save({"a": 1})

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(Refusal, match="No space left"):
        draft.save({"a": 2})
    assert draft.load() == {"a": 1}


def test_threads_save_one_after_the_other(tmp_path: Path) -> None:
    """Many threads saving at once leave a whole file, and no other."""
    draft = Draft(tmp_path, "round")
    threads = [threading.Thread(target=draft.save, args=({"n": [n] * 1000},)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(draft.load()["n"])) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["round.json"]


@pytest.mark.parametrize("name", ["../above", "report AE1/OIL", "æøå", "", "x" * 300])
def test_any_name_stays_in_its_folder(tmp_path: Path, name: str) -> None:
    """A job's code may hold anything; the file is still one of the folder."""
    draft = Draft(tmp_path, name)
    draft.save({"a": 1})
    assert draft.path.resolve().parent == tmp_path.resolve()
    assert draft.load() == {"a": 1}


def test_different_names_are_different_files(tmp_path: Path) -> None:
    """Names that look alike once made into file names are kept apart."""
    assert Draft(tmp_path, "a/b").path != Draft(tmp_path, "a b").path


def test_drafts_of_two_registers_are_apart(tmp_path: Path) -> None:
    """Each register has drafts of its own, however its file is named."""
    here = draft_for(str(tmp_path / "a.db"), "round").path
    assert here == draft_for(str(tmp_path / "x" / ".." / "a.db"), "round").path
    assert here != draft_for(str(tmp_path / "b.db"), "round").path
    assert here != draft_for(str(tmp_path / "a.db"), "report AE1-OIL").path


def test_drafts_lie_in_the_users_folder(tmp_path: Path) -> None:
    """Not beside the register, which others may share."""
    assert drafts_folder() == draft_for("postgresql+psycopg://host/register", "round").path.parent == tmp_path / "state"


class TestRound:
    """The draft of a round, shared by the command line and the screens."""

    def test_each_line_is_kept_at_once(self) -> None:
        """Another process would find every line and the time of the round."""
        draft = RoundDraft(SHIP)
        draft.at = AT - 60
        draft.put("ME-H", TypedValue("12090", AT))
        found = RoundDraft(SHIP)
        assert (found.typed, found.at) == ({"ME-H": TypedValue("12090", AT)}, AT - 60)

    def test_line_taken_back_is_forgotten(self) -> None:
        """Also on the disk."""
        draft = RoundDraft(SHIP)
        draft.put("ME-H", TypedValue("12090", AT))
        draft.take("ME-H")
        assert RoundDraft(SHIP).typed == {}

    def test_signed_lines_are_forgotten(self) -> None:
        """What was typed while they were being signed stays."""
        draft = RoundDraft(SHIP)
        draft.at = AT
        for code, value in (("A", "1"), ("B", "2")):
            draft.put(code, TypedValue(value, AT))
        signed = draft.lines(["A", "B"])
        draft.put("B", TypedValue("3", AT))
        draft.forget(signed)
        draft.keep()
        found = RoundDraft(SHIP)
        assert (found.typed, found.at) == ({"B": TypedValue("3", AT)}, AT)

    def test_nothing_left_leaves_no_file(self) -> None:
        """A round signed whole is gone with its time."""
        draft = RoundDraft(SHIP)
        draft.at = AT
        draft.put("A", TypedValue("1", AT))
        draft.forget(draft.lines(["A"]))
        assert draft.keep() == 0
        assert (draft.at, draft.path.exists()) == (None, False)

    def test_lines_to_record(self) -> None:
        """In walking order; counters that are not walked are left out."""
        draft = RoundDraft(SHIP)
        for code in ("B", "A", "GONE"):
            draft.put(code, TypedValue("1", AT))
        assert draft.lines(["A", "B", "C"]) == [RoundLine("A", "1", AT), RoundLine("B", "1", AT)]

    @pytest.mark.parametrize(
        ("typed", "place"),
        [pytest.param("", 0, id="nothing"), pytest.param("A", 1, id="first"), pytest.param("AC", 3, id="gap")],
    )
    def test_where_it_was_left(self, typed: str, place: int) -> None:
        """Behind the last line with a value."""
        draft = RoundDraft(SHIP)
        draft.typed = {code: TypedValue("1", AT) for code in typed}
        assert draft.where_left(["A", "B", "C"]) == place

    def test_request_id_names_the_content(self) -> None:
        """The same values are the same request, also after a restart; another value is another one."""
        draft = RoundDraft(SHIP)
        draft.put("ME-H", TypedValue("12090", AT))
        first = draft.request_id()
        assert RoundDraft(SHIP).request_id() == first
        draft.put("ME-H", TypedValue("12091", AT))
        assert draft.request_id() != first

    def test_request_id_does_not_wait_for_the_disk(self) -> None:
        """Asked for before the draft is kept, it is the one that is found after a kill; another round has another."""
        draft = RoundDraft(SHIP)
        draft.typed["ME-H"] = TypedValue("12090", AT)
        first = draft.request_id()
        draft.keep()
        assert RoundDraft(SHIP).request_id() == first
        other = RoundDraft("other.db")
        other.typed["ME-H"] = TypedValue("12090", AT)
        assert other.request_id() != first

    def test_request_id_names_the_round(self) -> None:
        """The same values in another round, after the first was struck, are not taken for the first."""
        draft = RoundDraft(SHIP)
        draft.put("ME-H", TypedValue("12090", AT))
        first = draft.request_id()
        draft.remove()
        draft.put("ME-H", TypedValue("12090", AT))
        assert draft.request_id() != first

    @pytest.mark.parametrize(
        "kept",
        [{"ME-H": ["12090", AT]}, {"round": "x", "at": None, "typed": {"ME-H": "12090"}}, {"typed": 7}],
        ids=["other-form", "no-instant", "no-lines"],
    )
    def test_draft_of_another_form_is_put_aside(self, kept: dict[str, object]) -> None:
        """It is not guessed at, and not thrown away."""
        path = RoundDraft(SHIP).path
        path.parent.mkdir(parents=True)
        path.write_text(json.dumps(kept), encoding="utf-8")
        assert RoundDraft(SHIP).typed == {}
        assert json.loads(path.with_suffix(".unreadable").read_text(encoding="utf-8")) == kept
