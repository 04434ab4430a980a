"""An evening at the bench with everything that a file can hold, and the way out of the notebook and back in."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from made_tests import fill, new_test, places, put, sent
from recorded_values import picked

from ballbench.records.ball_test import BallTest
from ballbench.store import Notebook
from ballbench.workflows.bench import bench_state
from ballbench.workflows.bench_requests import BeginSitting, EndSitting, Finish, Mark, Spoil, TakeBack
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.exchange import export_file
from ballbench.workflows.measure import spoil, take_back
from ballbench.workflows.recordings import NewRecording, keep_recording
from ballbench.workflows.set_up import InstrumentPlan, QuantityPlan, ReferencePlan
from ballbench.workflows.sittings import begin, end, finish, note
from ballbench.workflows.take_in_test import TakeIn, take_in_test

__all__ = ["TABLES", "UNITS", "an_evening", "files_of", "taken"]

UNITS = {"crack": "1"}
"""What the requirement of the invented winter league declares."""

TABLES = ("readings.csv", "corrections.csv", "balls.csv", "requirement.toml", "bench.toml", "test.toml")
"""What a test is made of when it is taken in again."""


def files_of(notebook: Notebook, test: int, folder: Path) -> dict[str, Path]:
    """Write the tables of a test into a folder as they are handed out."""
    folder.mkdir()
    for name in TABLES:
        (folder / name).write_bytes(export_file(notebook, test, name))
    return {name.partition(".")[0]: folder / name for name in TABLES}


def taken(notebook: Notebook, files: dict[str, Path], **more: Any) -> BallTest:
    """Take files in."""
    given = {name: files[name] for name in ("readings", "corrections", "balls", "bench", "test") if name in files}
    return take_in_test(
        notebook, TakeIn(**{**sent(requirement=files["requirement"].read_text("utf-8")), **given, **more})
    )


def an_evening(notebook: Notebook) -> int:
    """A test with everything that a file can hold: inches, answers, sittings, spoiled attempts, amendments, marks."""
    inches = InstrumentPlan("caliper", "diameter", "in", 0.0005, 0.0003, 20.0, 0.0, 0.0005)
    phone = InstrumentPlan("phone", "rebound", "mm", 1.0)
    read = (
        QuantityPlan("diameter", ("seam", "across"), 1, "caliper"),
        QuantityPlan("rebound", (), 2, "phone"),
        QuantityPlan("crack"),
    )
    piece = ReferencePlan("steel ball", "diameter", 40.00, 0.001, "mm", "caliper")
    test = new_test(notebook, instruments=(inches, phone), quantities=read, references=(piece,), reference_c=23.0,
                    expansion=9e-5, expansion_relative_sd=0.2).id  # fmt: skip
    begin(notebook, test, BeginSitting(**sent(label="=evening", air_c=21.0, ball_c=22.5)))
    note(notebook, test, Mark(**sent(kind="conditioning begun")))
    for number, place in enumerate(places(notebook, test, "diameter")):
        put(notebook, test, place.id, f"1.58{number % 5}5", by="EM"[number % 2])
    note(notebook, test, Mark(**sent(kind="pressure", value=71.5, ball=places(notebook, test, "crack")[0].ball)))
    pieces = [place.id for place in bench_state(notebook, test).places if place.reference is not None]
    for at, text in zip(pieces, ("1.6000", "1.5750", "1.5745"), strict=True):
        put(notebook, test, at, text)
    end(notebook, test, EndSitting(**sent()))
    list(fill(notebook, test))
    spoil(
        notebook,
        test,
        Spoil(**sent(place=places(notebook, test, "rebound")[3].id, reason='said "oops", then, nothing')),
    )
    spoil(notebook, test, Spoil(**sent(place=places(notebook, test, "crack")[1].id, reason="=dropped")))
    kept = [one.id for one in bench_state(notebook, test).readings if one.ball is not None]
    answers = [one.id for one in bench_state(notebook, test).readings if one.answer is not None]
    for reading, text in ((kept[0], "1.5905"), (kept[1], "40.31 mm"), (answers[0], "yes")):
        amend_readings(
            notebook, test, Amend(**sent(readings=(reading,), action="correct", reason="=typo, see sheet", text=text))
        )
    amend_readings(notebook, test, Amend(**sent(readings=(kept[2], kept[-1]), action="exclude", reason="a 'gust'")))
    amend_readings(notebook, test, Amend(**sent(readings=(kept[3],), action="keep", reason="looked again")))
    take_back(notebook, test, TakeBack(**sent(reading=kept[4])))
    note(notebook, test, Mark(**sent(kind="zeroed", note="caliper")))
    note(notebook, test, Mark(**sent(kind="humidity", value=61.5)))
    for reading, name, sound in (
        (kept[5], "=drop 1.WAV", b"sound"),
        (None, "hall", b"noise"),
        (kept[6], "b", b"sound"),
    ):
        request = NewRecording(**sent(name=name, media_type="audio/wav", reading=reading))
        keep_recording(notebook, test, request, [sound])
        if reading == kept[5]:
            picked(notebook, test, kept[5], sound, request.at)
        if reading == kept[6]:
            marks = "[[0.2], [0.3, 80.25, 90.5]]"
            picked(notebook, test, kept[6], sound, request.at, method="watch", picks=marks)
    finish(notebook, test, Finish(**sent()))
    return test
