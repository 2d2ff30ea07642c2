"""Exports as files or streams: which format a name means, and the list written whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO, Literal, get_args

from pmsched.domain.errors import Refusal
from pmsched.exchange.csv_out import write_csv_export
from pmsched.exchange.exports import Export
from pmsched.exchange.jsonl_out import write_jsonl_export
from pmsched.exchange.whole_files import whole_file

Format = Literal["csv", "xlsx", "jsonl"]
FORMATS: tuple[Format, ...] = get_args(Format)
_ENDINGS = ", ".join(f".{one}" for one in FORMATS[:-1]) + f" or .{FORMATS[-1]}"


def format_of(name: str, wanted: str | None = None) -> Format:
    """The format that the ending of a file's name means, or the one wanted.

    Raises:
        Refusal: the ending means none and none is wanted (``format-unknown``), or it means another than the one wanted
            (``format-contradicts``).
    """
    ending = Path(name).suffix.lower().removeprefix(".")
    meant = next((one for one in FORMATS if one == ending), None)
    chosen = next((one for one in FORMATS if one == wanted), None)
    if meant is not None and chosen is not None and meant != chosen:
        raise Refusal(
            "format-contradicts",
            f"'{name}' ends as a {meant} file, and {chosen} is asked for.",
            f"End the name in .{chosen}, or leave the format out.",
        )
    found = chosen or meant
    if found is None:
        raise Refusal("format-unknown", f"'{name}' does not say which format.", f"End the name in {_ENDINGS}.")
    return found


def write_export_file(
    path: Path, export: Export, wanted: Format, *, overwrite: bool = False, bare: bool = False
) -> None:
    """Writes the file, whole or not at all; CSV as UTF-8 with its mark, for spreadsheets.

    Args:
        path: where to.
        export: what.
        wanted: the format.
        overwrite: replace a file that is there.
        bare: CSV without its header.

    Raises:
        Refusal: a file is there and is not to be overwritten, or the place cannot be written to.
    """
    with whole_file(path, overwrite=overwrite) as stream:
        # What is put together on the way lies where there must be room for the file anyway.
        beside = path.resolve().parent if path.is_file() or not path.exists() else None
        if wanted == "csv":
            write_csv_export(stream, export, bare=bare, byte_order_mark=True, beside=beside)
        elif wanted == "xlsx":
            from pmsched.exchange.xlsx_out import write_xlsx_export  # noqa: PLC0415 - for this format only

            write_xlsx_export(stream, export, beside=beside)
        else:
            write_jsonl_export(stream, export)


def write_export_stream(stream: BinaryIO, export: Export, wanted: Format, *, bare: bool = False) -> None:
    """Writes to a stream that only goes forward.

    Raises:
        Refusal: the format is one of files only.
        OSError: as the stream does.
    """
    check_streamable(wanted)
    if wanted == "csv":
        write_csv_export(stream, export, bare=bare)
    else:
        write_jsonl_export(stream, export)


def check_streamable(wanted: Format) -> None:
    """Refuse a format that needs a file. Raises Refusal ``needs-a-file``."""
    if wanted == "xlsx":
        raise Refusal(
            "needs-a-file",
            "A spreadsheet file cannot go to standard output.",
            "Name a file, such as -o list.xlsx, or choose --format csv or --format jsonl.",
        )
