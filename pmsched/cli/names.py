"""The commands by name: where each one lies, and its line in the program's help. Nothing is imported for the table."""

from __future__ import annotations

from typing import NamedTuple


class Entry(NamedTuple):
    """Where a command lies ("module:attribute"), and what it does in a few words."""

    place: str
    short: str


COMMANDS: dict[str, Entry] = {
    "due": Entry("pmsched.cli.due:due", "What falls due, most urgent first."),
    "why": Entry("pmsched.cli.why:why", "Why a job falls due then, with the arithmetic."),
    "round": Entry("pmsched.cli.round:round_", "Record the meters read on a walk."),
    "settle": Entry("pmsched.cli.settle:settle", "List and settle readings that are held."),
    "report": Entry("pmsched.cli.report:report", "Report work done."),
    "correct": Entry("pmsched.cli.correct:correct", "Correct or strike a reading or a report."),
    "attach": Entry("pmsched.cli.attach:attach", "Photos and files with a report."),
    "isolate": Entry("pmsched.cli.isolate:isolate", "Machines that must not be started, and why."),
    "machines": Entry("pmsched.cli.machines:machines", "The machines, and one machine's card."),
    "history": Entry("pmsched.cli.history:history", "What was done, with every correction."),
    "export": Entry("pmsched.cli.export:export", "Write a list to a file: CSV, spreadsheet or JSON lines."),
    "people": Entry("pmsched.cli.people:people", "The people on the books."),
    "clock": Entry("pmsched.cli.clock:clock", "Record a change of the ship's clock."),
    "load": Entry("pmsched.cli.load:load", "Bring in machines, jobs, people and readings from CSV files."),
    "init": Entry("pmsched.cli.init:init", "Set up a register and bring your machinery in."),
    "verify": Entry("pmsched.cli.verify:verify", "Check the register against its seals."),
    "backup": Entry("pmsched.cli.backup:backup", "Copy the register to a file."),
    "restore": Entry("pmsched.cli.backup:restore", "Go on from a back-up."),
    "demo": Entry("pmsched.cli.demo:demo", "Make a register of an invented vessel to try things on."),
    "completion": Entry("pmsched.cli.completion:completion", "Let your shell complete what you type."),
    "help": Entry("pmsched.cli.help:help_", "Explain a topic or a command."),
}
