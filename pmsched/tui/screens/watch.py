"""Watch: what must I do before my watch ends?"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType

from pmsched.domain.periods import add_span
from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.screens.base import HouseScreen
from pmsched.tui.watch_paper import open_text, sections, watch_paper
from pmsched.tui.widgets.detail import Detail
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import LEFT_WIDTH, LOOKS, NOTHING_FITS, explained, need, short_state, when

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal
    from pmsched.domain.reasons import CalendarReason, CountReason
    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_due import DueRow
    from pmsched.usecases.ask_open import OpenLine
    from pmsched.usecases.ask_watch import Watch

NARROW = (
    Column("state", 10), Column("machine", 17), Column("job", 27), Column("left / date", LEFT_WIDTH), Column("need", 4),
)  # fmt: skip
_WIDE_FROM = 100
_WIDE_LEFT = 23
_NOT_TICKED = "Critical and class jobs, and jobs on an isolated machine, are reported one by one."
_REACHES = ("watch", "week", "all")


class WatchScreen(HouseScreen):
    """The duty engineer's list, in bands, with the reason and the cautions of the chosen line below it."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("watch")]
    path = "Watch"
    places = ("everywhere", "lists", "watch")
    pages = ("watch", "due", "states", "report", "settle", "safety", "screens")
    about = """\
This list answers: what must I do before my watch ends?
First what is overdue, then what is due today, then what falls due before the
watch ends; then what must not be started, and what is open now.
x looks further: the week, then everything. a shows all departments.
Below the list: why the chosen job is due then, and its cautions.
Enter opens the job. d reports it done. Space ticks a routine test; b reports
all ticked ones. Critical and class jobs, and isolated machines: one by one.
i: the machine must not be started, or is back in use. h settles held readings.
/ narrows the list. A date with ~ is expected from use; one without is fixed."""

    def __init__(self) -> None:
        super().__init__()
        self.reach = "watch"
        self.every_department = False
        self.ticked: set[str] = set()
        self._watch: Watch | None = None
        self._rows: dict[str, DueRow] = {}

    def body(self) -> ComposeResult:
        """The list, and below it what is said of the chosen line."""
        yield Lines(NARROW, id="due")
        yield Detail()

    def load(self) -> None:
        """Ask for the watch."""
        department = None if self.every_department else self.house.department or None
        self.ask("watch", lambda: self.house.gateway.watch(self.reach, department), self.show, refused=self.failed)

    def show(self, watch: Watch) -> None:
        """Show what was answered."""
        self._watch = watch
        self.house.know(watch.header.site, watch.header.offset_minutes, watch.oldest_days)
        self.show_top()
        self._rows = {_key(row): row for band in watch.bands for row in band.rows}
        self.ticked &= self._rows.keys()
        self.fill()

    def failed(self, refusal: Refusal) -> None:
        """The question was refused; nothing old is left standing."""
        self._watch, self._rows = None, {}
        self.query_one("#due", Lines).show([])
        super().failed(refusal)

    def fill(self) -> None:
        """Lay the bands out."""
        if self._watch is None:
            return
        wide = self.size.width >= _WIDE_FROM
        lines: list[Line] = []
        count = 0
        for section in sections(self._watch, self.words):
            count += len(section.rows)
            lines.append(Line(f"band {section.name}", (section.title,), band=True))
            lines += [self._line(row, wide=wide) for row in section.rows]
            lines += [_open_line(one, wide=wide) for one in section.opened]
        self.query_one("#due", Lines).show(lines, _columns(wide=wide, width=self.size.width))
        self.say(self._summary(self._watch, count) if lines or not self.words else NOTHING_FITS)

    def _line(self, row: DueRow, *, wide: bool) -> Line:
        key = _key(row)
        state = ("*" if key in self.ticked else "") + short_state(row.state)
        title = f"{'CRIT ' if row.critical and not wide else ''}{row.title}{' ' + row.unit if row.unit else ''}"
        left = when(row, _WIDE_LEFT if wide else LEFT_WIDTH)
        cells = [state, f"{row.machine} {row.machine_name}", title, left, need(row)]
        if wide:
            cells += [life_bar(row), ", ".join(row.marks)]
        return Line(key, tuple(cells), LOOKS.get(row.state, "quiet"))

    def _summary(self, watch: Watch, count: int) -> str:
        reach = {
            "watch": f"until {watch.ends_on:%a} {watch.ends_at:%H:%M}",
            "week": "for seven days",
            "all": "in all",
        }
        if not watch.looked_at:
            return "First load machines and jobs: pmsched load (see: pmsched help files)"
        parts = [f"{count} job{'s' * (count != 1)} {reach[self.reach]}, {self._who()}"]
        if watch.held:
            parts.append(f"{watch.held} reading{'s' * (watch.held > 1)} held: press h")
        if self.ticked:
            parts.append(f"{len(self.ticked)} ticked: press b")
        if not count:
            more = "x looks further" if self.reach != "all" else "a shows all departments"
            parts.append(f"nothing to do here; {more}")
        return " | ".join(parts)

    def _who(self) -> str:
        return "all departments" if self.every_department or not self.house.department else self.house.department

    @on(Lines.Chosen, "#due")
    def _explain(self, event: Lines.Chosen) -> None:
        row = event.line and self._rows.get(event.line.key)
        opened = self._opened_at(event.line.key) if event.line else None
        text = explained(row) if row else open_text(opened) if opened else ""
        self.query_one(Detail).tell(text)

    @on(Lines.Opened, "#due")
    def _open(self, event: Lines.Opened) -> None:
        kind, _, code = event.line.key.partition("/")
        opened = self._opened_at(event.line.key)
        if event.line.key in self._rows:
            flows.open_job(self.house, self._rows[event.line.key].job)
        elif opened is not None and opened.not_to_start:
            self._give_back(opened)
        elif kind == "held":
            flows.settle(self.house)
        else:
            flows.open_job(self.house, code)

    def ready(self, action: str) -> bool:
        """Whether an action can do something now."""
        chosen = self._chosen()
        known = {
            "report": chosen is not None,
            "tick": chosen is not None and _may_be_ticked(chosen),
            "report-ticked": bool(self.ticked),
            "settle": bool(self._watch and self._watch.held),
        }
        return known.get(action, True)

    def paper(self) -> Paper | None:
        """The list shown, complete, each job with its reason and its cautions."""
        if self._watch is None:
            return None
        return watch_paper(self._watch, self.words, self.reach, self._who())

    def action_widen(self) -> None:
        """Watch, week, everything, and round again."""
        self.reach = _REACHES[(_REACHES.index(self.reach) + 1) % len(_REACHES)]
        self.load()

    def action_departments(self) -> None:
        """Own department, or all."""
        self.every_department = not self.every_department
        self.load()

    def action_report(self) -> None:
        """Report the chosen job done."""
        if row := self._chosen():
            flows.report_job(self.house, row)
        else:
            self.app.notify("Choose a job first.", markup=False)

    def action_tick(self) -> None:
        """Tick a routine test, or take the tick back."""
        if row := self._chosen():
            if not _may_be_ticked(row):
                self.app.notify(_NOT_TICKED, markup=False)
                return
            self.ticked ^= {_key(row)}
            self.fill()
            self.query_one("#due", Lines).action_move(1)

    def action_report_ticked(self) -> None:
        """Report every ticked test done."""
        if rows := [row for key, row in self._rows.items() if key in self.ticked]:
            flows.report_ticked(self.house, rows, self.untick)
        else:
            self.app.notify("Nothing is ticked. Space ticks a routine test.", markup=False)

    def untick(self, jobs: set[str]) -> None:
        """These jobs were reported."""
        self.ticked = {key for key in self.ticked if key not in self._rows or self._rows[key].job not in jobs}
        self.fill()

    def action_isolate(self) -> None:
        """The machine of the chosen line must not be started; or, where it is isolated, it is back in use."""
        line = self.query_one("#due", Lines).chosen
        opened = self._opened_at(line.key) if line else None
        if opened is not None and opened.not_to_start:
            self._give_back(opened)
        elif row := self._chosen():
            flows.isolate(self.house, row.machine, f"{row.machine} {row.machine_name}")
        else:
            self.app.notify("Choose a job of the machine first, or open the machine's card (m).", markup=False)

    def _give_back(self, one: OpenLine) -> None:
        flows.end_isolation(self.house, one.code, one.machine, one.number, f"{one.kind} since {one.since}: {one.said}")

    def _opened_at(self, key: str) -> OpenLine | None:
        every = self._watch.open if self._watch else ()
        return next((one for one in every if _open_key(one) == key), None)

    def action_settle(self) -> None:
        """Settle held readings."""
        flows.settle(self.house)

    def _chosen(self) -> DueRow | None:
        line = self.query_one("#due", Lines).chosen
        return line and self._rows.get(line.key)


