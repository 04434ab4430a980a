from __future__ import annotations

from pathlib import Path

import pytest

from ballbench.signals import attacks, bounce_search, hearing, onset_time, short_drops

PAGE = Path(__file__).resolve().parents[2] / "docs" / "methods" / "impacts.md"
STATED = (
    f"stands {attacks._LEAST:g} dB or more",
    f"the {attacks._BEFORE} ms before it",
    f"within {1e3 * attacks._ECHO:g} ms is its echo",
    f"{bounce_search._RATIOS[0]:g} < e < {bounce_search._RATIOS[1]:g}",
    f"{bounce_search._RATIO_SD:g} T as attacks are placed and {bounce_search._TIMED_SD:g} T as onsets are timed",
    f"ratios of 1 give or take {bounce_search._BEAT_SD:g}",
    f"at least {bounce_search.FEWEST} impacts and is worth {bounce_search.ENOUGH:g} or more",
    f"give or take {bounce_search._LEVEL_SD[0]:g} dB each",
    f"those of unrelated sounds by {bounce_search._LEVEL_SD[1]:g} dB",
    f"in the {1e3 * onset_time._PAST:g} ms before",
    f"at least {100 * onset_time._FLOORS[False]:g} % of the impact's power ({100 * onset_time._FLOORS[True]:g} % where",
    f"({onset_time._OF_SPREAD:g} spread of the likelihood)^2",
    f"k = {onset_time._OF_RISE[False]:g}, or {onset_time._OF_RISE[True]:g} behind a coder",
    f"noise of {onset_time._SMEARED[0]:g} and {onset_time._SMEARED[1]:g} times the impact's power",
    f"each with a chance of {onset_time._SMEARS:g}",
    f"({onset_time._DIFFER:g} (t1 - t2))^2",
    f"t0 + {onset_time._LATER:g} (r - m), u^2 + ({onset_time._OF_EXCESS:g} (r - m))^2",
    f"its first interval is that of theirs to {100 * short_drops._LIKE_FIRST:g} %",
    f"by their ratio to {short_drops._LIKE_RATIO:g}, and its bands",
    f"those of their first impacts to {short_drops._ALIKE:g} dB",
    f"fewer than {hearing.LOWEST_RATE} samples a second, or {hearing.LOWEST_CODED} behind a coder",
    f"for more than {100 * hearing._CUT_SHARE:g} % of its time",
    f"{hearing._PUMPED:g} dB or more under that before the first",
    f"with {1e3 * hearing._BY_HAND:g} ms unless",
)


@pytest.mark.parametrize("words", STATED)
def test_numbers_that_the_page_states_are_those_of_the_program(words: str) -> None:
    """A constant that the page names is the one that the program uses."""
    assert words in " ".join(PAGE.read_text(encoding="utf-8").split())
