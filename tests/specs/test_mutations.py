from __future__ import annotations

from importlib import resources

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ballbench.errors import BadRequest, BadRequirement
from ballbench.specs import Requirement, catalogue_ids, find_requirement, lint
from ballbench.specs.loading import parse_requirement

CATALOGUE = resources.files("ballbench.specs.catalogue")
FILES = {name: (CATALOGUE / f"{name}.toml").read_bytes() for name in ("table-tennis-plastic", "golf", "football-law")}
PIECES = [
    "0", "-1", "nan", "inf", "true", "1979-05-27", '""', '"40 mm"', '"9 kg"', '"1/2 in"', '"mean"', "[]", "{}", "[[1]]",
    "{ a = 1 }", '{ seen = "own" }', '"\\u0000"', '"\\ud7ff"', "'''x'''", '"' + "9" * 80 + ' mm"', '"1 mm^9"', '"1 %"',
]  # fmt: skip
KEYS = ["id", "text", "ball", "sample", "lower", "upper", "nominal", "count", "variant", "clause", "source", "quantity"]


def outcome(data: bytes) -> Requirement | BadRequirement:
    """Parse, and let nothing but a refusal pass."""
    try:
        return parse_requirement(data, "mutant.toml")
    except BadRequirement as error:
        return error


def assert_sound(result: Requirement | BadRequirement) -> None:
    """Hold a requirement to having clauses that can be linted, a refusal to whole messages of one line each."""
    if isinstance(result, BadRequirement):
        assert result.faults
        for fault in result.faults:
            assert fault.where
            assert fault.found
            assert fault.allowed
            assert fault.todo
            assert "\n" not in str(fault)
    else:
        assert result.clauses
        assert all(remark.what and remark.todo for remark in lint(result))


@st.composite
def edited_lines(draw: st.DrawFn) -> bytes:
    """Drop, double or rewrite up to four lines of a catalogue file."""
    lines = FILES[draw(st.sampled_from(sorted(FILES)))].decode().splitlines()
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        key, _, value = lines[at].partition(" = ")
        lines[at : at + 1] = draw(
            st.sampled_from([[], [lines[at]] * 2, ["[[clause]]"], ["[[clause.variant]]"], ["[clause.count]"]])
            | st.sampled_from(PIECES).map(lambda piece, key=key: [f"{key} = {piece}"])
            | st.sampled_from(KEYS).map(lambda name, value=value: [f"{name} = {value}"])
            | st.text(max_size=20).map(lambda text, key=key: [f'{key} = "{text}"'])
        )
    return "\n".join(lines).encode("utf-8", "surrogatepass")


@st.composite
def edited_bytes(draw: st.DrawFn) -> bytes:
    """Replace a slice of a catalogue file."""
    data = FILES[draw(st.sampled_from(sorted(FILES)))]
    start = draw(st.integers(0, len(data)))
    stop = draw(st.integers(start, min(len(data), start + 200)))
    return data[:start] + draw(st.binary(max_size=40) | st.text(max_size=20).map(str.encode)) + data[stop:]


@settings(max_examples=300, deadline=None)
@given(edited_lines())
def test_an_edited_file_loads_or_is_refused(data: bytes) -> None:
    """Whatever line is dropped, doubled or rewritten, nothing but BadRequirement is raised (hypothesis)."""
    assert_sound(outcome(data))


@settings(max_examples=200, deadline=None)
@given(edited_bytes())
@example(b"\xff\xfe")
def test_a_damaged_file_loads_or_is_refused(data: bytes) -> None:
    """Whatever bytes are replaced, nothing but BadRequirement is raised (hypothesis)."""
    assert_sound(outcome(data))


@pytest.mark.parametrize("name", sorted(FILES))
def test_every_single_line_matters_or_is_optional(name: str) -> None:
    """Dropping one line at a time gives refusals and requirements, both sound, and both do occur."""
    lines = FILES[name].splitlines(keepends=True)
    results = [outcome(b"".join(lines[:at] + lines[at + 1 :])) for at in range(len(lines))]
    for result in results:
        assert_sound(result)
    assert {type(result) for result in results} == {Requirement, BadRequirement}


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=30).filter(lambda text: text not in catalogue_ids()))
def test_any_odd_name_is_refused(text: str) -> None:
    """A text that is neither id nor file is refused with the project's own error (hypothesis)."""
    with pytest.raises((BadRequest, BadRequirement)):
        find_requirement(text)
