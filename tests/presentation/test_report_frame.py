"""The frame that reports share."""

from __future__ import annotations

import pytest

from ballbench.presentation.document import Paragraph
from ballbench.presentation.report_frame import answer_blocks


@pytest.mark.parametrize(("of", "first"), [(0, "lead"), (1, "lead"), (2, "body"), (21, "body")])
def test_of_several_balls_none_is_the_headline(of: int, first: str) -> None:
    """A large sentence over a list says that its ball is what the report is about."""
    blocks = answer_blocks(("Ball 01: 240 mm.", "Ball 02: 236 mm."), of)
    assert blocks == [Paragraph("Ball 01: 240 mm.", first), Paragraph("Ball 02: 236 mm.", "body")]
