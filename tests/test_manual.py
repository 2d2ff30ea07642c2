"""The manual is short, and agrees with the program: commands, columns, states, intervals, exit codes, figures."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any

import click
import pytest
from manual_pages import PAGES, flowing, points

from pmsched.cli import main
from pmsched.cli.context import REGISTER_VARIABLE, SIGNER_VARIABLE
from pmsched.cli.export import WHAT
from pmsched.cli.names import COMMANDS
from pmsched.cli.shapes import due_shape, header_shape, receipt_shape
from pmsched.domain.aims import Doing, compile_rule
from pmsched.domain.because import Because, explain, left_text, sentence
from pmsched.domain.clocks import ShipClock
from pmsched.domain.counters import Count, Rate
from pmsched.domain.counts import SECONDS_PER_DAY, SECONDS_PER_HOUR, Meter, parse_count
from pmsched.domain.due import Settings, Standing, State
from pmsched.domain.errors import Refusal
from pmsched.domain.periods import Span, add_span
from pmsched.domain.readings import Point, judge
from pmsched.domain.written import parse_interval, parse_margins, read_rule
from pmsched.exchange.columns import INPUT_FILES, InputFile, Kind
from pmsched.exchange.kinds import KINDS
from pmsched.exchange.templates import comment_lines
from pmsched.store.book import Receipt
from pmsched.usecases.ask_due import DueRow, Header, _marks
from pmsched.usecases.report_work import CONDITIONS
from pmsched.usecases.standings import JobStanding

MOST_LINES, MOST_COLUMNS = 60, 78

H = SECONDS_PER_HOUR
Reader = Callable[[str], Any]


def indented_after(page: str, opening: str) -> list[str]:
    """The lines of the first indented block after the line that ends with ``opening``."""
    lines = page.split(f"{opening}\n\n", 1)[1].splitlines()
    block: list[str] = []
    for line in lines:
        if not line.startswith("    "):
            break
        block.append(line.strip())
    assert block, opening
    return block


def examples() -> list[Any]:
    """Every indented line that shows a command, with its page."""
    return [
        pytest.param(line.strip(), id=f"{topic}-{line.strip()}")
        for topic, text in PAGES.items()
        for line in text.splitlines()
        if line.startswith("    pmsched ")
    ]


# --- how a page looks -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("topic", PAGES)
def test_page_has_a_title_and_fits(topic: str) -> None:
    """A page is read in a minute on any terminal: plain text, no HTML, no characters that a terminal may lack."""
    text = PAGES[topic]
    lines = text.splitlines()
    assert re.match(r"# \S", lines[0])
    assert not lines[1]
    assert len(lines) <= MOST_LINES
    assert [line for line in lines if len(line) > MOST_COLUMNS or line != line.rstrip()] == []
    assert not re.search(r"</?[a-z]+>", text)
    assert text.isascii()
    assert text.endswith("\n")


def test_every_reference_leads_somewhere() -> None:
    """'pmsched help X' names a page or a command."""
    named = {(topic, name) for topic, text in PAGES.items() for name in re.findall(r"pmsched\s+help\s+([a-z-]+)", text)}
    assert {topic for topic, _ in named} >= {"due", "round", "start"}
    assert {(topic, name) for topic, name in named if name not in {*PAGES, *COMMANDS}} == set()


# --- commands -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("line", examples())
def test_example_is_a_command_that_can_be_typed(line: str) -> None:
    """Command, options and arguments are parsed as when typed; nothing is run."""
    command: click.Command = main.program
    context = click.Context(command)
    _, *arguments = shlex.split(line)
    while isinstance(command, click.Group):
        name, *arguments = arguments
        found = command.get_command(context, name)
        assert found is not None, name
        command = found
    command.make_context(command.name, arguments, parent=context)


def test_exit_codes_are_those_of_the_program() -> None:
    """Each is explained once, and no other."""
    codes = (main.OK, main.REFUSED, main.USAGE, main.PROBLEMS, main.UNUSABLE, main.FAULT, main.STOPPED, main.NOT_READ)
    assert list(points(PAGES["exit-codes"])) == [str(code) for code in codes]


@pytest.mark.parametrize(
    ("topic", "words"),
    [
        pytest.param("register", (REGISTER_VARIABLE, SIGNER_VARIABLE, "--register"), id="register-variables"),
        pytest.param("report", CONDITIONS, id="report-conditions"),
        pytest.param("export", [f"pmsched export {what} " for what in WHAT], id="export-lists"),
    ],
)
def test_words_of_the_program_stand_in_the_page(topic: str, words: list[str]) -> None:
    """What the program knows by name is named."""
    assert [word for word in words if word not in f"{flowing(PAGES[topic])} "] == []


# --- input files ----------------------------------------------------------------------------------------------------


def listed_columns() -> dict[str, list[str]]:
    """The columns that the page on files names, by file; needed ones with their star."""
    return {
        name.removesuffix(".csv"): said.split(", ")
        for name, said in points(PAGES["files"]).items()
        if name.endswith(".csv")
    }


def test_files_page_names_every_file_and_column_and_no_other() -> None:
    """In the order of the program, with a star where every row needs one."""
    assert listed_columns() == {
        file.stem: [f"{column.name}{'*' if column.required else ''}" for column in file.columns]
        for file in INPUT_FILES.values()
    }


@pytest.mark.parametrize("file", INPUT_FILES.values(), ids=lambda file: file.stem)
def test_every_column_is_explained_as_in_the_template(file: InputFile) -> None:
    """The sentences of the empty files, word for word, under the name of the file; no column that does not exist."""
    (part,) = (
        part
        for topic, text in PAGES.items()
        if topic.startswith("files-")
        for part in re.split(r"^(?=[a-z_]+\.csv:$)", text, flags=re.MULTILINE)
        if part.startswith(f"{file.stem}.csv:")
    )
    told = [flowing(point) for point in re.findall(r"^- (.*?)(?=\n- |\n\n|\Z)", part, re.MULTILINE | re.DOTALL)]
    explained = [line.removeprefix("# ") for line in comment_lines(file)][-len(file.columns) :]
    assert told[: len(explained)] == explained
    others = {re.split(r"[ :]", point)[0] for point in told[len(explained) :]}
    assert others <= {"from", "due"}  # what may be written in a column, not a column


def cells_told() -> list[Any]:
    """Each kind of column with the cells that its line on the page of cells quotes, before 'Not' and after it."""
    kinds = {
        frozenset(c.name for f in INPUT_FILES.values() for c in f.columns if c.kind == kind): kind for kind in KINDS
    }
    told = [(kinds[frozenset(names.split(", "))], said) for names, said in points(PAGES["files-cells"]).items()]
    return [
        pytest.param(kind, *(re.findall(r'"([^"]+)"', part) for part in said.partition(" Not ")[::2]), id=kind)
        for kind, said in told
    ]


@pytest.mark.parametrize(("kind", "good", "bad"), cells_told())
def test_cells_on_the_page_are_read_and_refused_as_it_says(kind: Kind, good: list[str], bad: list[str]) -> None:
    """What may be written is read, and what is named as wrong is refused."""

    def read(cell: str) -> Any:
        # A count is read with its meter, which stands in other columns.
        return parse_count(cell, Meter(reads="tenths")) if kind == "count" else KINDS[kind].read(cell)

    for cell in good:
        read(cell)
    for cell in bad:
        with pytest.raises(Refusal):
            read(cell)


# --- states, marks, shapes ------------------------------------------------------------------------------------------


def worked() -> tuple[Standing, Because]:
    """Case 5a: 4 000 h or 12 months, done 2025-01-15 at 20 000 h; 21 080 h on 2025-04-15, 12.0 h a day."""
    terms = compile_rule(read_rule("4000 h or 12 months"))
    use = Rate(1080 * H, 90 * SECONDS_PER_DAY, date(2025, 1, 15), date(2025, 4, 15))
    count = Count(21_080 * H, date(2025, 4, 15), use)
    doing = Doing(date(2025, 1, 15), {"h": 20_000 * H})
    return explain(terms, doing, {"h": count}, date(2025, 4, 15), Settings())


def test_every_state_is_explained_the_most_urgent_first() -> None:
    """By the word that people read."""
    words = [state.word for state in sorted(State, reverse=True)]
    assert [name for name in points(PAGES["states"]) if name in words] == words


def test_every_mark_is_explained() -> None:
    """A job unit that has every mark, and the page's list of marks."""
    standing = worked()[0]._replace(estimated=True, extended=True)
    counts = {"h": Count(0, date(2025, 4, 15), None, held=True)}
    terms = compile_rule(read_rule("4000 h"))
    marks = _marks(JobStanding(1, 1, "", True, True, standing, terms, None, counts), isolated=True)
    explained = {name.split(" (")[0] for name in points(PAGES["states"]) if " (" in name}
    assert explained == set(marks)


