"""What a change of the plan would buy: a better caliper, a calibration, a repeat, more balls, an hour more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ballbench.errors import BadRequest, Fault
from ballbench.findings.planning.blocks import Place, Progress
from ballbench.findings.planning.chances import SettingChances, chances
from ballbench.findings.planning.designs import Design, Terms, TruthAt
from ballbench.findings.planning.testing import Setting
from ballbench.findings.settling import BETTER, MINUTES_A_READING

__all__ = ["Gain", "HowMany", "smallest_design", "what_it_would_buy"]

HOUR = 60.0


@dataclass(frozen=True, slots=True)
class Gain:
    """One change of the plan.

    Parameters
    ----------
    change : str
        In words; ``as planned`` for the plan itself.
    chances : SettingChances
        With the change made.
    """

    change: str
    chances: SettingChances


@dataclass(frozen=True, slots=True)
class HowMany:
    """Which design is enough.

    Parameters
    ----------
    wanted : float
        Chance of a right answer.
    tried : tuple of SettingChances
        Every design, the least work first.
    chosen : SettingChances or None
        The first that reaches it, and does not say a wrong "met" of balls that it leaves unread more often than the
        risk; None: none of those tried does.
    sure : bool
        Whether the whole 95 % interval of the chosen one lies at or above `wanted`.
    with_calibration, with_noise : SettingChances or None
        Where none reaches it: the best design with a quarter of the calibration's uncertainty, and with a quarter of
        the noise.
    limited_by : str
        ``calibration`` or ``noise``, where that quarter raises the chance beyond the Monte Carlo error, and more than
        the other; ``make`` where neither does, so that it is the make, or too few balls or places; empty where one is
        chosen.
    """

    wanted: float
    tried: tuple[SettingChances, ...]
    chosen: SettingChances | None
    sure: bool
    with_calibration: SettingChances | None
    with_noise: SettingChances | None
    limited_by: str

    @property
    def best(self) -> SettingChances:
        """The chosen design, or the one with the highest chance of a right answer; the least work among equals."""
        return self.chosen or max(self.tried, key=lambda one: one.right.value)


def finer(terms: Terms) -> Terms:
    """The same with an instrument of a quarter of the noise, and a display to match."""
    tool = terms.kit.tool
    kit = terms.kit.with_tool(sd=tool.sd / BETTER, resolution=tool.resolution / BETTER)
    return replace(terms, kit=kit)


def calibrated(terms: Terms) -> Terms:
    """The same with a quarter of the calibration's uncertainty."""
    tool = terms.kit.tool
    return replace(terms, kit=terms.kit.with_tool(offset_sd=tool.offset_sd / BETTER, scale_sd=tool.scale_sd / BETTER))


def what_it_would_buy(
    setting: Setting, tests: int = 400, seed: int = 1, place: Place | None = None, progress: Progress | None = None,
    planned: SettingChances | None = None,
) -> tuple[Gain, ...]:  # fmt: skip
    """Simulate the plan as it is and with one change at a time.

    Parameters
    ----------
    setting : Setting
        The plan and the truth that it meets.
    tests, seed, place, progress
        As for `chances.chances`.
    planned : SettingChances, optional
        Of the plan itself, where they are known; else they are simulated too.

    Returns
    -------
    tuple of Gain
        The plan itself first; then a quarter of the noise, a quarter of the calibration's uncertainty, one more
        repeat, twice the balls, and an hour more of repeats where a whole round of them fits into it. A change after
        which nothing can be tested is left out. A right answer is about the same number of balls in all of them.
    """
    design, truth = setting.design, setting.truth
    terms = replace(setting.terms, in_question=setting.terms.in_question or design.balls)
    rounds = int(HOUR / (design.balls * design.axes * MINUTES_A_READING))
    rows = [
        ("as planned", Setting(terms, design, truth)),
        ("an instrument of a quarter of the noise", Setting(finer(terms), design, truth)),
        ("a quarter of the calibration's uncertainty", Setting(calibrated(terms), design, truth)),
        ("one more repeat", Setting(terms, replace(design, repeats=design.repeats + 1), truth)),
        ("twice the balls", Setting(terms, replace(design, balls=2 * design.balls), truth)),
    ]
    if rounds > 0:
        longer = replace(design, repeats=design.repeats + rounds)
        rows.append((f"an hour more: every place read {rounds} times more", Setting(terms, longer, truth)))
    rows = rows[:1] + [(change, one) for change, one in rows[1:] if _testable(one)]
    wanted = rows if planned is None else rows[1:]
    found = chances([one for _, one in wanted], tests, seed, place, progress)
    found = found if planned is None else (planned, *found)
    return tuple(Gain(change, one) for (change, _), one in zip(rows, found, strict=True))


def _testable(setting: Setting) -> bool:
    """Whether anything can be tested at a setting."""
    try:
        setting.requirement()
    except BadRequest:
        return False
    return True


def smallest_design(
    terms: Terms, designs: Sequence[Design], truth: TruthAt, wanted: float = 0.9, tests: int = 400, seed: int = 1,
    place: Place | None = None, progress: Progress | None = None,
) -> HowMany:  # fmt: skip
    """Find the design of least work that gives a right answer with a wanted chance.

    Parameters
    ----------
    terms : Terms
        On which tests are judged. Where neither they nor the requirement name the balls in question, these are the
        largest number among the designs.
    designs : sequence of Design
        To choose from.
    truth : TruthAt
        The make; an answer is right when the true values of the balls in question have it so.
    wanted : float
        Chance of a right answer, between 0 and 1.
    tests, seed, place, progress
        As for `chances.chances`.

    Raises
    ------
    BadRequest
        No design, a wanted chance out of range, or as `chances.chances`.
    """
    if not designs or not 0.0 < wanted < 1.0:
        found = f"{len(designs)} designs, a wanted chance of {wanted}"
        raise BadRequest(Fault("how many balls", found, "one design or more, a chance between 0 and 1", "give both"))
    terms = replace(terms, in_question=terms.in_question or max(design.balls for design in designs))
    ordered = sorted(designs, key=lambda design: design.minutes)
    tried = chances([Setting(terms, design, truth) for design in ordered], tests, seed, place, progress)
    chosen = next((one for one in tried if one.right.value >= wanted and not _too_bold(one, terms.rule.risk)), None)
    if chosen is not None:
        return HowMany(wanted, tried, chosen, chosen.right.low >= wanted, None, None, "")
    best = HowMany(wanted, tried, None, False, None, None, "").best
    better = [Setting(calibrated(terms), best.design, truth), Setting(finer(terms), best.design, truth)]
    with_calibration, with_noise = chances(better, tests, seed, place, progress)
    limit = _limit(best, with_calibration, with_noise)
    return HowMany(wanted, tried, None, False, with_calibration, with_noise, limit)


def _too_bold(one: SettingChances, risk: float) -> bool:
    """Whether a design that leaves balls in question unread says a wrong "met" of them beyond the risk."""
    return one.design.balls < one.in_question and one.false_met.low > risk


def _limit(now: SettingChances, calibration: SettingChances, noise: SettingChances) -> str:
    """Which of the two helps, and more than the other."""
    best, name = max(((calibration, "calibration"), (noise, "noise")), key=lambda row: row[0].right.value)
    return name if best.right.low > now.right.high else "make"
