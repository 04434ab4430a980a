from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest

from ballbench.errors import BadRequirement
from ballbench.specs.loading import LARGEST_FILE, load_requirement, parse_requirement
from ballbench.specs.model import CountRule, Limit, Requirement, Source

Parse = Callable[[str], Requirement]

EXAMPLE = """
id = "example-40"
sport = "table tennis"
title = "40 mm ball, example"
edition = "2026"
source = { document = "A rule book", clause = "1", seen = "practice", note = "of the whole" }
sample_size = 24
axes = 4
notes = ["A note."]
cautions = ["A caution."]

[quantity.pressure]
unit = "kPa"

[[clause]]
id = "diameter-largest"
text = "No ball measures more than 40.60 mm across any axis."
quantity = "diameter"
ball = "max"
sample = "each"
lower = "40.00 mm"
upper = "40.60 mm"
strict = true
allowed_outside = 1
conditions = { temperature = "23 degC" }
source = { clause = "2" }
[[clause.variant]]
text = "Another reading."
upper = "40.65 mm"
strict = false
[[clause.variant]]
text = "A third."
lower = ""

[[clause]]
id = "pressure"
text = "The pressure is at least 8 psi."
quantity = "pressure"
ball = "mean"
sample = "each"
lower = "8 psi"

[[clause]]
id = "ring"
text = "Falls through in fewer than 25 of 100."
quantity = "ring_fall"
count = { answer = "yes", at_most = 24, out_of = 100 }
source = { document = "Another book", seen = "memory" }

[[clause]]
id = "nominal"
text = "The ball weighs 2.7 g."
quantity = "mass"
ball = "mean"
sample = "each"
nominal = "2.7 g"
"""


@pytest.fixture
def example() -> Requirement:
    """Load a file that uses every key."""
    return parse_requirement(EXAMPLE.encode(), "example.toml")


def test_the_head_is_kept_and_the_digest_is_that_of_the_bytes(example: Requirement) -> None:
    """The requirement holds what the file says, and the SHA-256 of its bytes (hashlib)."""
    assert (example.id, example.sample_size, example.axes) == ("example-40", 24, 4)
    assert example.notes == ("A note.",)
    assert example.cautions == ("A caution.",)
    assert example.digest == "sha256:" + hashlib.sha256(EXAMPLE.encode()).hexdigest()


def test_a_variant_has_from_the_clause_what_it_does_not_set(example: Requirement) -> None:
    """Unset keys are inherited, set ones replaced, and an empty limit removed (the file's contract)."""
    first, second, third = example.clauses[0].readings
    assert (first.lower, first.upper) == (Limit("40.00", "mm", 40.0), Limit("40.60", "mm", 40.6))
    assert (second.lower, second.upper) == (first.lower, Limit("40.65", "mm", 40.65))
    assert (second.ball, second.sample, second.allowed_outside) == ("max", "each", 1)
    assert (first.strict, second.strict, third.strict) == (True, False, True)
    assert (third.lower, third.upper) == (None, first.upper)


def test_a_clause_source_keeps_document_and_grade_and_has_its_own_place_and_note(example: Requirement) -> None:
    """Document and grade are the requirement's unless given; place and note never are (the file's contract)."""
    assert example.clauses[0].source == Source("A rule book", "2", "practice")
    assert example.clauses[1].source is example.source
    assert example.clauses[2].source == Source("Another book", "", "memory")


def test_units_are_shown_as_written_and_computed_in_the_declared_one(example: Requirement) -> None:
    """A psi is 6.894757... kPa (pound-force 4.4482216152605 N, inch 25.4 mm, both exact)."""
    pressure = example.clauses[1]
    assert (pressure.unit, pressure.base_unit) == ("psi", "kPa")
    assert pressure.readings[0].lower is not None
    assert pressure.readings[0].lower.value == pytest.approx(8 * 4.4482216152605 / 25.4**2 * 1e3, rel=1e-12)


def test_a_count_and_a_nominal_value_stand_without_limits(example: Requirement) -> None:
    """A count decides, a nominal value alone does not (the model's contract)."""
    ring, nominal = example.clauses[2:]
    assert ring.count == CountRule(answer=True, at_least=None, at_most=24, out_of=100)
    assert ring.decides
    assert nominal.nominal == Limit("2.7", "g", 2.7)
    assert not nominal.decides