def _may_be_ticked(row: DueRow) -> bool:
    """Critical and class jobs are reported one by one, and so is a test of a machine that must not be started."""
    return not row.critical and not {"class", "isolated"} & set(row.marks)


def _open_key(one: OpenLine) -> str:
    names = {"held": f"/{one.since}", "partly": ""}
    return f"{one.kind}/{one.code}{names.get(one.kind, f'/{one.number}')}"


def _open_line(one: OpenLine, *, wide: bool) -> Line:
    word = "no start" if one.kind == "not to be started" else one.kind
    cells = [word, one.machine, one.said, f"since {one.since:%m-%d}", ""]
    return Line(_open_key(one), tuple([*cells, "", ""] if wide else cells), "overdue" if one.not_to_start else "held")


def life_bar(row: DueRow, width: int = 10) -> str:
    """How much of the interval of the governing limb is used, as a bar of ten: '######----', '##########>'."""
    if not 0 <= row.standing.governing < len(row.because.limbs):
        return ""
    used, whole = _used(row.because.limbs[row.standing.governing])
    if not whole:
        return ""
    filled = max(0, min(width, used * width // whole))
    return "#" * filled + "-" * (width - filled) + ">" * (used > whole)


def _used(limb: CalendarReason | CountReason) -> tuple[int, int]:
    """How much of the interval is used, and how long it is; (0, 0) where that is not known."""
    if limb.kind == "count":
        return (limb.interval - limb.left, limb.interval) if limb.left is not None else (0, 0)
    whole = (limb.aim - add_span(limb.aim, limb.interval, -1)).days
    return whole - (limb.aim - limb.today).days, whole


def _columns(*, wide: bool, width: int) -> tuple[Column, ...]:
    if not wide:
        return NARROW
    room = width - 115
    return (
        Column("state", 11), Column("machine", 19), Column("job", 27 + max(0, room)), Column("left / date", _WIDE_LEFT),
        Column("need", 4), Column("life", 11), Column("marks", 12),
    )  # fmt: skip


def _key(row: DueRow) -> str:
    return f"{row.job}/{row.unit}"
