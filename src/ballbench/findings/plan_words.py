"""What a plan says in sentences: which design is enough, how tests of it end, what would change that."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ballbench.findings.planning import Design, SettingChances, Share, TellingApart
from ballbench.findings.plans import BoxPlan, Plan
from ballbench.quantities.kinds import KINDS

__all__ = ["design_words", "plan_sentences", "share_words", "time_words"]

FAR_OFF = 10.0
"""A mean beyond a limit by so many SDs between balls is questioned (own choice)."""


def plan_sentences(plan: Plan) -> list[str]:
    """Give the answer first, then for which make it holds, how tests of the chosen design end, and what changes that.

    Parameters
    ----------
    plan : Plan
        With everything but its sentences.
    """
    chosen = plan.chosen
    out = [_answer(plan), _make(plan), *_far_off(plan), *_unsure(plan), _ends(chosen, plan.risk), *_limited(plan)]
    out += _parts(plan)
    if plan.gains:
        out.append(_best_gain(plan))
    if plan.telling is not None:
        out.append(_told(plan.telling, plan.unit))
    out += [_box(one) for one in plan.boxes]
    return out


def design_words(design: Design) -> str:
    """Write ``"12 balls, 3 places each, read once"``."""
    balls = "1 ball" if design.balls == 1 else f"{design.balls} balls"
    places = "1 place" if design.axes == 1 else f"{design.axes} places"
    each = " each" if design.balls > 1 else ""
    times = {1: "read once", 2: "read twice"}.get(design.repeats, f"read {design.repeats} times")
    return f"{balls}, {places}{each}, {times}"


def time_words(minutes: float) -> str:
    """Write minutes at the bench; hours from two of them on."""
    if minutes < 1.0:
        return "under a minute"
    if minutes < 120.0:
        return f"about {minutes:.0f} min"
    return f"about {minutes / 60.0:.1f} h"


def share_words(share: Share) -> str:
    """Write a simulated chance with its 95 % Monte Carlo interval, ``"87 % (83 to 90)"``."""
    decimals = 0 if share.high - share.low > 0.005 else 1
    value, low, high = (f"{100.0 * part:.{decimals}f}" for part in (share.value, share.low, share.high))
    return f"{value} % ({low} to {high})"


def _make(plan: Plan) -> str:
    truth, unit = plan.truth, _unit(plan)
    words = KINDS[plan.quantity].words if plan.quantity in KINDS else plan.quantity.replace("_", " ")
    text = f"mean {words} {truth.mean:.6g}{unit}, SD {truth.sd:.3g}{unit} between balls"
    if truth.form_sd > 0.0:
        text += f", {truth.form_sd:.3g}{unit} between the places of a ball"
    return f"The make that was assumed: {text}. For another make another number may be enough."


def _unit(plan: Plan) -> str:
    return "" if plan.unit == "1" else f" {plan.unit}"


def _far_off(plan: Plan) -> Iterator[str]:
    """Warn of a make that any test sees through: most often a slip of the unit or of the decimal point."""
    mean, sd, low, high = plan.truth.mean, plan.truth.sd, plan.lower, plan.upper
    below = 0.0 if low is None else low - mean
    above = 0.0 if high is None else mean - high
    outside = max(below, above) > FAR_OFF * max(sd, plan.instrument.resolution)
    wide = low is not None and high is not None and sd > high - low
    if outside or wide:
        what = (
            "Its mean lies far outside the limits"
            if outside
            else "Its SD is larger than all the room between the limits"
        )
        yield f"{what} of a single ball, so nearly any test answers that: check the numbers and their unit."


def _unsure(plan: Plan) -> Iterator[str]:
    if plan.how_many.chosen is not None and not plan.how_many.sure:
        yield (
            "So few simulated tests leave open whether the answer is really right in "
            f"{100.0 * plan.how_many.wanted:.3g} % of such tests; ask for more of them."
        )


def _answer(plan: Plan) -> str:
    wanted = f"{100.0 * plan.how_many.wanted:.3g} %"
    best = plan.how_many.best
    design, right = design_words(best.design), share_words(best.right)
    first = f"{design[:1].upper()}{design[1:]}"
    one = best.design.balls == 1
    part = f"; the requirement asks for {_balls(plan.sample_size)}" if plan.is_part(best) else ""
    if plan.how_many.chosen is not None:
        return (
            f"{first} ({time_words(best.minutes)} at the bench) {'is' if one else 'are'} enough for the make that was "
            f"assumed: right in {right} of the tests, {wanted} wanted{part}."
        )
    if len(plan.settings) == 1:
        return (
            f"{first}, {'gives' if one else 'give'} the right answer in {right} of the tests for the make that was "
            f"assumed; {wanted} are wanted{part}."
        )
    return (
        f"None of these designs gives the right answer in {wanted} of the tests for the make that was assumed; the "
        f"best of them, {design}, does in {right}{part}."
    )


def _balls(count: int | None) -> str:
    return "1 ball" if count == 1 else f"{count} balls"


def _part(plan: Plan, short: Sequence[SettingChances]) -> str:
    """Say that designs read fewer balls than are asked for."""
    *others, last = dict.fromkeys(str(one.design.balls) for one in short)
    numbers = f"{', '.join(others)} or {last}" if others else last
    return f"The requirement asks for {_balls(plan.sample_size)}; with {numbers} the answer is for a part of them."


def _parts(plan: Plan) -> Iterator[str]:
    short = [one for one in plan.settings if plan.is_part(one)]
    if short:
        yield _part(plan, short)


def _ends(one: SettingChances, risk: float) -> str:
    beyond = ""
    if one.false_met.low > risk and one.design.balls < one.in_question:
        beyond = (
            f", more than the risk of {100.0 * risk:.3g} %: it covers the balls that are read, and the right answer is "
            f"about {one.in_question}"
        )
    return (
        f"Such a test ends met in {share_words(one.met)}, not met in {share_words(one.not_met)} and undecided in "
        f"{share_words(one.undecided)}; a wrong “met” comes in {share_words(one.false_met)}{beyond}."
    )


def _limited(plan: Plan) -> Iterator[str]:
    """Say what was tried where no design is enough, and what came of it."""
    found = plan.how_many
    if found.chosen is not None or found.with_calibration is None or found.with_noise is None:
        return
    calibration, noise = share_words(found.with_calibration.right), share_words(found.with_noise.right)
    if found.limited_by == "calibration":
        yield (
            f"With a quarter of the calibration's uncertainty the answer is right in {calibration}, so the calibration "
            "is what to mend first."
        )
    elif found.limited_by == "noise":
        yield f"With a quarter of the noise the answer is right in {noise}, so the noise is what to mend first."
    else:
        yield (
            "Neither a better calibration nor a quieter instrument changed it beyond what chance may do: right in "
            f"{calibration} with a quarter of the calibration's uncertainty, in {noise} with a quarter of the noise."
        )
    if found.best.one_place:
        yield (
            "One place cannot decide a clause on the largest or smallest diameter: with one place of a ball read, "
            f"{_listed(found.best.one_place)} cannot end met."
        )


def _listed(names: Sequence[str]) -> str:
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last


def _best_gain(plan: Plan) -> str:
    now, *others = plan.gains
    helpful = [one for one in others if one.chances.right.low > now.chances.right.high]
    if not helpful:
        return "No single change that was tried raises the chance of a right answer beyond what chance alone may do."
    best = max(helpful, key=lambda one: one.chances.right.value)
    return (
        f"Of the changes tried, “{best.change}” buys most: right in {share_words(best.chances.right)}, against "
        f"{share_words(now.chances.right)} as planned."
    )


def _told(telling: TellingApart, unit: str) -> str:
    design = design_words(telling.design)
    if math.isnan(telling.smallest):
        largest = telling.differences[-1]
        return (
            f"A comparison of two such makes ({design}, of either) does not tell them apart in "
            f"{100.0 * telling.wanted:.0f} of 100 tests, even where their means differ by {largest:.2g} {unit}."
        )
    return (
        f"A comparison of two such makes ({design}, of either) tells them apart in {100.0 * telling.wanted:.0f} of 100 "
        f"tests where their means differ by {telling.smallest:.2g} {unit} ({telling.low:.2g} to {telling.high:.2g})."
    )


def _box(one: BoxPlan) -> str:
    noticed = f"{100.0 * one.share:.3g} % bad balls"
    if one.lot is not None:
        bad = "1 bad ball" if one.bad_in_lot == 1 else f"{one.bad_in_lot} bad balls"
        whole = " (that is every ball)" if one.balls >= one.lot else ""
        text = (
            f"Of {one.lot} balls look at {one.balls}{whole} and find none bad: with {bad} or more among them that "
            f"would happen in at most {100.0 * (1.0 - one.confidence):.3g} % of cases."
        )
    else:
        text = (
            f"Of very many balls look at {one.balls} and find none bad: with {noticed} or more that would happen in at "
            f"most {100.0 * (1.0 - one.confidence):.3g} % of cases."
        )
    if one.measured is not None and one.measured < one.balls:
        text += (
            f" Where one limit is in question and values are normal, reading {one.measured} balls is enough: their "
            f"mean must lie {one.factor:.2f} of their SDs inside it."
        )
    return text
