"""What would settle an undecided clause: simulate the new data, judge again, count how often it is decided.

Preposterior analysis: truths are drawn from the posterior, so that both ways of ending are weighed by how likely they
are; the new readings are simulated from each truth, put together with the old ones, and judged by the same engine.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ballbench.findings.alone import alone_chances
from ballbench.findings.deciding import Rule, agree, decide
from ballbench.findings.evidence import Evidence, Track
from ballbench.findings.results import Decision, Settle
from ballbench.findings.tally import Tally
from ballbench.specs import Requirement
from ballbench.statistics.grids import COARSE
from ballbench.statistics.posterior import Posterior, Truths
from ballbench.statistics.prediction import predict
from ballbench.statistics.preparation import shared_draws
from ballbench.statistics.reductions import BallValues
from ballbench.statistics.study import Floats, Noise, Study

__all__ = ["settle_quantity"]

TRUTHS = 200
DRAWS = 200
ALONE = 128
ENOUGH = 0.80
MINUTES_A_READING = 0.25
"""A caliper reading with its note takes a quarter of a minute (own choice; the bench page measures it)."""
MINUTES_CALIBRATION = 15.0
REFERENCES = {
    "diameter": "a reference piece near the ball's size",
    "circumference": "a reference piece near the ball's size",
    "mass": "a check weight near the ball's mass",
}
BETTER = 4.0
"""A better instrument has a quarter of the noise and of the calibration uncertainty."""


@dataclass(frozen=True, slots=True)
class _Option:
    """New data put together with the old: T studies, shared error of each draw (T, D + A), work, further balls read."""

    change: str
    study: Study
    shared: Floats
    minutes: float
    more: int = 0


def settle_quantity(
    item: Evidence, clauses: list[str], requirement: Requirement, rule: Rule
) -> Mapping[str, tuple[Settle, ...]]:
    """Simulate what would settle the undecided clauses on one quantity.

    Parameters
    ----------
    item : Evidence
        Drawn.
    clauses : list of str
        Identities of the undecided clauses.
    requirement : Requirement
        For the number of balls it asks for.
    rule : Rule
        The decision rule.

    Returns
    -------
    mapping of str to tuple of Settle
        By clause; sufficient changes first, the least work first among them; then the others by chance. Empty for
        balls turned in the jaws; for coarse displays, and for readings of several sittings or instruments, no
        further readings of the same kind are simulated.
    """
    if item.prepared.bounds is not None and item.prepared.bounds.hidden:
        return {}
    rng = np.random.Generator(np.random.PCG64(item.rng.integers(2**63)))
    tracks = [track for track in item.tracks if track.clause.id in clauses]
    found: dict[str, list[Settle]] = {identity: [] for identity in clauses}
    for option in _options(item, requirement, rng):
        decisions = _judge_again(option, tracks, rule, rng)
        for identity in clauses:
            at = [i for i, track in enumerate(tracks) if track.clause.id == identity]
            ends = [agree([decisions[i][t] for i in at]) for t in range(TRUTHS)]
            met, not_met = ends.count("met") / TRUTHS, ends.count("not met") / TRUTHS
            decided = met + not_met
            found[identity].append(Settle(option.change, decided, met, not_met, option.minutes, decided >= ENOUGH))
    return {
        identity: tuple(sorted(rows, key=lambda s: (not s.enough, s.minutes if s.enough else -s.probability_decided)))
        for identity, rows in found.items()
    }


def _options(item: Evidence, requirement: Requirement, rng: np.random.Generator) -> list[_Option]:
    """List what could be done, each simulated from the same truths."""
    truths = item.some_truths(TRUTHS)
    coarse = item.prepared.bounds is not None
    again = not coarse and not item.prepared.study.kinds
    options = [] if not again else [_repeats(item, truths, 1, rng), _repeats(item, truths, 4, rng)]
    missing = (requirement.sample_size or 0) - item.n
    if missing > 0 and item.n > 1 and again:
        options.append(_more_balls(item, truths, missing, rng))
    calibrated = _calibrated(item, rng)
    if calibrated is not None:
        options.append(calibrated)
    options.append(_better_instrument(item, truths, rng))
    return options


def _as_continuous(item: Evidence) -> Study:
    """The readings as they are; on a coarse display the middle of each interval, rounding counted as noise."""
    prepared = item.prepared
    if prepared.bounds is None:
        return prepared.study
    middle = 0.5 * prepared.step if prepared.instrument.display == "truncates" else 0.0
    noise = Noise(float(np.hypot(prepared.study.noise.sd, prepared.step / np.sqrt(12.0))), prepared.study.noise.dof)
    return replace(prepared.study, means=prepared.study.means + middle, noise=noise)


def _again(study: Study, means: Floats, **changes: object) -> Study:
    """The same design with T simulated data sets."""
    values: dict[str, object] = {"means": means, "sse": np.repeat(study.sse, means.shape[0])}
    values.update(changes)
    return replace(study, **values)  # type: ignore[arg-type]


def _readings(truths: Truths) -> Floats:
    """What the instrument would read of each truth without noise, (T, n, k)."""
    return np.asarray((truths.values + truths.shared).transpose(2, 1, 0))


def _shared(item: Evidence, rng: np.random.Generator, without: str = "") -> Floats:
    """Fresh draws of the shared errors for judging, (T, D + A), those of kind `without` left out."""
    total = np.zeros(DRAWS + ALONE)
    for row in item.prepared.shared:
        if row.kind != without:
            total += row.sd * row.weight * rng.standard_normal(total.size)
    return np.tile(total, (TRUTHS, 1))


def _repeats(item: Evidence, truths: Truths, times: int, rng: np.random.Generator) -> _Option:
    """Read every place again, `times` times."""
    study, new = item.prepared.study, _readings(truths)
    read = study.counts > 0
    se = truths.se[:, None, None]
    fresh = new + se / np.sqrt(times) * rng.standard_normal(new.shape)
    counts = study.counts + times * read
    old = np.where(read, np.nan_to_num(study.means), 0.0)
    means = np.where(read, (study.counts * old + times * fresh) / np.where(read, counts, 1.0), np.nan)
    between = np.where(read, study.counts * times / np.where(read, counts, 1.0) * (fresh - old) ** 2, 0.0)
    dof = int(read.sum()) * times
    within = truths.se**2 * rng.chisquare(max(dof - int(read.sum()), 1), TRUTHS) if times > 1 else 0.0
    sse = study.sse + between.sum(axis=(1, 2)) + within
    option = _again(study, means, counts=counts, sse=sse, sse_dof=study.sse_dof + dof)
    words = "read every place once more" if times == 1 else f"read every place {times} times more"
    return _Option(words, option, _shared(item, rng), float(read.sum()) * times * MINUTES_A_READING)


def _more_balls(item: Evidence, truths: Truths, missing: int, rng: np.random.Generator) -> _Option:
    """Read further balls, up to the number that the requirement asks for."""
    study = item.prepared.study
    further = predict(truths, missing, rng) + truths.shared
    readings = further.transpose(2, 1, 0)
    typical = max(round(float(study.counts[study.counts > 0].mean())), 1)
    fresh = readings + truths.se[:, None, None] / np.sqrt(typical) * rng.standard_normal(readings.shape)
    means = np.concatenate([np.repeat(study.means, TRUTHS, axis=0), fresh], axis=1)
    counts = np.concatenate([study.counts, np.full((missing, study.shape[2]), float(typical))])
    option = _again(study, means, counts=counts, kinds=())
    words = f"read {missing} more balls of this make, {item.n + missing} in all"
    return _Option(words, option, _shared(item, rng), missing * study.shape[2] * typical * MINUTES_A_READING, missing)


def _calibrated(item: Evidence, rng: np.random.Generator) -> _Option | None:
    """Compare the instrument with a reference piece: ten readings of a piece known to a tenth of a step."""
    if any(kind.name == "calibration" for kind in item.prepared.study.kinds):
        return None
    shared = [row for row in item.prepared.shared if row.kind == "calibration"]
    u = float(np.sqrt(sum((row.sd * row.weight) ** 2 for row in shared)))
    if u == 0.0:
        return None
    tool = item.prepared.instrument
    after = float(np.hypot(0.1 * item.prepared.step, tool.sd / np.sqrt(10.0)))
    offset = u * rng.standard_normal(TRUTHS)
    seen = offset + after * rng.standard_normal(TRUTHS)
    gain = u**2 / (u**2 + after**2)
    rest = u * after / np.hypot(u, after)
    errors = _shared(item, rng, without="calibration")
    errors = errors + (gain * seen)[:, None] + rest * rng.standard_normal(errors.shape[1])
    study = _as_continuous(item)
    means = np.repeat(study.means, TRUTHS, axis=0)
    option = _again(study, means)
    piece = REFERENCES.get(item.prepared.sample.quantity, "a reference of known value")
    words = f"compare the {tool.name} with {piece}, ten readings"
    return _Option(words, option, errors, MINUTES_CALIBRATION)


def _better_instrument(item: Evidence, truths: Truths, rng: np.random.Generator) -> _Option:
    """Read the same balls with an instrument four times as good, in place of the old readings."""
    study = item.prepared.study
    error = _shared(item, rng, without="calibration")
    u = float(np.sqrt(sum((r.sd * r.weight) ** 2 for r in item.prepared.shared if r.kind == "calibration"))) / BETTER
    kept = [row for row in item.prepared.shared if row.kind != "calibration"]
    true_error = u * rng.standard_normal(TRUTHS) + shared_draws(kept, item.seed, 0, TRUTHS)
    new = truths.values.transpose(2, 1, 0) + true_error[:, None, None]
    se = item.prepared.instrument.sd / BETTER
    read = study.counts > 0
    means = np.where(read, new + se * rng.standard_normal(new.shape), np.nan)
    option = _again(
        study, means, counts=read.astype(float), noise=Noise(se, 20.0), sse=np.zeros(TRUTHS), sse_dof=0, kinds=()
    )
    errors = error + u * rng.standard_normal(error.shape[1])
    words = "read the same balls with an instrument of a quarter of the noise and calibration uncertainty"
    return _Option(words, option, errors, float(read.sum()) * MINUTES_A_READING)


def _judge_again(option: _Option, tracks: list[Track], rule: Rule, rng: np.random.Generator) -> list[list[Decision]]:
    """Decide every track for every simulated data set; one list of T decisions a track."""
    study = option.study
    read = None if (study.counts > 0).all() else (study.counts > 0).T
    posterior = Posterior(study, COARSE)
    tallies = [Tally(track.reading, study.shape[1]) for track in tracks]
    shared = np.ascontiguousarray(option.shared[:, :DRAWS]).ravel()
    for truths in posterior.sample(rng, DRAWS, shared):
        values = BallValues(truths.values, read)
        for tally, track in zip(tallies, tracks, strict=True):
            unread = track.extra - option.more
            tally.add(values, BallValues(predict(truths, unread, rng)) if unread > 0 else None)
    alone = alone_chances(study, option.shared[:, DRAWS:], [track.reading for track in tracks], rng)
    out: list[list[Decision]] = []
    for track, tally, single in zip(tracks, tallies, alone, strict=True):
        chances = tally.met.reshape(TRUTHS, DRAWS).mean(axis=1)
        out.append(
            [
                decide(
                    float(chances[t]),
                    rule.spent,
                    None if single is None else single[:, t],
                    track.reading.allowed_outside,
                )
                for t in range(TRUTHS)
            ]
        )
    return out
