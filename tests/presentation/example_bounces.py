"""Drops with known truth as findings, for the presentation's tests: two balls, one drop left out, one file refused."""

from __future__ import annotations

import numpy as np
from tests.findings.bouncing.made_drops import ball_of, known, settings, shared_of, true_times

from ballbench.findings.bouncing.balls import HeardDrop, ball_bounces
from ballbench.findings.bouncing.clauses import bounce_clauses, clauses_of
from ballbench.findings.bouncing.draws import named_rng
from ballbench.findings.bouncing.drops import drop_of, flown
from ballbench.findings.bouncing.results import BounceFindings, BounceRecording, HeardImpact, Picture
from ballbench.findings.bouncing.words import bounce_sentences, settings_words
from ballbench.findings.footing import Footing
from ballbench.records import Bench
from ballbench.specs import find_requirement

__all__ = ["bounces"]


def bounces(*, drop_height: bool = True, drops: int = 3) -> BounceFindings:
    """Give findings of Curlew 01 and Dunlin 03; with dataclasses.replace a test changes what it wants."""
    stated = settings(
        drop_height=known(305.0, 1.0) if drop_height else None, drag=None, drag_u=0.1, drag_seen=0.39,
        contact=known(1e-3, 4e-4), weighed=known(2.7, 0.003),
    )  # fmt: skip
    shared = shared_of(stated, draws=1000)
    truth = ball_of(settings(drag=known(0.39)))
    recordings, balls, left = [], {}, {}
    for product, ball, first in (("Curlew", "01", 0.93), ("Dunlin", "03", 0.895)):
        made, counted = [], []
        for number in range(1, drops + 1):
            kept = first + 0.001 * np.arange(6) + 0.0005 * number
            height = 0.6 if (product, number) == ("Dunlin", 2) and drop_height else 0.305
            impacts = [
                HeardImpact(float(time) + 4.0 * number, 2e-5, 30.0, "by hand" if product == "Dunlin" else "found")
                for time in true_times(height, list(kept), truth)
            ]
            drop, drawn = drop_of(number, impacts, shared, named_rng(1, product, str(number)), ())
            made.append(drop)
            if drawn is not None:
                counted.append(HeardDrop(drawn, flown(impacts, shared, None)))
        times = np.linspace(0.0, 4.0 * drops + 6.0, 2000)
        loud = np.zeros(times.size)
        for drop in made:
            for hit in drop.impacts:
                loud += np.exp(-np.abs(times - hit.time) / 0.01)
        picture = Picture(tuple(times.tolist()), tuple((-0.5 * loud).tolist()), tuple((0.6 * loud).tolist()))
        recordings.append(
            BounceRecording(
                f"{product}_{ball}.wav", f"sha256:{'ab' * 32}", product, ball, drops=tuple(made), seconds=20.0,
                rate=48_000, by_hand=product == "Dunlin", picture=picture,
            )
        )  # fmt: skip
        balls[product, ball] = counted
        left[product, ball] = len(made) - len(counted)
    recordings.append(BounceRecording("talk.wav", "", "talk", "1", refused="No bouncing ball was heard; record again."))
    found, draws = ball_bounces(balls, left, 1)
    requirement = find_requirement("table-tennis-plastic")
    facts = {"drop_height": "305.0 mm", "surface": "steel block"}
    clauses = clauses_of(draws, bounce_clauses(requirement.clauses), Bench(), facts, 40.0, accept_unverified=False)
    out = BounceFindings(
        tuple(recordings), found, tuple(clauses), stated, 1, 1000, requirement,
        Footing(True, settings_words(stated), ("Drop from a fixed stand.",)),
        command='ballbench listen FILES --ball "40 mm, 2.7 g" --seed 1',
    )  # fmt: skip
    return BounceFindings(
        **{**{name: getattr(out, name) for name in out.__slots__}, "sentences": bounce_sentences(out)}
    )