@pytest.mark.parametrize(("word", "answer"), [("yes", True), ("passed", True), ("no", False), ("failed", False)])
def test_answers_are_the_words_of_a_readings_file(word: str, answer: bool, own: Parse) -> None:
    """Yes and passed are one answer, no and failed the other; alone they ask it of every ball."""
    text = f'[[clause]]\nid = "a"\ntext = "."\nquantity = "crack"\ncount = {{ answer = "{word}" }}\n'
    assert own(text).clauses[0].count == CountRule(answer=answer)


def test_a_quantity_that_is_nowhere_declared_is_computed_in_its_first_limit_s_unit(own: Parse) -> None:
    """All clauses on it are computed in one unit: here centimetres, and 10 mm is 1 cm."""
    text = "".join(
        f'[[clause]]\nid = "c{n}"\ntext = "."\nquantity = "skid"\nball = "mean"\nsample = "each"\nupper = "{limit}"\n'
        for n, limit in enumerate(("2 cm", "10 mm"))
    )
    first, second = own(text).clauses
    assert (first.base_unit, second.base_unit, second.unit) == ("cm", "cm", "mm")
    assert second.readings[0].upper is not None
    assert second.readings[0].upper.value == pytest.approx(1.0)


def test_a_file_is_read_with_a_mark_at_its_start_and_windows_line_ends(tmp_path: Path) -> None:
    """A UTF-8 byte order mark and CRLF, as some editors write them, change nothing but the digest."""
    path = tmp_path / "own.toml"
    path.write_bytes(b"\xef\xbb\xbf" + EXAMPLE.replace("\n", "\r\n").encode())
    assert load_requirement(path).clauses == parse_requirement(EXAMPLE.encode(), "x").clauses


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "an empty file"),
        (b" \n\t\n", "an empty file"),
        ('title = "B\xe4lle"'.encode("latin-1"), "bytes that are not UTF-8, in line 1"),
        (EXAMPLE.encode("utf-16"), "bytes that are not UTF-8, in line 1"),
        (b"id = 'a'\n\x00\x01\x02", "a binary file"),
        (b"#" * (LARGEST_FILE + 1), "a larger file"),
        (b"a = " + b"[" * 100_000, "brackets nested too deep"),
        (b"a = " + b"9" * 5000, "a value that cannot be read"),
        (b"a" + b".a" * 5000 + b" = 1", "a line with more than 200 dots"),
    ],
    ids=["empty", "blank", "latin-1", "utf-16", "binary", "large", "nested", "digits", "dots"],
)
def test_what_is_no_requirement_text_gets_one_fault(data: bytes, found: str) -> None:
    """Empty, binary, foreign, huge and hostile files are refused with one message (Python's own limits behind it)."""
    with pytest.raises(BadRequirement) as caught:
        parse_requirement(data, "x.toml")
    (fault,) = caught.value.faults
    assert fault.found.startswith(found)
    assert fault.where.startswith("x.toml")


def test_a_toml_slip_is_told_by_line_and_column() -> None:
    """The missing equals sign stands in line 3, column 7, counted by hand."""
    with pytest.raises(BadRequirement) as caught:
        parse_requirement(b'id = "a"\n# words\nsport "b"\n', "x.toml")
    (fault,) = caught.value.faults
    assert fault.where == "x.toml, line 3, column 7"
    assert fault.found == '"sport "b""'


def test_an_unfinished_file_is_told_as_such() -> None:
    """A text that ends inside an entry is said to be unfinished."""
    with pytest.raises(BadRequirement) as caught:
        parse_requirement(b'notes = ["a",', "x.toml")
    (fault,) = caught.value.faults
    assert fault.found == "an unfinished entry"


@pytest.mark.parametrize("name", ["missing.toml", ".", "x" * 5000])
def test_a_path_that_is_no_file_is_refused(name: str, tmp_path: Path) -> None:
    """No file, a folder, and a name that the system refuses give one fault each."""
    with pytest.raises(BadRequirement) as caught:
        load_requirement(tmp_path / name)
    assert len(caught.value.faults) == 1