def due_row() -> DueRow:
    """A line of the due list."""
    standing, because = worked()
    return DueRow(
        "AE1-01", "", "Renew the oil", "AE1", "Engine 1", "engine", "3/E", False, standing.state.word, (),
        standing.due_on, standing.expected, left_text(standing, because), standing, because, sentence(because), "", "",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("opening", "shape"),
    [
        pytest.param(
            "header, in every list: ", header_shape(Header("", date(2025, 1, 1), 0, 1, "", None, None)), id="header"
        ),
        pytest.param("A line: job, ", due_shape(due_row()), id="due-line"),
        pytest.param("receipt, after every deed: ", receipt_shape(Receipt(1, 1, 1, "")), id="receipt"),
    ],
)
def test_json_names_are_those_printed(opening: str, shape: dict[str, Any]) -> None:
    """All of them, in their order, and no other."""
    text = flowing(PAGES["json"])
    kept = "job, " if opening.endswith("job, ") else ""
    named = f"{kept}{text.split(opening, 1)[1]}".split(".", 1)[0]
    assert named.split(", ") == list(shape)


# --- intervals and figures ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("opening", "read"),
    [
        pytest.param("You can write:", parse_interval, id="intervals"),
        pytest.param("You can write margins:", parse_margins, id="margins"),
    ],
)
def test_what_can_be_written_is_read(opening: str, read: Reader) -> None:
    """Nothing in the list is refused."""
    written = indented_after(PAGES["intervals"], opening)
    assert len(written) > 3
    for text in written:
        assert read(text), text


