"""`python -m bench.decode keys|mog2 FILE`: the two yardsticks of `speed.py`, each in a process of its own.

`keys`: what any program must pay that looks at one key frame every 4 s: seek, decode with one thread and
without the loop filter, touch the luma plane. `mog2`: the obvious script, OpenCV's MOG2 with its defaults on
every frame.
"""

from __future__ import annotations

import sys
from pathlib import Path

import av
import cv2
import numpy as np

EVERY_S = 4.0


def keys(path: Path) -> int:
    """Decode the key frame at or before every fourth second; how many were seen."""
    seen = 0
    with av.open(path) as container:
        stream = container.streams.video[0]
        stream.thread_type = "NONE"
        stream.codec_context.options = {"skip_loop_filter": "all"}
        assert container.duration is not None
        assert stream.time_base is not None
        for at in np.arange(0, container.duration / av.time_base, EVERY_S):
            container.seek(int(at / stream.time_base), stream=stream)
            packet = next(container.demux(stream))
            for frame in [*stream.codec_context.decode(packet), *stream.codec_context.decode(None)]:
                seen += bool(np.asarray(frame.planes[0])[::4096].any())
            stream.codec_context.flush_buffers()
    return seen


def mog2(path: Path) -> int:
    """Feed every frame to MOG2 in colour, as a script gets it from OpenCV; how many there were."""
    cv2.setNumThreads(1)
    model = cv2.createBackgroundSubtractorMOG2()
    seen = 0
    with av.open(path) as container:
        container.streams.video[0].thread_type = "NONE"
        for frame in container.decode(video=0):
            assert isinstance(frame, av.VideoFrame)
            model.apply(frame.to_ndarray(format="bgr24"))
            seen += 1
    return seen


if __name__ == "__main__":
    print({"keys": keys, "mog2": mog2}[sys.argv[1]](Path(sys.argv[2])))
