"""A line for each command that needs words: what is shown to whoever left one out."""

from __future__ import annotations

__all__ = ["EXAMPLES"]

EXAMPLES: dict[str, str] = {
    "judge": "ballbench judge readings.csv --spec table-tennis-plastic",
    "compare": "ballbench compare readings.csv --quantity diameter",
    "plan": "ballbench plan --spec table-tennis-plastic --true-sd 0.03",
    "vee": "ballbench vee vee.csv",
    "press": "ballbench press press.csv",
    "listen": 'ballbench listen Curlew_07.m4a --ball "40 mm, 2.7 g" --drop-height "305 mm"',
    "roll": "ballbench roll ramp.csv",
    "trace": 'ballbench trace Curlew_07.jpg --scale "0.08 mm/px"',
    "watch": 'ballbench watch Curlew_07_film.mp4 --ball "40 mm, 2.7 g"',
}
"""By the name of the command; the files are those of the invented winter league, or of the guides."""
