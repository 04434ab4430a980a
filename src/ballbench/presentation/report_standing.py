"""What every report says of itself: methods in plain words, what it does not show, and how to rebuild it."""

from __future__ import annotations

from ballbench.findings.comparisons import Comparison
from ballbench.findings.results import Findings
from ballbench.presentation.report_frame import NO_APPROVAL, OTHER_BATCHES, rebuilt

__all__ = [
    "comparison_methods",
    "comparison_rebuild",
    "judgement_limits",
    "judgement_methods",
    "judgement_rebuild",
    "standing_limits",
]

_LENGTHS = {"diameter", "circumference"}


def judgement_methods(findings: Findings) -> tuple[str, ...]:
    """Say in plain words how the numbers of a judgement came about, as far as this judgement used it."""
    clauses = [clause for product in findings.products for clause in product.clauses]
    several = any(q.axes > 1 for product in findings.products for q in product.quantities)
    if findings.rule != "guarded":
        simple = "Each raw value was held against its limit as it was read; nothing was done about the instrument's "
        return (simple + "own noise, and no chance was worked out.",)
    draws = max((product.draws for product in findings.products), default=0) or findings.draws
    read = "What an instrument shows is the ball, plus the instrument's own noise, plus the error that all its "
    read += f"readings share. The balls' true values were drawn {draws:,} times in keeping with the readings, the "
    read += "instrument and the balls' own spread. Every interval holds the middle 95 % of these draws, and a chance "
    words = [read + "is the share of draws."]
    if several:
        form = "Where several places of a ball were read, each ball has a form of its own, so that one bad ball is not "
        words.append(form + "hidden among good ones. Largest, smallest and variation are those over the places read.")
    if any(clause.whole_ball for clause in clauses):
        whole = (
            "The chance over the whole ball adds the form that was not read, drawn as even harmonics 2, 4 and 6 with "
        )
        whole += "the spread this sample shows; the range beside it says how far the answer hangs on how they share it."
        words.append(whole)
    if any(clause.population for clause in clauses):
        these = "Balls like these are those of the box or batch that the sample stands for: their share outside is "
        these += "drawn, the bound by counting is exact binomial, and the interval is a tolerance interval "
        words.append(these + "(ISO 16269-6) freed of noise.")
    if any(clause.settle for clause in clauses):
        settle = "What would settle a clause was tried out: truths in keeping with the readings were taken, the new "
        words.append(settle + "readings simulated, and everything judged again.")
    if any(product.outliers for product in findings.products):
        far = "Balls far from their fellows were sought with the generalized extreme Studentized deviate test "
        words.append(far + "(NIST/SEMATECH handbook 1.3.5.17.3).")
    words.append("Decisions were taken on full precision; only this report rounds, no finer than the interval allows.")
    return tuple(words)


def judgement_limits(findings: Findings) -> tuple[str, ...]:
    """Say what a judgement does not show."""
    quantities = {clause.quantity for product in findings.products for clause in product.clauses}
    return standing_limits(
        quantities, ("An answer for the clauses that were not tested.",) if _untested(findings) else ()
    )


def _untested(findings: Findings) -> bool:
    return any(clause.decision == "not tested" for product in findings.products for clause in product.clauses)


def standing_limits(quantities: set[str], more: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Say what no bench of this kind shows, for the quantities that were read."""
    words = []
    if quantities & _LENGTHS:
        odd = "Odd lobes: readings between two points cannot see them, so a ball of three or five lobes can pass for "
        words.append(odd + "round.")
    return (*words, OTHER_BATCHES, NO_APPROVAL, *more)


def judgement_rebuild(findings: Findings) -> tuple[tuple[str, str], ...]:
    """Say how a stranger gets the same numbers: command, seed, digests, version."""
    command = (
        f"ballbench judge READINGS --spec {findings.requirement.id} --risk {findings.risk:g} --seed {findings.seed} "
        f"--draws {findings.draws}"
    )
    read = (("Readings file", findings.readings_digest),)
    return rebuilt(f"{command}, with the same bench file and corrections file, if any", read, findings.requirement)


def comparison_methods(comparison: Comparison) -> tuple[str, ...]:
    """Say in plain words how the numbers of a comparison came about."""
    told = "Two products are told apart by the difference of the means of balls like these, drawn "
    told += f"{comparison.draws:,} times together, so that an error shared by all readings of one instrument cancels. "
    several = (
        "With several pairs the tail shares are adjusted for their number (Holm); a tie is said as a tie. Welch's "
    )
    several += "t, a rank test and the Brown-Forsythe test on the ball averages stand beside it as second opinions."
    words = [told + "Every interval holds the middle 95 % of the draws.", several]
    if any(product.form for product in comparison.products):
        form = "Variation within a ball is freed of the instrument's noise before it is compared; raw variation makes "
        words.append(form + "every ball look worse than it is.")
    words.append("Only this report rounds, no finer than the interval allows.")
    return tuple(words)


def comparison_rebuild(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """Say how a stranger gets the same numbers: command, seed, digest, version."""
    command = f"ballbench compare READINGS --quantity {comparison.quantity} --seed {comparison.seed}"
    command += f" --draws {comparison.draws}"
    read = (("Readings file", comparison.readings_digest),)
    return rebuilt(f"{command}, with the same bench file, if any", read)
