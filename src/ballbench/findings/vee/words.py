"""What vees tell, in sentences: between what the form lies, which lobes are left, what cannot be told."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ballbench.findings.form_clauses import FormClause, form_clause_sentence
from ballbench.findings.vee.results import SectionForm, VeeProduct
from ballbench.quantities.printed import plural
from ballbench.quantities.rounding import decimals_of, format_value

__all__ = ["lobes_words", "section_sentence", "span_text", "vee_sentences"]


def vee_sentences(products: Sequence[VeeProduct], clauses: Sequence[FormClause]) -> tuple[str, ...]:
    """Give two or three sentences a product, then one a clause.

    Parameters
    ----------
    products, clauses : sequences
        As found.
    """
    own = [sentence for product in products for sentence in _product(product)]
    return (*own, *(_clause(clause) for clause in clauses))


def _clause(clause: FormClause) -> str:
    return form_clause_sentence(
        clause, "sections that were read", beyond=", whichever of the lobes it is",
        within=", if each section has one number of lobes",
    )  # fmt: skip


def _product(one: VeeProduct) -> Iterator[str]:
    balls = plural(len(one.balls), "ball")
    if not one.counted:
        yield f"{one.product}: no number of lobes fits the readings of its {balls}; nothing is said of their form."
    elif len(one.balls) == 1:
        yield f"{one.product}: the form of the one ball is {span_text(one.largest_low, one.largest_high)}."
    else:
        behind = balls if one.counted == len(one.balls) else f"{one.counted} of {balls}"
        yield (
            f"{one.product}: form of {behind}: the median is {span_text(one.median_low, one.median_high)}, the largest "
            f"is {span_text(one.largest_low, one.largest_high)}."
        )
    if one.odd:
        yield (
            f"{one.product}, {'ball' if len(one.odd) == 1 else 'balls'} {', '.join(one.odd)}: the lobes that are left "
            "are odd, so no caliper shows this form."
        )
    if one.blind:
        yield f"{one.product}: blind to {lobes_words(one.blind)}; of these the form could be anything."


def section_sentence(section: SectionForm) -> str:
    """Say what is known of one section."""
    if not math.isfinite(section.high):
        return "no number of lobes fits; nothing is said of its form"
    if section.lobes:
        how = "counted" if section.lobes_known else "all that fits"
        ends = f"({_two(section.low, section.high)})"
        decimals = _decimals(section.low, section.high)
        return f"form {format_value(section.form, decimals)} mm {ends}, {section.lobes} lobes, {how}"
    left = tuple(item.lobes for item in section.by_lobes if item.agrees and item.form is not None)
    return f"form {span_text(section.low, section.high)}, with {lobes_words(left)}"


def assumed(products: Sequence[VeeProduct], *, steps: bool, angles: bool) -> tuple[str, ...]:
    """Say what was taken for granted.

    Parameters
    ----------
    products : sequence of VeeProduct
        As found.
    steps, angles : bool
        Some range, or some angle, came without its uncertainty.
    """
    words = [
        (
            "Noise makes every range larger: by nothing up to the range that noise alone shows on average, in 12 "
            "indications a turn (own choice). Half of that is taken off, and the rest is in the uncertainty."
        )
    ]
    if steps:
        words.append(
            "The uncertainty of a range that came without one is one step of the display, as the decimals show it, and "
            "the noise of one indication that over the root of 2 (own choice): the noise itself is not known. Lay some "
            "balls in again, and it is found from the repeats."
        )
    if angles:
        words.append("An angle that came without its uncertainty is known to 0.5 degrees (own choice).")
    if any(not section.lobes_known for p in products for ball in p.balls for section in ball.sections):
        words.append("Where nobody counted, 2 to 12 lobes are thought possible (own choice).")
    return (*words, "Each section has one number of lobes; several at once are not told apart by ranges.")


def lobes_words(lobes: Sequence[int]) -> str:
    """Name numbers of lobes, runs of three or more as a span: ``"2 to 6, 8 lobes"``."""
    runs: list[list[int]] = []
    for n in sorted(lobes):
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    parts = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return f"{', '.join(parts)} lobes" if parts else "no number of lobes"


def span_text(low: float, high: float) -> str:
    """Print between what a form lies, ``"0.012 to 0.078 mm"``; from 0 on as a bound."""
    if low <= 0.0:
        return f"at most {format_value(high, _decimals(low, high))} mm"
    return f"{_two(low, high)} mm"


def _two(low: float, high: float) -> str:
    decimals = _decimals(low, high)
    return f"{format_value(low, decimals)} to {format_value(high, decimals)}"


def _decimals(low: float, high: float) -> int:
    """Decimals for two figures of the smaller end that is not 0, three of the band at most."""
    size = low if low > 0.0 else high
    return max(decimals_of(max(min(size, high - low), high / 1000.0)), 0) if high > 0.0 else 4
