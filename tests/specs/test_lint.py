from __future__ import annotations

from collections.abc import Callable

import pytest

from ballbench.specs import Remark, lint
from ballbench.specs.model import Requirement

Parse = Callable[[str], Requirement]


def clause(name: str, body: str, quantity: str = "diameter") -> str:
    """Write a clause from its reductions and limits."""
    return f'[[clause]]\nid = "{name}"\ntext = "{name}"\nquantity = "{quantity}"\n{body}\n'


def limits(ball: str, sample: str, lower: str = "", upper: str = "") -> str:
    """Write reductions and limits."""
    text = f'ball = "{ball}"\nsample = "{sample}"\n'
    return text + (f'lower = "{lower}"\n' if lower else "") + (f'upper = "{upper}"\n' if upper else "")


def remarks(own: Parse, text: str) -> list[tuple[str, str]]:
    """Give id and words of each remark."""
    return [(remark.clause, remark.what) for remark in lint(own(text))]


EACH = clause("each", limits("range", "each", upper="0.25 mm") + "strict = true")


def test_a_tenfold_slip_in_an_sd_limit_is_found(own: Parse) -> None:
    """On values in [0, 0.25] mm the SD of 24 is at most 0.125 sqrt(24/23) = 0.1277 mm, so 0.6 mm never binds."""
    found = lint(own("sample_size = 24\n" + EACH + clause("sd", limits("range", "sd", upper="0.6 mm"))))
    assert [remark.clause for remark in found] == ["sd"]
    assert found[0].what == (
        "0.6 mm can never bind: with each ball's range between 0 mm and 0.25 mm, "
        "the SD over 24 balls is never above 0.1277 mm"
    )
    assert found[0].todo == "check the limit's decimal point and unit, and the other clauses"


@pytest.mark.parametrize(
    ("size", "limit", "binds"),
    [
        ("24", "0.06", True),
        ("24", "0.127", True),
        ("24", "0.128", False),
        ("25", "0.127", True),  # 0.125 sqrt(26/25) = 0.12748
        ("25", "0.1275", False),
        ("", "0.176", True),  # unknown number: two balls, 0.25/sqrt(2) = 0.17678
        ("", "0.177", False),
    ],
)
def test_an_sd_limit_is_remarked_on_exactly_from_the_largest_sd_on(
    size: str, limit: str, binds: bool, own: Parse
) -> None:
    """The bounds are (c/2) sqrt(n/(n-1)) for even and (c/2) sqrt((n+1)/n) for odd n, worked out by hand."""
    head = f"sample_size = {size}\n" if size else ""
    found = remarks(own, head + EACH + clause("sd", limits("range", "sd", upper=f"{limit} mm")))
    assert bool(found) is not binds


def test_an_sd_limit_is_held_against_any_interval_that_the_clauses_leave(own: Parse) -> None:
    """Midranges between 40 and 40.6 mm have an SD of at most 0.3 sqrt(24/23) = 0.3064 mm."""
    text = clause("low", limits("min", "each", "40 mm")) + clause("high", limits("max", "each", upper="40.6 mm"))
    size = "sample_size = 24\n"
    assert remarks(own, size + text + clause("sd", limits("midrange", "sd", upper="0.306 mm"))) == []
    assert len(remarks(own, size + text + clause("sd", limits("midrange", "sd", upper="0.307 mm")))) == 1


def test_an_sd_limit_without_limits_on_each_ball_is_left_alone(own: Parse) -> None:
    """Unbounded values can have any SD."""
    assert remarks(own, clause("sd", limits("mean", "sd", upper="9 mm"))) == []


def test_a_mean_limit_wider_than_that_of_each_ball_is_found(own: Parse) -> None:
    """If no ball is above 41 mm, no mean is above 41.5 mm; the lower limit 40 mm equals the balls' and stays."""
    text = clause("each", limits("mean", "each", "40 mm", "41 mm"))
    found = remarks(own, text + clause("mean", limits("mean", "mean", "40 mm", "41.5 mm")))
    assert [name for name, _ in found] == ["mean"]
    assert "41.5 mm can never bind" in found[0][1]
    assert "the mean over the balls is never above 41 mm" in found[0][1]


def test_a_range_that_other_limits_rule_out_is_found(own: Parse) -> None:
    """Balls between 52.45 and 52.55 mm cannot differ by more than 0.1 mm, nor have a range of 0.2 mm."""
    text = clause("low", limits("min", "each", "52.45 mm")) + clause("high", limits("max", "each", upper="52.55 mm"))
    found = remarks(
        own,
        text
        + clause("set", limits("mean", "range", upper="0.11 mm"))
        + clause("ball", limits("range", "each", upper="0.2 mm")),
    )
    assert [name for name, _ in found] == ["set", "ball"]


def test_an_allowance_leaves_the_other_limits_binding(own: Parse) -> None:
    """If one ball may be outside, a mean may be outside too."""
    text = clause("each", limits("mean", "each", "40 mm", "41 mm") + "allowed_outside = 1")
    assert remarks(own, text + clause("mean", limits("mean", "mean", "39 mm", "41.5 mm"))) == []


