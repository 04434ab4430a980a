"""The words of a budget: what each line is called, and the one sentence on what dominates it."""

from __future__ import annotations

from collections.abc import Sequence

from ballbench.findings.results import BudgetLine

__all__ = ["budget_sentence", "line_words", "parting_note", "tool_words"]

_WORDS = {
    "reading": "scatter of the readings",
    "zero": "rounding of the zero",
    "ball_temperature": "temperature of the balls",
    "expansion": "expansion of the material",
    "squeeze": "squeeze of the jaws",
    "balls": "spread between the balls",
    "places": "form between the places",
}
_ADVICE = {
    "offset": "calibrate it before reading more balls",
    "scale": "calibrate it before reading more balls",
    "reading": "more readings make this more certain",
    "zero": "press zero before each reading",
    "ball_temperature": "measure it better before reading more balls",
    "expansion": "read the balls nearer to the temperature at which the requirement holds",
    "squeeze": "find it from readings at two forces before reading more balls",
    "balls": "more balls make this more certain, a better instrument does not",
    "places": "read more places of each ball",
}
_SUBJECT = {
    "reading": "The scatter of the readings",
    "zero": "The rounding of the zero",
    "ball_temperature": "How well the temperature of the balls is known",
    "expansion": "How well the expansion of the material is known",
    "squeeze": "How far the jaws press the balls in",
    "balls": "The spread between the balls",
    "places": "The form between the places",
}


def tool_words(name: str) -> str:
    """Name an instrument as a sentence does."""
    return f"the {name}" if name else "the instrument"


def line_words(name: str, tool: str, several: int = 1) -> str:
    """Name an input as a person does.

    Parameters
    ----------
    name : str
        As the measurement equation calls it.
    tool : str
        Name of the instrument; may be empty.
    several : int
        Levels behind it.
    """
    if name == "offset":
        return f"{tool_words(tool)}'s own error" if several == 1 else f"the {several} instruments' own errors"
    if name == "scale":
        return f"{tool_words(tool)}'s scale"
    words = _WORDS[name]
    return words if several == 1 else f"{words}, {several} sittings"


def budget_sentence(lines: Sequence[BudgetLine], dominant: str, tool: str, of: str) -> str:
    """Say what dominates a budget, and what to do about it.

    Parameters
    ----------
    lines : sequence of BudgetLine
        Largest first.
    dominant : str
        `BudgetFinding.dominant`.
    tool : str
        Name of the instrument.
    of : str
        `BudgetFinding.of`.

    Returns
    -------
    str
        One sentence without a number.
    """
    counted = [line.words for line in lines if line.share > 0.0]
    if not dominant:
        return f"Nothing outweighs all the rest; most comes from: {'; then '.join(counted[:2])}."
    subject = _SUBJECT.get(dominant, "")
    if dominant in ("offset", "scale"):
        subject = f"What {tool_words(tool)}'s {'own error' if dominant == 'offset' else 'scale'} adds"
    advice = _ADVICE[dominant]
    if dominant == "reading" and of == "one reading":
        advice = "read the same place again and take the mean"
    return f"{subject} {'is all there is' if len(counted) == 1 else 'outweighs everything else'}: {advice}."


def parting_note(*, coarse: bool, several: bool, few_dof: bool, sampled: bool) -> str:
    """Say what the draws know that the budget does not, where both part.

    Parameters
    ----------
    coarse : bool
        Readings count as intervals of the display.
    several : bool
        A shared error has several levels.
    few_dof : bool
        The repeatability has under 10 degrees of freedom.
    sampled : bool
        The spread between balls is in the budget.
    """
    if coarse:
        return "the draws take every reading as an interval of the display, the budget takes its rounding as noise"
    if several:
        return "the draws also learn from the readings how far the sittings or instruments lie apart"
    if sampled:
        return "the draws weigh the spread between balls and the form together, the budget each by its middle value"
    if few_dof:
        return "the draws also learn the instrument's noise from how the readings of each ball scatter"
    return "the draws use all readings together, the budget its lines alone"
