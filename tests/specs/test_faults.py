from __future__ import annotations

from collections.abc import Callable

import pytest

from ballbench.errors import BadRequirement
from ballbench.specs.loading import parse_requirement
from ballbench.specs.model import Requirement

Parse = Callable[[str], Requirement]

GOOD = {
    "id": '"size"',
    "text": '"."',
    "quantity": '"diameter"',
    "ball": '"mean"',
    "sample": '"each"',
    "upper": '"41 mm"',
}


def clause(**changes: str | None) -> str:
    """Write a good clause with changes; None removes a key."""
    keys = {**GOOD, **changes}
    return "[[clause]]\n" + "".join(f"{key} = {value}\n" for key, value in keys.items() if value is not None)


def faults(own: Parse, text: str) -> list[str]:
    """Give the faults of a file whose head is good."""
    with pytest.raises(BadRequirement) as caught:
        own(text)
    return [str(fault) for fault in caught.value.faults]


AMOUNT = 'a number with its unit, in quotes, such as "40.60 mm"'
PLAIN = "a decimal number and its unit, such as 40.60 mm; no fraction, exponent, NaN or infinity"
CASES = {
    "unknown key": (clause(uper='"1 mm"'), 'key uper: found an unknown key "uper"', 'write "upper"'),
    "unknown key, none near": (clause(zzz="1"), 'key zzz: found an unknown key "zzz"', 'remove "zzz"'),
    "unknown key of a source": (
        clause(source='{ sen = "own" }'),
        "key source.sen: found an unknown key",
        'write "seen"',
    ),
    "missing text": (clause(text=None), 'key text: found no key "text"', "add text = ..."),
    "missing reduction": (clause(ball=None), 'key ball: found no key "ball"', "add ball = ..."),
    "wrong word": (clause(ball='"total"'), 'key ball: found "total"; allowed: mean, midrange', "choose one of them"),
    "misspelt word": (clause(ball='"meen"'), 'key ball: found "meen"; allowed: mean, midrange', 'write "mean"'),
    "number as limit": (clause(upper="41.0"), f"key upper: found 41.0; allowed: {AMOUNT}", "correct upper"),
    "nan": (clause(upper="nan"), f"key upper: found nan; allowed: {AMOUNT}", "correct upper"),
    "nan in quotes": (
        clause(upper='"nan mm"'),
        f'key upper: found "nan mm"; allowed: {PLAIN}',
        "write it like 40.60 mm",
    ),
    "inf in quotes": (clause(upper='"inf"'), f'key upper: found "inf"; allowed: {PLAIN}', "write it like 40.60 mm"),
    "fraction": (clause(upper='"1 5/8 in"'), 'key upper: found "1 5/8 in"', "write 1.625 in"),
    "wrong unit": (
        clause(upper='"41 g"'),
        "allowed: a number with a unit that can be turned into mm",
        "correct the clause's",
    ),
    "strict as text": (clause(strict='"yes"'), 'key strict: found "yes"; allowed: true or false', "correct strict"),
    "strict as number": (clause(strict="1"), "key strict: found 1; allowed: true or false", "correct strict"),
    "count and limit": (
        clause(count='{ answer = "yes" }', ball=None, sample=None),
        "key count: found count together with upper",
        "keep count, or keep the limits",
    ),
    "count without number": (
        clause(count='{ answer = "yes", out_of = 100 }', ball=None, sample=None, upper=None),
        "key count: found out_of without at_least or at_most",
        "keep answer alone",
    ),
    "count without trials": (
        clause(count='{ answer = "yes", at_most = 24 }', ball=None, sample=None, upper=None),
        "key count: found at_least or at_most without out_of",
        "keep answer alone",
    ),
    "no limit": (clause(upper=None), "found no limit at all", "add the limit"),
    "variant without limit": (
        clause() + '[[clause.variant]]\nupper = ""\n',
        "variant 1: found no limit at all",
        "add the",
    ),
    "fault in a variant": (
        clause() + '[[clause.variant]]\nupper = "1,5 mm"\n',
        'variant 1, key upper: found "1,5 mm"',
        "1.5",
    ),
    "unknown key of a variant": (
        clause() + "[[clause.variant]]\nuper = 1\n",
        "variant 1, key uper: found",
        'write "upper"',
    ),
    "allowance without each": (
        clause(sample='"mean"', allowed_outside="1"),
        'key allowed_outside: found allowed_outside = 1 with sample = "mean"',
        "or judge each ball",
    ),
    "negative allowance": (
        clause(allowed_outside="-1"),
        "key allowed_outside: found -1; allowed: a whole number",
        "correct",
    ),
    "number as condition": (
        clause(conditions="{ load = 5 }"),
        "key conditions.load: found 5; allowed: a text",
        "correct load",
    ),
    "grade without document": (
        clause(source='{ seen = "official" }'),
        "and no document",
        "name the document, or grade",
    ),
    "unknown unit": (
        clause(quantity='"skid"', upper='"4 zzz"') + '[quantity.skid]\nunit = "zzz"\n',
        'found "4 zzz"',
        'put a unit in place of "zzz"',
    ),
    "known quantity declared": (
        clause() + '[quantity.diameter]\nunit = "in"\n',
        "diameter is known already, in mm",
        "remove",
    ),
    "unused quantity": (
        clause() + '[quantity.presure]\nunit = "kPa"\n',
        'a quantity "presure" that no clause uses',
        "correct a",
    ),
    "bad id": (clause(id='"Size 1"'), 'key id: found "Size 1"; allowed: lower-case letters and digits', "correct id"),
}