@pytest.mark.parametrize(
    ("body", "what"),
    [
        (limits("mean", "each", "41 mm", "40 mm"), "no value lies between 41 mm and 40 mm"),
        (limits("mean", "each", "41 mm", "41 mm") + "strict = true", "no value lies between 41 mm and 41 mm"),
        (limits("mean", "each", "5 mm", "1 in") + '[[clause.variant]]\nupper = "0.1 in"', "variant 1: no value lies"),
        (limits("mean", "each", "40 cm"), ""),
        (limits("mean", "each", "40 m"), "40 m is no believable diameter of a ball"),
        (limits("mean", "each", "40 mm") + 'conditions = { surface = " " }', "the condition surface has no value"),
        (limits("mean", "each", "40 mm") + '[[clause.variant]]\ntext = "b"', "variant 1 says the same as the clause"),
        (
            limits("mean", "each", "40 mm")
            + '[[clause.variant]]\nlower = "39 mm"\n[[clause.variant]]\nlower = "3.9 cm"',
            "variant 2 says the same as variant 1",
        ),
        ('ball = "mean"\nsample = "each"\nnominal = "40 mm"', "40 mm is a nominal value without a tolerance"),
        (limits("mean", "each", "40 mm") + "allowed_outside = 24", "24 of 24 balls may be outside, that is all"),
    ],
)
def test_a_slip_within_one_clause_is_found(body: str, what: str, own: Parse) -> None:
    """Each slip of the method page's list gives one remark; 40 cm is a believable ball, 40 m is not."""
    found = remarks(own, "sample_size = 24\n" + clause("c", body))
    assert len(found) == bool(what)
    assert all(words.startswith(what) for _, words in found)


@pytest.mark.parametrize(
    ("rule", "what"),
    [
        ("at_least = 30, at_most = 20, out_of = 100", "no count is at least 30 and at most 20 out of 100"),
        ("at_least = 101, out_of = 100", "no count is at least 101 and at most 100 out of 100"),
        ("at_most = 100, out_of = 100", "every count out of 100 meets the clause"),
        ("at_most = 24, out_of = 100", ""),
    ],
)
def test_counts_that_none_or_all_meet_are_found(rule: str, what: str, own: Parse) -> None:
    """A count of 100 lies from 0 to 100."""
    found = remarks(own, clause("ring", f'count = {{ answer = "yes", {rule} }}', "ring_fall"))
    assert [words for _, words in found] == ([what] if what else [])


@pytest.mark.parametrize(
    ("first", "second", "disagree"),
    [
        ("68.6 mm", "2.76 in", True),  # 2.76 in = 70.104 mm: off by 1.5 mm
        ("68.6 mm", "2.700 in", False),  # 68.58 mm
        ("22.4 cm", "8.8125 in", False),  # 22.384 cm
        ("20 cm", "7.75 in", False),  # 19.685 cm: within the last digit of 20
        ("20.0 cm", "7.75 in", True),  # off by 0.315 cm, the last digits are 0.1 cm and 0.01 in
        ("68.6 mm", "70.1 mm", False),  # one unit: two readings, no conversion
    ],
)
def test_prints_in_two_units_that_disagree_are_found(first: str, second: str, disagree: bool, own: Parse) -> None:
    """One limit in two units agrees within the last digit of the coarser print (inch = 25.4 mm exactly)."""
    body = limits("mean", "each", upper=first) + f'[[clause.variant]]\nupper = "{second}"\n'
    found = remarks(own, clause("c", body))
    assert [("not one limit printed in two units" in words) for _, words in found] == [True] * disagree


def test_clauses_that_no_ball_can_meet_together_are_found(own: Parse) -> None:
    """A ball's smallest diameter cannot be 41 mm or more while its largest is 40 mm or less."""
    text = clause("low", limits("min", "each", "41 mm")) + clause("high", limits("max", "each", upper="40 mm"))
    what = "no ball can meet it together with the other clauses on diameter"
    assert remarks(own, text) == [("low", what), ("high", what)]


def test_a_clause_that_says_the_same_as_another_is_found(own: Parse) -> None:
    """Other words and another unit make no other clause; other conditions do."""
    text = clause("a", limits("mean", "each", "40 mm")) + clause("b", limits("mean", "each", "4.0 cm"))
    assert remarks(own, text) == [("b", 'says the same as the clause "a"')]
    other = clause("b", limits("mean", "each", "40 mm") + 'conditions = { load = "5 N" }')
    assert remarks(own, clause("a", limits("mean", "each", "40 mm")) + other) == []


@pytest.mark.parametrize(("name", "found"), [("diametre", 1), ("deformation_forward", 0), ("roundness", 0)])
def test_a_quantity_that_is_nearly_a_known_one_is_found(name: str, found: int, own: Parse) -> None:
    """A misspelt diameter is asked about, a new name is not."""
    words = remarks(own, clause("c", limits("mean", "each", "40 mm"), name))
    assert len(words) == found


def test_a_sound_requirement_has_no_remarks(own: Parse) -> None:
    """Nothing is said where there is nothing to say, and a remark names its clause."""
    assert lint(own(EACH + clause("sd", limits("range", "sd", upper="0.06 mm")))) == ()
    assert lint(own(clause("c", limits("mean", "each", "40 m")))) == (
        Remark("c", "40 m is no believable diameter of a ball", "check the decimal point and the unit of the limit"),
    )
