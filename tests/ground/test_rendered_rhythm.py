"""Limb rhythm of rendered animals, through a starved encoder whose key frames beat inside the band.

The truth is the scenario's cadence, strokes of either hind foot a minute. The feet take turns, so one foot
(and the rocking of the body) comes round at half of it: either line is right, and none between.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from nestwatch.footage.records import Burst
from nestwatch.ground.rhythm import burst_motion
from nestwatch.synthetic import load_scenario
from nestwatch.synthetic.layout import apparent
from nestwatch.synthetic.painter import Painter
from nestwatch.synthetic.story import Actor, Event, Story, make_story
from nestwatch.synthetic.video import record

FPS, SECONDS, KEY_S, KBIT = 6, 60.0, 4.0, 160
KEY_HZ = 1 / KEY_S


@dataclass(frozen=True)
class Filmed:
    """A burst, the animal's (row, column) in it, and its shell length in pixels."""

    burst: Burst
    spot: tuple[float, float]
    shell_px: float


def story(per_minute: float, seed: int) -> Story:
    """A night of one nest by infrared, recorded at few bits with a key frame every 4 s."""
    video = {"video.fps": FPS, "video.gop_s": KEY_S, "video.bitrate_kbit": KBIT, "video.clock_text": False}
    cadence = {"animal.event.cadence": [per_minute, per_minute], "light.switch_at": "17:30"}
    return make_story(load_scenario("plain-nest", {**video, **cadence}), seed)


def bout(actor: Actor, event: Event, per_minute: float) -> float:
    """When strokes go on for `SECONDS` without a pause, seconds into the night."""
    dig = next(stage for stage in event.stages if stage.stage == "dig")
    clock = np.arange(dig.start, dig.end, 0.25)
    moves = clock[[actor.pose(t) != actor.pose(t + 0.25) for t in clock]]
    breaks = np.flatnonzero(np.diff(moves) > 1.2 * 60 / per_minute)
    starts, ends = np.r_[moves[0], moves[breaks + 1]], np.r_[moves[breaks], moves[-1]]
    longest = int(np.argmax(ends - starts))
    assert ends[longest] - starts[longest] >= SECONDS
    return float(starts[longest])


def filmed(folder: Path, per_minute: float, seed: int, *, resting: bool = False) -> Filmed:
    """The animal at work; `resting`: half an hour before it comes, on the same ground."""
    told = story(per_minute, seed)
    actor = told.actors[0]
    event = next(event for event in actor.events if event.kind == "nest")
    start = event.wander - 1800 if resting else bout(actor, event, per_minute)
    painter = Painter(told, "sandbank")
    record(folder / "burst.mp4", told.scenario.video, start + np.arange(0, SECONDS, 1 / FPS), painter.paint)
    length, _, (x, y) = apparent(painter.lens, event.body(actor.shell_m), event.heading, actor.shell_m)
    left, top = max(0, int(x - 3 * length)), max(0, int(y - 3 * length))
    part = np.s_[top : int(y + 3 * length), left : int(x + 3 * length)]
    with av.open(folder / "burst.mp4") as container:
        frames = [frame for frame in container.decode(video=0) if isinstance(frame, av.VideoFrame)]
    burst = Burst(
        np.array([1.78e9 + (frame.time or 0.0) for frame in frames]),
        np.stack([frame.to_ndarray(format="gray")[part] for frame in frames]),
        np.array([frame.key_frame for frame in frames]),
        1.0,
        (left, top),
    )
    return Filmed(burst, (y - top, x - left), length)


def loudest_hz(luma: NDArray[np.uint8]) -> float:
    """The strongest line of the frames' differences, as a plain spectrum shows it (0.08 to 1 Hz)."""
    pulse = np.abs(np.diff(luma.astype(np.float32), axis=0)).mean(axis=(1, 2))
    power = np.abs(np.fft.rfft((pulse - pulse.mean()) * np.hanning(len(pulse)))) ** 2
    hz = np.fft.rfftfreq(len(pulse), 1 / FPS)
    band = (hz >= 0.08) & (hz <= 1.0)
    return float(hz[band][np.argmax(power[band])])


@pytest.mark.parametrize(("per_minute", "seed"), [(8.0, 1), (20.0, 3), (26.0, 1)])
def test_the_cadence_is_recovered_within_a_tenth(tmp_path: Path, per_minute: float, seed: int) -> None:
    seen = filmed(tmp_path, per_minute, seed)
    motion = burst_motion(seen.burst, seen.spot, seen.shell_px)
    assert motion is not None
    either, one = per_minute / 60, per_minute / 120
    assert motion.peak_hz == pytest.approx(either, rel=0.1) or motion.peak_hz == pytest.approx(one, rel=0.1)
    assert abs(motion.peak_hz - KEY_HZ) > 0.02
    assert motion.energy > 1.0


def test_the_key_frames_do_beat_in_these_recordings(tmp_path: Path) -> None:
    """Else the test above would show nothing: on still ground a plain spectrum finds the key frames (or a
    harmonic), where the notched one finds no limbs."""
    still = filmed(tmp_path, 12.0, 1, resting=True)
    assert loudest_hz(still.burst.luma) % KEY_HZ == pytest.approx(0, abs=0.02)
    motion = burst_motion(still.burst, still.spot, still.shell_px)
    assert motion is not None
    assert motion.energy < 0.5