@pytest.mark.parametrize("name", CASES)
def test_each_slip_is_named_with_its_place_and_what_to_do(name: str, own: Parse) -> None:
    """One slip gives a message with file, clause and key, what stands there, and the next step."""
    text, found, todo = CASES[name]
    messages = [m for m in faults(own, text) if found in m and todo in m]
    assert len(messages) == 1
    assert messages[0].startswith("own.toml, ")


@pytest.mark.parametrize("name", [name for name in CASES if name != "unknown unit"])
def test_each_slip_gives_one_message_only(name: str, own: Parse) -> None:
    """A single slip is not reported twice."""
    assert len(faults(own, CASES[name][0])) == 1


def test_a_clause_without_id_is_named_by_its_number(own: Parse) -> None:
    """The second clause has no id, and the message says clause 2."""
    assert faults(own, clause() + clause(id=None))[0].startswith('own.toml, clause 2, key id: found no key "id"')


def test_an_id_that_two_clauses_share_is_one_fault(own: Parse) -> None:
    """Clause ids are unique."""
    (message,) = faults(own, clause() + clause(upper='"42 mm"'))
    assert 'found 2 clauses with the id "size"; allowed: each id once; rename all but one' in message


def test_a_requirement_without_id_or_clauses_says_both() -> None:
    """Every missing key of the head is named at once."""
    with pytest.raises(BadRequirement) as caught:
        parse_requirement(b'sport = "a"\ntitle = "b"\nedition = "1"\nsource = { seen = "own" }\n', "x.toml")
    assert [fault.found for fault in caught.value.faults] == ['no key "id"', 'no key "clause"']


def test_all_faults_of_a_file_come_at_once(own: Parse) -> None:
    """Slips of shape and slips of meaning, in different clauses, are reported together."""
    text = clause(uper='"1 mm"') + clause(id='"b"', upper='"1/2 in"') + clause(id='"c"', strict="1") + clause(id='"b"')
    found = faults(own, text)
    assert [part for part in ("uper", "strict", "1/2 in", "2 clauses") if any(part in m for m in found)] == [
        "uper",
        "strict",
        "1/2 in",
        "2 clauses",
    ]
    assert len(found) == 4
    assert all("\n" not in m for m in found)


def test_a_fault_that_a_variant_inherits_is_reported_once(own: Parse) -> None:
    """The clause's own bad limit is not blamed on its variants."""
    (message,) = faults(own, clause(lower='"1,5 mm"') + '[[clause.variant]]\nupper = "43 mm"\n')
    assert "variant" not in message