def test_what_is_refused_is_refused_with_what_to_write() -> None:
    """The program itself offers what the page says to write instead."""
    for line in indented_after(PAGES["intervals"], "Write instead:"):
        wrong, _, instead = (part.strip() for part in line.partition("->"))
        with pytest.raises(Refusal) as refused:
            parse_interval(wrong)
        assert instead in refused.value.hint, line
        assert parse_interval(instead)


def test_month_ends_are_those_of_a_grid() -> None:
    """Case 1: the month end does not slide."""
    (line,) = indented_after(PAGES["intervals"], "so it does not slide to the 28th:")
    first, *others = map(date.fromisoformat, line.split(", "))
    assert others == [add_span(first, Span(months=1), n) for n in range(1, len(others) + 1)]
    assert {day.day for day in others} == {28, 30, 31}


def test_the_sum_on_the_page_is_what_the_program_says() -> None:
    """The example of 'why' is case 5a, word for word, and its steps add up."""
    assert " ".join(indented_after(PAGES["why"], "last reading 21 080 h on 2025-04-15:")) == sentence(worked()[1])
    assert f"{float(Fraction(2920 * 90, 1080)):.1f} days" in PAGES["why"]


def test_the_held_reading_on_the_page_is_what_the_program_says() -> None:
    """The example of a held reading is case 12, word for word."""
    week = 7 * SECONDS_PER_DAY
    candidate, before = Point(week, 31_430 * H), Point(0, 31_204 * H)
    judgement = judge(candidate, before, None, Meter(), 31_430 * H, clock=ShipClock())
    shown = indented_after(PAGES["readings"], "What is shown with a held reading:")[1:]
    assert shown == [judgement.message, *(suggestion.text for suggestion in judgement.suggestions)]
