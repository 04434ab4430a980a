"""A test leaves the notebook as files that `judge` reads, and comes in from such files."""

from __future__ import annotations

import hashlib
import io
import tomllib
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from ballbench.errors import BadRequest, Fault, NotFound
from ballbench.records.ball_test import BallTest
from ballbench.records.reading_key import CORRECTION_COLUMNS
from ballbench.records.tables_out import csv_text, workbook_bytes
from ballbench.store import Notebook, Tx
from ballbench.store.ball_tests import ball_test_of, written_of
from ballbench.store.holdings import holdings_of
from ballbench.workflows.blind import refuse_while_hidden
from ballbench.workflows.exported_tables import (
    BALL_COLUMNS,
    CHECK_COLUMNS,
    READING_COLUMNS,
    bench_text,
    first_line,
    tables_of,
)
from ballbench.workflows.recording_list import (
    MARKS,
    PICKS,
    RECORDING_COLUMNS,
    RECORDINGS,
    SUMS,
    marks_text,
    packed_recordings,
    picks_text,
    recording_rows,
)
from ballbench.workflows.stated_file import STATED, stated_text

__all__ = ["FILES", "INVENTED", "ExportedTest", "export_file", "export_tables", "export_test", "offered_files"]

FILES = (
    "readings.csv", "readings.xlsx", "corrections.csv", "balls.csv", "checks.csv", "bench.toml", "requirement.toml",
    STATED, RECORDINGS, PICKS, MARKS, "everything.zip",
)  # fmt: skip

INVENTED = "Invented data: nothing was measured."
"""The line above the header of the readings of a test whose data are invented."""


@dataclass(frozen=True, slots=True)
class ExportedTest:
    """Files of a test; None: the test has nothing for it.

    Parameters
    ----------
    readings, requirement : Path
        Always written.
    corrections, bench, balls : Path or None
        Where there is something to say.
    """

    readings: Path
    requirement: Path
    corrections: Path | None
    bench: Path | None
    balls: Path | None


def export_test(notebook: Notebook, test_id: int, folder: Path) -> ExportedTest:
    """Write the files of a test into a folder.

    Raises
    ------
    NotFound
        There is no such test.
    BadRequest
        It has no reading yet.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        texts = _texts_of(tx, test)
    if texts["readings.csv"].count("\n") < first_line(test):
        raise BadRequest(Fault(f"test {test_id}", "no reading", "a test with readings", "measure first"))
    made = _written(texts, folder)
    return ExportedTest(
        made["readings.csv"], made["requirement.toml"], made.get("corrections.csv"), made.get("bench.toml"),
        made.get("balls.csv"),
    )  # fmt: skip


def export_tables(notebook: Notebook, test_id: int, folder: Path) -> dict[str, Path]:
    """Write the files of a test that have something to say, also where only reference pieces were read, by name.

    Raises
    ------
    NotFound
        There is no such test.
    """
    with notebook.read() as tx:
        return _written(_texts_of(tx, ball_test_of(tx, test_id)), folder)


def _written(texts: Mapping[str, str], folder: Path) -> dict[str, Path]:
    made = {name: folder / name for name, text in texts.items() if text}
    for name, path in made.items():
        path.write_text(texts[name], encoding="utf-8", newline="")
    return made


def export_file(notebook: Notebook, test_id: int, name: str) -> bytes:
    """Give one file of a test.

    Parameters
    ----------
    name : str
        One of `FILES`.

    Raises
    ------
    NotFound
        There is no such test or file, or it would have nothing to say.
    Conflict
        The test is blind and under way: its files name the makes.
    """
    with notebook.read() as tx:
        test = ball_test_of(tx, test_id)
        refuse_while_hidden(test)
        offered = offered_files(tx, test)
        if name not in offered:
            todo = "choose one of them" if offered else "measure first"
            raise NotFound(Fault("file", ascii(name[:80]), ", ".join(offered) or "a test with readings", todo))
        texts = _texts_of(tx, test)
        if name == "readings.xlsx":
            rows = tables_of(tx, test).readings
            return workbook_bytes("readings", READING_COLUMNS, rows, ("value", "repeat"), _above(test.invented))
    if name == "everything.zip":
        return _zipped({name: text for name, text in texts.items() if text}, packed_recordings(notebook, test_id))
    return texts[name].encode("utf-8")


def offered_files(tx: Tx, test: BallTest) -> tuple[str, ...]:
    """Give the names of the files that have something to say, without writing any; none before the first reading."""
    holds, written = holdings_of(tx, test.id), written_of(tx, test.id)
    if not holds.readings and not (test.purpose and holds.checks):
        return ()
    says = {
        "readings.csv": holds.readings, "readings.xlsx": holds.readings, "everything.zip": True,
        "corrections.csv": holds.amendments, "balls.csv": holds.balls, "checks.csv": holds.checks,
        "bench.toml": bool(_bench(tx, test)), "requirement.toml": bool(written.requirement_text), STATED: True,
        RECORDINGS: holds.recordings, PICKS: holds.picks, MARKS: holds.marks,
    }  # fmt: skip
    return tuple(name for name in FILES if says[name])


def _texts_of(tx: Tx, test: BallTest) -> dict[str, str]:
    """Give every text file of a test by its name; empty where it has nothing to say."""
    requirement = str(written_of(tx, test.id).requirement_text)
    tables, recorded = tables_of(tx, test), recording_rows(tx, test)
    return {
        "readings.csv": csv_text(READING_COLUMNS, tables.readings, _above(test.invented)) if tables.readings else "",
        "corrections.csv": csv_text(CORRECTION_COLUMNS, tables.corrections) if tables.corrections else "",
        "balls.csv": csv_text(BALL_COLUMNS, tables.balls) if tables.balls else "",
        "checks.csv": csv_text(CHECK_COLUMNS, tables.checks) if tables.checks else "",
        "bench.toml": _bench(tx, test),
        "requirement.toml": requirement,
        STATED: stated_text(tx, test),
        RECORDINGS: csv_text(RECORDING_COLUMNS, recorded) if recorded else "",
        PICKS: picks_text(tx, test.id),
        MARKS: marks_text(tx, test.id),
    }


def _bench(tx: Tx, test: BallTest) -> str:
    return bench_text(tx, test, _reference_c(str(written_of(tx, test.id).bench_text)))


def _above(invented: bool) -> str:
    return INVENTED if invented else ""


def _reference_c(bench: str) -> float | None:
    """Give the temperature at which the requirement holds, from the conditions of a set-up."""
    temperature = tomllib.loads(bench).get("conditions", {}).get("temperature")
    return None if temperature is None else float(temperature["reference"])


def _zipped(texts: Mapping[str, str], recordings: Mapping[str, bytes]) -> bytes:
    """Put files into one archive, with their checksums; the same test gives the same bytes."""
    files = {**{name: text.encode("utf-8") for name, text in texts.items()}, **recordings}
    sums = "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files.items()))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in [*files.items(), (SUMS, sums.encode())]:
            how = zipfile.ZIP_STORED if name in recordings else zipfile.ZIP_DEFLATED
            archive.writestr(zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0)), data, how)
    return out.getvalue()
