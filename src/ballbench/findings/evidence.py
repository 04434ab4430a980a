"""What was measured of one quantity of one product, drawn once and counted for every clause on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ballbench.findings.alone import alone_chances
from ballbench.findings.results import QuantityFinding, Truth
from ballbench.findings.tally import Tally
from ballbench.quantities.units import factor
from ballbench.specs import Clause, Reading
from ballbench.statistics.grids import log_half_cauchy
from ballbench.statistics.latent import Latent
from ballbench.statistics.posterior import Posterior, Truths
from ballbench.statistics.prediction import predict, predict_with_form
from ballbench.statistics.preparation import Prepared, engine, shared_draws
from ballbench.statistics.reductions import BallValues, over_balls
from ballbench.statistics.study import Floats, Study
from ballbench.statistics.whole_ball import MIXES, Field
from ballbench.statistics.whole_ball import field as whole_field

__all__ = ["KEPT", "PRIOR_FACTORS", "Evidence", "Track", "prior_log_weight", "truth_of"]

PRIOR_FACTORS = (1 / 3, 3.0)
"""The prior scale A is also taken a third and three times as large; a decision that flips is undecided."""
KEPT = 2048
WHOLE_BLOCK = 256
FEWEST_EFFECTIVE = 2000
"""Independent draws that tell a chance near 95 % to half a per cent."""


def truth_of(draws: Floats, scale: float = 1.0) -> Truth:
    """Median and central 95 % interval of draws (N,), times `scale`."""
    low, median, high = np.quantile(draws, [0.025, 0.5, 0.975]) * scale
    return Truth(float(median), float(low), float(high))


def prior_log_weight(truths: Truths, study: Study, times: float) -> Floats:
    """Log of how much each draw, (M,), would weigh if the prior scale of the study were `times` as large."""
    base = study.prior_scale
    log = np.zeros(truths.sb.size)
    if study.shape[1] > 1:
        log += log_half_cauchy(truths.sb, base * times) - log_half_cauchy(truths.sb, base)
    if study.has_form:
        form = np.exp(truths.m)
        log += log_half_cauchy(form, base * times) - log_half_cauchy(form, base)
    return log


@dataclass(slots=True)
class Track:
    """One reading of one clause, with its counts on the axes read, ball by ball alone, and over the whole ball."""

    clause: Clause
    reading: Reading
    tally: Tally
    extra: int = 0
    alone: Floats | None = None
    whole: list[Tally] = field(default_factory=list)


class Evidence:
    """Draws of one quantity of one product, and the clauses counted over them.

    Parameters
    ----------
    prepared : Prepared
        The readings and their errors.
    clauses : list of Clause
        Those on this quantity that can be tested.
    rng : numpy.random.Generator
        Of this product and quantity.
    seed : int
        Of the whole judgement, for shared errors.
    keep_balls : int
        Draws of every ball to keep for pictures; 0 for none.
    unread : mapping of clause id to int
        Balls of the sample that an allowance counts, but that were not read.
    """

    def __init__(
        self,
        prepared: Prepared,
        clauses: list[Clause],
        rng: np.random.Generator,
        seed: int,
        keep_balls: int,
        unread: dict[str, int],
    ) -> None:
        self.prepared, self.seed, self.rng, self.clauses = prepared, seed, rng, clauses
        self.unit = clauses[0].unit
        self.scale = factor(clauses[0].base_unit, self.unit)
        self.n = prepared.study.shape[1]
        self.k = prepared.study.shape[2]
        self.tracks = [
            Track(clause, reading, Tally(reading, self.n, keep_balls), unread.get(clause.id, 0))
            for clause in clauses
            for reading in clause.readings
        ]
        counts = prepared.study.counts
        self.read: NDArray[np.bool_] | None = None if (counts > 0).all() else (counts > 0).T
        self.log_prior: list[list[Floats]] = [[] for _ in PRIOR_FACTORS]
        self.drawn = 0
        self._kept: dict[str, list[Floats]] = {
            "mean": [], "these": [], "sb": [], "form": [], "places": [], "variation": []
        }  # fmt: skip
        self.first_truths: list[Truths] = []

    @cached_property
    def engine(self) -> Posterior | Latent:
        """What the true values are drawn from; laid out at the first draw, so that the simple rule pays nothing."""
        return engine(self.prepared, self.rng)

    @property
    def has_form(self) -> bool:
        """Whether two places of a ball or more were read."""
        return self.prepared.study.has_form

    def draw(self, draws: int, whole: int) -> None:
        """Draw another round and count every clause over it.

        Parameters
        ----------
        draws : int
            How many.
        whole : int
            How many of the first round's draws go on to the whole ball.
        """
        shared = shared_draws(self.prepared.shared, self.seed, self.drawn, draws)
        for truths in self.engine.sample(self.rng, draws, shared):
            values = BallValues(truths.values, self.read)
            further: dict[int, BallValues] = {}
            for track in self.tracks:
                if track.extra and track.extra not in further:
                    further[track.extra] = BallValues(predict(truths, track.extra, self.rng))
                track.tally.add(values, further.get(track.extra))
            self._note(truths, values)
            if not self.first_truths:
                self.first_truths.append(truths)
            if self.drawn == 0 and truths.first < whole:
                self._over_whole_ball(truths, min(whole - truths.first, truths.sb.size))
        self.drawn += draws

    def _note(self, truths: Truths, values: BallValues) -> None:
        """Keep what describes the quantity, and how each draw would weigh under other priors."""
        self._kept["mean"].append(truths.mean)
        self._kept["these"].append(values("mean").mean(axis=0))
        if self.n > 1:
            self._kept["sb"].append(truths.sb)
        if self.has_form:
            self._kept["form"].append(np.exp(truths.m))
            self._kept["places"].append(np.sqrt((truths.sf**2).mean(axis=0)))
            self._kept["variation"].append(values("range").mean(axis=0))
        for store, times in zip(self.log_prior, PRIOR_FACTORS, strict=True):
            store.append(prior_log_weight(truths, self.prepared.study, times))

    def _over_whole_ball(self, truths: Truths, draws: int) -> None:
        """Count the clauses that form plays a part in over all directions of the ball."""
        tracks = [t for t in self.tracks if self.has_form and t.clause.quantity == "diameter"]
        if not tracks:
            return
        extras = {track.extra for track in tracks if track.extra}
        for number, mix in enumerate(MIXES):
            model = whole_field(self.k, mix)
            take = draws if number == 0 else max(draws // 2, 1)
            for start in range(0, take, WHOLE_BLOCK):
                part = slice(start, min(start + WHOLE_BLOCK, take))
                directions = model.over(np.ascontiguousarray(truths.values[:, :, part]), truths.sf[:, part], self.rng)
                values = BallValues(directions)
                further = {extra: self._further(truths, part, model, extra) for extra in extras}
                for track in tracks:
                    while len(track.whole) <= number:
                        track.whole.append(Tally(track.reading, self.n))
                    track.whole[number].add(values, further.get(track.extra))

    def _further(self, truths: Truths, part: slice, model: Field, extra: int) -> BallValues:
        """Unread balls of the sample over all directions, for some of the draws."""
        values, form = predict_with_form(truths, extra, self.rng)
        return BallValues(model.over(np.ascontiguousarray(values[:, :, part]), form[:, part], self.rng))

    def judge_alone(self, draws: int = KEPT) -> None:
        """Give each track the chance of every ball judged from its own readings alone."""
        written = [j for j in range(self.k) if self._written(j)]
        shared = shared_draws(self.prepared.shared, self.seed, 0, draws)[None, :]
        readings = [track.reading for track in self.tracks]
        chances = alone_chances(self.prepared.study, shared, readings, self.rng, written, self._blur())
        for track, chance in zip(self.tracks, chances, strict=True):
            track.alone = None if chance is None else chance[:, 0]

    def _blur(self) -> tuple[float, float]:
        """Where an unrounded reading lies about the displayed one, for a display that counts as coarse."""
        bounds = self.prepared.bounds
        if bounds is None or bounds.hidden:
            return 0.0, 0.0
        step = self.prepared.step
        return (0.0, step) if self.prepared.instrument.display == "truncates" else (-0.5 * step, 0.5 * step)

    def _written(self, j: int) -> bool:
        """Whether axis j was written down, rather than being a hidden look."""
        bounds = self.prepared.bounds
        return bounds is None or j not in bounds.hidden

    def as_read(self, reading: Reading) -> tuple[Floats, float | None]:
        """Raw value of every ball, (n,), and the clause's statistic of the raw values (None for ``each``)."""
        sample = self.prepared.sample
        raw = BallValues(np.nan_to_num(sample.mean).T[:, :, None], (sample.count > 0).T)
        ball = raw(reading.ball)
        if reading.sample == "each":
            return ball[:, 0], None
        return ball[:, 0], float(over_balls(ball, reading.sample)[0])

    def some_truths(self, draws: int) -> Truths:
        """Give the first draws of the first round, kept for whatever needs a few of them."""
        kept = self.first_truths[0]
        cut = slice(0, draws)
        return Truths(
            kept.values[:, :, cut], kept.level[:, cut], kept.mean[cut], kept.sb[cut], kept.se[cut], kept.m[cut],
            kept.om[cut], kept.sf[:, cut], kept.axis[:, cut], kept.shared[cut], 0,
        )  # fmt: skip

    def prior_weights(self) -> list[Floats]:
        """Weights of the draws under the other prior scales, each summing to 1."""
        out = []
        for store in self.log_prior:
            log = np.concatenate(store)
            weight = np.exp(log - log.max())
            out.append(weight / weight.sum())
        return out

    def notes(self) -> tuple[str, ...]:
        """Say what must be known of how these readings were taken and drawn from."""
        quantity = self.prepared.sample.quantity
        notes = [f"{quantity}: {note}" for note in self.prepared.notes]
        if self.drawn and isinstance(self.engine, Latent):
            notes.append(f"{quantity}: drawn by chains that agree to a split R-hat of {self.engine.rhat:.3f}")
        if self.drawn and self.drawn * self.engine.effective < FEWEST_EFFECTIVE:
            number = int(self.drawn * self.engine.effective)
            notes.append(f"{quantity}: the draws count as about {number} independent ones, so that chances are rough")
        sittings = {kind.name: kind for kind in self.prepared.study.kinds}
        for name, kind in sittings.items():
            by_ball = kind.shares.sum(axis=1)
            if bool(((by_ball > 0).sum(axis=1) == 1).all()):
                notes.append(
                    f"{quantity}: every ball was read with one level of {name} only, so that levels and balls mix"
                )
        return tuple(notes)

    def kept(self, name: str) -> Floats:
        """Draws (N,) of what describes the quantity, base unit; empty where the readings do not show it.

        Parameters
        ----------
        name : str
            ``mean`` (of balls like these), ``these`` (mean of these balls on the places read), ``sb``, ``form``
            (typical SD between places), ``places`` (the same, root mean square over the balls), ``variation``.
        """
        parts = self._kept[name]
        return np.concatenate(parts) if parts else np.empty(0)

    def describe(self) -> QuantityFinding:
        """Summarise the quantity in the unit of its clauses."""
        unit, scale = self.unit, self.scale
        sample = self.prepared.sample
        kept = {name: self.kept(name) for name in self._kept}
        raw = None
        if self.has_form:
            raw = float(np.mean(np.nanmax(sample.mean, axis=1) - np.nanmin(sample.mean, axis=1))) * scale
        nothing = Truth(float("nan"), float("nan"), float("nan"))
        return QuantityFinding(
            quantity=sample.quantity, unit=unit, balls=self.n, readings=int(sample.count.sum()),
            axes=len(sample.axes),
            mean=truth_of(kept["mean"], scale),
            ball_sd=truth_of(kept["sb"], scale) if kept["sb"].size else nothing,
            noise_sd=self.prepared.instrument.sd * scale, shared_sd=self.prepared.shared_sd * scale,
            form_sd=truth_of(kept["form"], scale) if kept["form"].size else None,
            variation_raw=raw,
            variation=truth_of(kept["variation"], scale) if kept["variation"].size else None,
        )  # fmt: skip
