"""Everything a person can do on the screens, written once: it feeds the bindings, the palette, the help and the manual.

Keys are tried in order; where the first is a function key or a chord, a plain key is its twin. Every action can be put on
another key by its id.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from textual.binding import Binding


class Action(NamedTuple):
    """One thing that can be done.

    Attributes:
        id: stable name, by which the key can be changed.
        keys: the keys, first the one shown.
        does: textual's action string.
        title: two or three words, for footer and palette.
        help: one sentence, for help and manual.
        where: the screen it belongs to, or "everywhere" or "lists".
        in_footer: whether the footer shows it.
        shown_key: how the footer writes the key.
        first: taken before the field in focus gets the key, so that what is typed ahead goes to the next field.
    """

    id: str
    keys: tuple[str, ...]
    does: str
    title: str
    help: str
    where: str = "everywhere"
    in_footer: bool = False
    shown_key: str = ""
    first: bool = False


ACTIONS: tuple[Action, ...] = (
    Action("help", ("f1", "question_mark"), "help", "Help", "Explain this screen and list its keys.", in_footer=True, shown_key="?"),
    Action("watch", ("f2", "w"), "mode('watch')", "Watch", "What must be done before the watch ends.", shown_key="w"),
    Action("round", ("f3", "r"), "mode('round')", "Round", "Enter the readings of a round.", shown_key="r"),
    Action("machinery", ("f4", "m"), "mode('machinery')", "Machinery", "Find a machine and open its card.", shown_key="m"),
    Action("records", ("f5", "c"), "mode('records')", "Records", "Search and export what was done.", shown_key="c"),
    Action("signer", ("f6", "s"), "signer", "Who signs", "Choose who signs from now on.", shown_key="s"),
    Action("palette", ("ctrl+p", "colon"), "command_palette", "All actions", "Find any action by its name.", shown_key=":"),
    Action("theme", ("f7", "t"), "next_theme", "Next theme", "Dark, light, red-lit room, high contrast.", shown_key="t"),
    Action("refresh", ("f8", "u"), "reload", "Update", "Read the register again.", shown_key="u"),
    Action("back", ("escape", "backspace"), "back", "Back", "Go back; what was typed is kept.", in_footer=True, shown_key="Esc"),
    Action("quit", ("ctrl+q", "q"), "leave", "Leave", "Leave pmsched; what was typed is kept.", in_footer=True, shown_key="q"),
    Action("filter", ("slash",), "filter", "Filter", "Type to narrow the list.", "lists", in_footer=True, shown_key="/"),
    Action("keep-filter", ("enter",), "to_list(True)", "To the list", "Keep the filter; to the first line that fits.", "filter", in_footer=True, shown_key="Enter"),
    Action("to-list", ("down", "up", "pagedown", "pageup"), "to_list(False)", "To the list", "Keep the filter; to the first line that fits.", "filter", shown_key="Down"),
    Action("clear-filter", ("escape",), "screen.back", "Clear", "Clear the filter; every line is shown again.", "filter", in_footer=True, shown_key="Esc"),
    Action("sort", ("o",), "sort", "Order", "Order the list by the next column.", "lists", shown_key="o"),
    Action("print", ("f9", "p"), "print_page", "Print page", "Write this list as a page of text.", "lists", shown_key="p"),
    Action("widen", ("x",), "widen", "Wider", "Watch, then the week, then everything.", "watch", in_footer=True, shown_key="x"),
    Action("departments", ("a",), "departments", "Departments", "Own department, or all.", "watch", shown_key="a"),
    Action("report", ("d",), "report", "Done", "Report the chosen job done.", "watch", in_footer=True, shown_key="d"),
    Action("tick", ("space",), "tick", "Tick", "Tick a routine test to report several at once.", "watch", shown_key="Space"),
    Action("report-ticked", ("b",), "report_ticked", "Report ticked", "Report all ticked tests done.", "watch", shown_key="b"),
    Action("settle", ("h",), "settle", "Settle", "Settle readings that are held.", "watch", shown_key="h"),
    Action("isolate", ("i",), "isolate", "Isolate", "The machine must not be started; where it is isolated: back in use.", "watch", in_footer=True, shown_key="i"),
    Action("undo-line", ("ctrl+z", "minus"), "undo_line", "Undo line", "Take back what was typed in this line.", "round", in_footer=True, shown_key="-"),
    Action("sign-round", ("ctrl+s", "f10", "e"), "sign_round", "End, sign", "End the round: see what it moves, then sign it as one entry.", "round", in_footer=True, shown_key="e"),
    Action("take-suggestion", ("equals_sign",), "take_suggestion", "Take it", "Take the value that was probably meant; again: the next one, or back.", "round", in_footer=True, shown_key="="),
    Action("read-at", ("i",), "read_at", "Read at", "Say when the round was walked, if it was not now.", "round", in_footer=True, shown_key="i"),
    Action("afresh", ("n",), "afresh", "Start afresh", "Throw away what was typed and not signed.", "round", shown_key="n"),
    Action("settle-round", ("h",), "settle", "Settle", "Settle readings that are held.", "round", shown_key="h"),
    Action("throw-away", ("y",), "throw_away", "Throw away", "Throw away what was typed and not signed.", "afresh", shown_key="y"),
    Action("known-on", ("k",), "known_on", "Known on", "Show what was known on a past day.", "records", in_footer=True, shown_key="k"),
    Action("export", ("e",), "export", "Export", "Write what is shown to a file.", "records", in_footer=True, shown_key="e"),
    Action("correct", ("v",), "correct", "Correct", "Correct or strike the chosen report or reading.", "records", in_footer=True, shown_key="v"),
    Action("attach", ("a",), "attach", "Attach", "Attach photos or files to the chosen report.", "records", shown_key="a"),
    Action("other-list", ("l",), "other_list", "Due list", "From the history to the due list as known then, and back.", "records", shown_key="l"),
    Action("card-report", ("d",), "report", "Done", "Report the chosen job done.", "machine", in_footer=True, shown_key="d"),
    Action("card-readings", ("r",), "readings", "Readings", "List the readings of a counter, corrections showing.", "machine", in_footer=True, shown_key="r"),
    Action("card-isolate", ("i",), "isolate", "Isolate", "The machine must not be started; on an isolation: back in use.", "machine", in_footer=True, shown_key="i"),
    Action("correct-reading", ("v",), "correct", "Correct", "Correct or strike the chosen reading.", "readings", in_footer=True, shown_key="v"),
    Action("job-report", ("d",), "report", "Done", "Report this job done; on the line of a unit, that unit.", "job", in_footer=True, shown_key="d"),
    Action("untick", ("space",), "untick", "Untick", "Take a job out, or put it back.", "ticked", shown_key="Space"),
    Action("submit", ("ctrl+s", "full_stop", "f10"), "submit", "Finish", "Finish the form; one that signs is signed and kept.", "forms", shown_key="^s"),
    Action("enter-field", ("enter",), "enter_field", "Next field", "To the next field; on the last line: finish.", "forms", shown_key="Enter", first=True),
    Action("leave-form", ("escape",), "back", "Back", "Leave the form; what was typed is kept.", "forms", shown_key="Esc"),
    Action("field-down", ("down",), "next_field(1)", "Next field", "To the next field.", "forms", shown_key="down"),
    Action("field-up", ("up",), "next_field(-1)", "Field before", "To the field before.", "forms", shown_key="up"),
    Action("down", ("down",), "move(1)", "Down", "To the next line.", "moves", shown_key="down"),
    Action("up", ("up",), "move(-1)", "Up", "To the line before.", "moves", shown_key="up"),
    Action("page-down", ("pagedown", "ctrl+f"), "page(1)", "Page down", "Down by a screen.", "moves", shown_key="PgDn"),
    Action("page-up", ("pageup", "ctrl+b"), "page(-1)", "Page up", "Up by a screen.", "moves", shown_key="PgUp"),
    Action("first", ("home", "g"), "go(0)", "First", "To the first line.", "moves", shown_key="Home"),
    Action("last", ("end", "G"), "go(-1)", "Last", "To the last line.", "moves", shown_key="End"),
    Action("open", ("enter",), "open", "Open", "Open the chosen line.", "moves", in_footer=True, shown_key="Enter"),
)  # fmt: skip

BY_ID = {action.id: action for action in ACTIONS}


def actions_of(*where: str) -> tuple[Action, ...]:
    """The actions of these places, in the order of the registry."""
    return tuple(action for action in ACTIONS if action.where in where)


def bindings_of(*where: str) -> list[Binding]:
    """Bindings for a screen, each with the id of its action."""
    return list(_bindings(actions_of(*where)))


def bindings_named(*ids: str) -> list[Binding]:
    """Bindings of these actions, whatever place they belong to."""
    return list(_bindings(BY_ID[name] for name in ids))


def _bindings(actions: Iterable[Action]) -> Iterable[Binding]:
    for action in actions:
        yield Binding(
            ",".join(action.keys), action.does, action.title, show=action.in_footer, key_display=action.shown_key,
            tooltip=action.help, id=action.id, priority=action.first,
        )  # fmt: skip
