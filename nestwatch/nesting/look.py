"""One stay looked at closely: what it shows in numbers, what that is called, and where the eggs would lie."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from nestwatch.footage.records import Burst
from nestwatch.ground.ends import dig_begins
from nestwatch.ground.measure import Body, Change, Cutout, cut_out, find_body, ground_change
from nestwatch.ground.records import CELL, Bins, Floats
from nestwatch.ground.rhythm import Motion, burst_motion
from nestwatch.ground.spot import series_at
from nestwatch.ground.stir import weather_steps
from nestwatch.nesting.call import call_of, reasons_of
from nestwatch.nesting.chamber import Chamber, Clue, find_chamber
from nestwatch.nesting.elsewhere import NOTHING_MOVED, Elsewhere
from nestwatch.nesting.evidence import (
    GROUND_CLEAR,
    NEST_STORY,
    Evidence,
    dug,
    likelihood,
    may_have_dug,
    story_evidence,
    swaying,
)
from nestwatch.nesting.hanging import NOTHING, Hanging
from nestwatch.nesting.records import Dig, Point, Stage
from nestwatch.nesting.stages import Told, active_levels, tell
from nestwatch.nesting.stays import Stay, wide

BURST_S = 40.0
_BURSTS = 6
_UNSEEN_DIG_MIN = (15.0, 330.0)
_HIDDEN = 0.10
_LIMBS = 0.4
_SOIL_CLUE = 5.0
_LONGEST_SHELLS = 1.9
_LONGEST_SEARCH_S = 40 * 60.0
_FAR_SHELLS = 4.0
_NAN = float("nan")


@dataclass(frozen=True, slots=True)
class BurstView:
    """A burst around a spot. `spot`: (row, column) of the spot in the burst's picture.

    `per_skim`: burst pixels per skim pixel.
    """

    burst: Burst
    spot: tuple[float, float]
    per_skim: float


BurstReader = Callable[[float, float, float, float], BurstView | None]
"""(POSIX start, seconds, window row, window column) to frames around that spot; None if nothing was read."""


@dataclass(frozen=True, slots=True)
class Context:
    """What digs need to know of the camera. `wanted`: bool (rows, columns) of the window, True in nesting
    zones. `zone_of`: name of the nesting zone at a picture point. `nesting`: nesting hours, POSIX seconds.
    `fog`: stretches (POSIX seconds) in which fog, blur or glare weakened the whole picture. `hanging`: what
    moved before the lens in one place for hours. `moved`: all that changed from frame to frame.
    """

    camera: str
    wanted: NDArray[np.bool_]
    zone_of: Callable[[Point], str]
    nesting: tuple[float, float]
    fog: tuple[tuple[float, float], ...] = ()
    hanging: Hanging = NOTHING
    moved: Elsewhere = NOTHING_MOVED


class Look:
    """One stay looked at closely; each question is answered once."""

    def __init__(
        self, bins: Bins, stir: Floats, stay: Stay, context: Context, read_burst: BurstReader
    ) -> None:
        self.blur = bins.grid.shell_px
        bins = bins.at(stay.row)
        self.bins, self.stay, self.context = bins, stay, context
        self.shell = bins.grid.shell_px
        # Energy was blurred by the usual shell: a small one's limbs may show a cell further out.
        reach, span = 0.5 * max(self.shell, self.blur), (stay.first, stay.last)
        self.glare = _glare_at(bins, stay)
        series = series_at(bins, stir, (stay.row, stay.column), span, reach_px=reach)
        self.series = np.where(self.glare, np.float32("nan"), series)
        spell = bins.spell[stay.first : stay.last]
        self.told: dict[str, Told] = tell(self.series, bins.step_s, spell=spell)
        self.active = np.nan_to_num(self.series, nan=-9.0) > active_levels(self.series, spell)
        self.cutout: Cutout = cut_out(bins, stay.row, stay.column, stay.first, stay.last)
        self.body: Body | None = find_body(self.cutout, bins, stay.row, stay.column)
        self.centre = (self.body.row, self.body.column) if self.body else (stay.row, stay.column)
        self.change: Change | None = ground_change(self.cutout, bins, *self.centre)
        self.views: list[tuple[BurstView, Motion]] = []
        self.evidence = self._evidence(stir)
        # Bursts are the dearest part of a night: only what could be a dig without them is worth them.
        if may_have_dug(self.evidence) and self.worth_listing():
            self.views = self._bursts(read_burst)
            self.evidence = self._with_bursts(self.evidence)

    def worth_listing(self) -> bool:
        """False for a flicker that neither showed an animal nor worked long enough to be digging."""
        e = self.evidence
        if np.isnan(e.looks):
            # Stirring with nothing seen over the ground is a plant or weather unless bursts show limbs.
            lasted = e.stirred_min >= _UNSEEN_DIG_MIN[0] and e.minutes <= _UNSEEN_DIG_MIN[1]
            hidden = e.hidden > _HIDDEN or (e.nest_over_trial > NEST_STORY and e.company < 0.3)
            plant = (swaying(e) and e.nest_over_trial < NEST_STORY) or self._all_along()
            return dug(e) and lasted and hidden and not e.limbs < _LIMBS and not plant
        whole = self.stay.start_seen and self.stay.end_seen
        return whole or dug(e) or (self.body is not None and e.looks > 0.5)

    def _all_along(self) -> bool:
        """True where it never came and never went: no animal digs from a recording's start to its end."""
        return not (self.stay.start_seen or self.stay.end_seen)

    def dig(self) -> Dig:
        """The finished record."""
        chance = likelihood(self.evidence)
        call = call_of(self.evidence, chance)
        chamber, stay, bins = self._chamber(), self.stay, self.bins
        grid = bins.grid
        scale = sum(grid.to_picture) / 2
        start, end = self._time(stay.first), self._time(stay.last)
        point = grid.picture_point(chamber.row, chamber.column)
        return Dig(
            camera=self.context.camera,
            zone=self.context.zone_of(point),
            start=start,
            end=end,
            start_seen=stay.start_seen,
            end_seen=stay.end_seen,
            call=call,
            likelihood=round(chance, 3),
            reasons=reasons_of(self.evidence, call),
            stages=self._stages(call, (chamber.row, chamber.column)),
            chamber=point,
            chamber_radius_px=chamber.radius * scale,
            body=grid.picture_point(*self.centre),
            shell_length_px=self.body.length * scale if self.body else None,
            in_nesting_hours=self.evidence.in_hours,
            before_at=self._middle(self.cutout.before_bins),
            during_at=self._during(),
            after_at=self._middle(self.cutout.after_bins),
        )

    def _bursts(self, read_burst: BurstReader) -> list[tuple[BurstView, Motion]]:
        out = []
        for index in self._burst_bins():
            at = float(self.bins.times[self.stay.first + index])
            view = read_burst(at, BURST_S, *self.centre)
            if view is None:
                continue
            motion = burst_motion(view.burst, view.spot, max(self.shell, self.blur) * view.per_skim)
            if motion is not None:
                out.append((view, motion))
        return out

    def _burst_bins(self) -> list[int]:
        """Bins to look at in full rate: spread over the most active part of the stay."""
        active = np.flatnonzero(self.active)
        picks = active[(np.linspace(0.05, 0.95, _BURSTS) * (len(active) - 1)).astype(int)]
        return [int(i) for i in np.unique(picks)]

    def _evidence(self, stir: Floats) -> Evidence:
        stay, bins = self.stay, self.bins
        active, hidden = self.active, self._hidden()
        minutes = (self._time(stay.last) - self._time(stay.first)).total_seconds() / 60
        shown = float(bins.shown_s[stay.first : stay.last].sum()) / 60
        start, end = bins.times[stay.first], bins.times[stay.last - 1]
        return Evidence(
            minutes=minutes,
            stirred_min=float(active.sum()) * bins.step_s / 60,
            **story_evidence(self.told, bins.step_s),
            strength=self._strength(),
            limbs=_NAN,
            best_burst=_NAN,
            rhythm=_NAN,
            ground=self.change.amount - 1.5 * self.change.around if self.change else _NAN,
            looks=stay.looks if self._outlined(hidden) else _NAN,
            length_ratio=self.body.length / self.shell if self.body else _NAN,
            in_hours=bool(start < self.context.nesting[1] and end > self.context.nesting[0]),
            unseen_min=max(0.0, minutes - shown),
            company=self._company(stir),
            hidden=hidden,
            weather=min(weather_steps(bins, edge) for edge in (stay.first, stay.last)),
            start_seen=stay.start_seen,
            end_seen=stay.end_seen,
            wide=wide(stay, self.shell) or self._too_long() or stay.within,
            fogged_min=self._fogged_min(),
            glared=float(self.glare.mean()),
            leaves=stay.leaves,
            hung=self._hung(),
            moved=self._moved(),
        )

    def _span(self) -> tuple[float, float]:
        """The stay's start and end, POSIX seconds."""
        return self._time(self.stay.first).timestamp(), self._time(self.stay.last).timestamp()

    def _in_skim(self) -> tuple[float, float]:
        """(row, column) of the stay in the skim picture, of which the window is a part."""
        return self.stay.row + self.bins.grid.top, self.stay.column + self.bins.grid.left

    def _hung(self) -> float:
        return self.context.hanging.share(*self._span(), *self._in_skim())

    def _moved(self) -> float:
        return self.context.moved.per_frame(*self._span(), *self._in_skim(), _FAR_SHELLS * self.shell)

    def _fogged_min(self) -> float:
        start, end = self._span()
        return sum(max(0.0, min(end, high) - max(start, low)) for low, high in self.context.fog) / 60

    def _outlined(self, hidden: float) -> bool:
        """False where the spot looks like the ground beside it, or one side alone shows no outline."""
        whole = self.stay.start_seen and self.stay.end_seen
        # Inside a shadow the ground beside it changes as well and proves nothing.
        return self.stay.within or (not hidden <= _HIDDEN and (whole or self.body is not None))

    def _too_long(self) -> bool:
        return self.body is not None and self.body.length > _LONGEST_SHELLS * self.shell

    def _with_bursts(self, evidence: Evidence) -> Evidence:
        if not self.views:
            return evidence
        energy, beat = ([getattr(m, key) for _, m in self.views] for key in ("energy", "peak_ratio"))
        return replace(
            evidence,
            limbs=float(np.median(energy)),
            best_burst=float(sorted(energy)[-2:][0]),
            rhythm=float(np.median(beat)),
        )

    def _strength(self) -> float:
        """How far active half minutes lie above quiet ones: limbs work and pause, an encoder only wavers."""
        loud, calm = self.series[self.active], self.series[~self.active & np.isfinite(self.series)]
        if not len(loud):
            return _NAN
        quiet = float(calm.mean()) if len(calm) >= 4 else float(np.percentile(loud, 8))
        return float(np.median(loud)) - quiet

    def _hidden(self) -> float:
        """How much less the spot looks like the ground on either side of the stay than its rim does."""
        cut, out = self.cutout, []
        for side in (cut.before, cut.after):
            if side is not None:
                part = replace(cut, before=cut.inside, after=side)
                change = ground_change(part, self.bins, *self.centre)
                out.append(change.amount - change.around if change else _NAN)
        return min(out, default=_NAN)

    def _company(self, stir: Floats) -> float:
        """Correlation of quick changes here with the most stirred twentieth of the cells far from here."""
        part = np.nan_to_num(stir[self.stay.first : self.stay.last])
        if len(part) < 20:
            return 0.0
        rows, columns = np.ogrid[: part.shape[1], : part.shape[2]]
        away = np.hypot(rows - self.stay.row / CELL, columns - self.stay.column / CELL)
        far = away > _FAR_SHELLS * self.shell / CELL
        elsewhere = np.percentile(part[:, far], 95, axis=1)
        here, there = (_quick(series) for series in (np.nan_to_num(self.series), elsewhere))
        spread = float(here.std() * there.std())
        return float((here * there).mean()) / spread if spread > 1e-6 else 0.0

    def _chamber(self) -> Chamber:
        clues = [clue for view, motion in self.views for clue in [_burst_clue(view, motion, self)] if clue]
        soil = None
        if self.change and self.evidence.ground > GROUND_CLEAR:
            clues.append(Clue(self.change.row, self.change.column, _SOIL_CLUE))
            soil = Clue(self.change.row, self.change.column, 0.35)
        length = self.body.length if self.body else self.shell
        length = float(np.clip(length, 0.75 * self.shell, 1.2 * self.shell))
        axis = self.body.angle if self.body and self.body.elongation > 1.12 else None
        return find_chamber(self.centre, length, axis=axis, clues=clues, soil=soil)

    def _stages(self, call: str, rear: tuple[float, float]) -> tuple[Stage, ...]:
        story = call if call in self.told else max(("nest", "trial"), key=lambda name: self.told[name].score)
        parts = [p for p in self.told[story].parts if p[0] in ("dig", "lay", "cover")]
        if parts and parts[0][0] == "dig":
            parts = self._searched(*parts[0][1:], rear) + parts[1:]
        return tuple(
            Stage(name, self._time(self.stay.first + a), self._time(self.stay.first + b))  # type: ignore[arg-type]
            for name, a, b in parts
        )

    def _searched(self, first: int, last: int, rear: tuple[float, float]) -> list[tuple[str, int, int]]:
        """The dig, and the search before it: from her coming, however quiet, to the hind end's first work."""
        begin = self.stay.first
        started = dig_begins(self.bins, self.centre, rear, begin + first, begin + last) - begin
        came = 0 if first * self.bins.step_s <= _LONGEST_SEARCH_S else first
        dig = ("dig", started, last)
        return [("search", came, started), dig] if started > came else [dig]

    def _time(self, index: int) -> datetime:
        times = self.bins.times
        at = times[index] if index < len(times) else times[-1] + self.bins.step_s
        return datetime.fromtimestamp(float(at), UTC)

    def _middle(self, members: NDArray[np.int64]) -> datetime | None:
        return self._time(int(members[len(members) // 2])) if len(members) >= 2 else None

    def _during(self) -> datetime:
        active = np.flatnonzero(self.active)
        index = int(active[len(active) // 2]) if len(active) else len(self.series) // 2
        return self._time(self.stay.first + index)


def _quick(series: NDArray[np.float64] | Floats) -> NDArray[np.float64]:
    """What is left of a series after its running median of about ten minutes."""
    slow = median_filter(np.asarray(series, np.float64), size=21, mode="nearest")
    return np.asarray(np.clip(series - slow, -1.0, 1.0), np.float64)


def _glare_at(bins: Bins, stay: Stay) -> NDArray[np.bool_]:
    """(n,) half minutes of a stay in which something bright hid its spot."""
    if bins.glare is None:
        return np.zeros(stay.last - stay.first, np.bool_)
    row, column = min(int(stay.row // CELL), bins.glare.shape[1] - 1), int(stay.column // CELL)
    return bins.glare[stay.first : stay.last, row, min(column, bins.glare.shape[2] - 1)]


def _burst_clue(view: BurstView, motion: Motion, look: Look) -> Clue | None:
    """Centre of what moved within a shell and a bit of the spot, in window pixels."""
    rows, columns = np.indices(motion.spread.shape)
    far = np.hypot(rows - view.spot[0], columns - view.spot[1])
    near = far <= 1.0 * look.shell * view.per_skim
    # The whole outline shimmers a little as the body rocks; only what moves more than that tells the end.
    common = float(np.median(motion.spread[near] ** 2))
    weight = np.where(near, np.maximum(motion.spread**2 - common, 0.0), 0.0)
    total = float(weight.sum())
    if total <= 0 or motion.energy < 0.3:
        return None
    row = (float((weight * rows).sum()) / total - view.spot[0]) / view.per_skim + look.centre[0]
    column = (float((weight * columns).sum()) / total - view.spot[1]) / view.per_skim + look.centre[1]
    return Clue(row, column, min(2.0, motion.energy))
