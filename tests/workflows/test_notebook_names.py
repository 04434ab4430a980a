from __future__ import annotations

import csv
import io
import tempfile
from dataclasses import dataclass
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_evening import files_of, taken
from made_tests import new_test, places, put, sent

from ballbench.records import amend, read_balls, read_bench, read_corrections, read_readings
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import BeginSitting, Finish, Spoil
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.exchange import export_file
from ballbench.workflows.measure import spoil
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan
from ballbench.workflows.sittings import begin, finish

LEADS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""What a spreadsheet takes for the beginning of a formula (OWASP, "CSV Injection", from memory)."""

LETTERS = st.text("Ab1 ='+-@,;\"\\.#[]/()éßλ№日🎾", min_size=1, max_size=9)
PRINTED = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs", "Cc", "Cf", "Cn", "Co", "Zl", "Zp", "Zs")),
    min_size=1,
    max_size=9,
)
FORMULAS = st.sampled_from(
    ('=HYPERLINK("http://x";"y")', "@SUM(A1:A9)", "+1", "-1+1|cmd", "'=1", "''@x", "O'Neil", "n/a", "yes")
)
NAMES = (LETTERS | PRINTED | FORMULAS).map(str.strip).filter(bool)
TEXTS = st.sampled_from(("40", "40.2", "40.25", "40.250", "1.58 in", "4.025 cm"))
QUIET = settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))


def plain(name: str) -> str:
    """What names are told apart by."""
    return " ".join(name.replace("_", " ").split()).casefold()


@dataclass(frozen=True)
class Named:
    """Names as people write them, and readings as they are typed."""

    make: str
    box: str
    balls: list[str]
    axes: list[str]
    instrument: str
    sitting: str
    person: str
    reason: str
    texts: list[str]


NAMED = st.builds(
    Named,
    make=NAMES, box=NAMES, balls=st.lists(NAMES, min_size=2, max_size=2, unique_by=plain),
    axes=st.lists(NAMES, min_size=1, max_size=2, unique_by=plain), instrument=NAMES, sitting=NAMES, person=NAMES,
    reason=NAMES, texts=st.lists(TEXTS, min_size=4, max_size=4),
)  # fmt: skip


def measured(notebook: Notebook, named: Named) -> int:
    """Set up and read two balls of one box under such names; one reading is corrected, one attempt spoiled."""
    test = new_test(
        notebook, makes=(MakePlan(named.make, (BoxPlan(named.box, 2, tuple(named.balls)),)),), references=(),
        instruments=(InstrumentPlan(named.instrument, "diameter", "mm", 0.001, 0.123, 9.0),),
        quantities=(QuantityPlan("diameter", tuple(named.axes), 1, named.instrument),),
    ).id  # fmt: skip
    begin(notebook, test, BeginSitting(**sent(label=named.sitting)))
    read = places(notebook, test, "diameter")
    for place, text in zip(read, named.texts, strict=False):
        put(notebook, test, place.id, text, by=named.person)
    spoil(notebook, test, Spoil(**{**sent(place=read[0].id, reason=named.reason), "by": named.person}))
    kept = bench_state(notebook, test).readings[-1].id
    right = {"readings": (kept,), "action": "correct", "reason": named.reason, "text": "40.3 mm"}
    amend_readings(notebook, test, Amend(**{**sent(**right), "by": named.person}))
    finish(notebook, test, Finish(**sent()))
    return test


def shown(text: str) -> str:
    """What stands in a file for a name."""
    return f"'{text}" if text.lstrip("'").startswith(LEADS) else text


@QUIET
@given(named=NAMED)
def test_names_and_readings_survive_and_run_nowhere(notebook: Notebook, named: Named) -> None:
    """Read back from the files every name is the one that was written, and no cell of any table begins a formula."""
    test = measured(notebook, named)
    with tempfile.TemporaryDirectory() as folder:
        files = files_of(notebook, test, Path(folder) / "files")
        readings = read_readings(files["readings"], {"crack": "1"})
        corrections, facts, bench = (
            read_corrections(files["corrections"]), read_balls(files["balls"]), read_bench(files["bench"]),
        )  # fmt: skip
        again = files_of(notebook, taken(notebook, files).id, Path(folder) / "again")
        for name in ("readings", "corrections", "bench"):
            assert again[name].read_bytes() == files[name].read_bytes()
    table = readings.table
    names = {
        "product": named.make,
        "box": named.box,
        "instrument": named.instrument,
        "operator": named.person,
        "sitting": named.sitting,
    }
    for column, name in names.items():
        assert set(table[column].to_list()) == {shown(name)}
    assert set(table["ball"].to_list()) == {shown(ball) for ball in named.balls}
    assert {plain(axis) for axis in table["axis"].to_list()} == {plain(shown(axis)) for axis in named.axes}
    assert {key[2] for key in facts.balls} == {shown(ball) for ball in named.balls}
    assert bench.instruments[shown(named.instrument)].sd == 0.123, "the bench file knows the instrument by that name"
    assert [one.reason for one in readings.spoiled] == [named.reason]
    amended = amend(readings, corrections)
    assert [(one.after, one.reason, one.by) for one in amended.corrected] == [
        (40.3, shown(named.reason), shown(named.person))
    ]
    state = bench_state(notebook, test)
    assert sorted(table["value"].to_list()) == sorted(one.value or 0.0 for one in state.readings)
    assert sorted(table["decimals"].to_list()) == sorted(len(one.text.partition(".")[2]) for one in state.readings)
    for name in ("readings.csv", "corrections.csv", "balls.csv"):
        for row in csv.reader(io.StringIO(export_file(notebook, test, name).decode(), newline="")):
            assert not [cell for cell in row if cell.startswith(LEADS)]
