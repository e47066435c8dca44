"""Does a preview take less time than it plays? 24-megapixel JPEG stills, a new one each frame.

    python tests/benchmarks/bench_preview.py [--frames 48] [--rounds 3]

The peer is the same preview from stills decoded at their full size, in the same run. Playing time
over making time is printed for both: above 1 the preview is there before it has been watched. The
first, warming round is not counted; every movie is opened again and its frames are counted.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from unittest import mock

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.previews import frames as preview_frames
from cropmove.previews.frames import Reel, row_of
from cropmove.previews.movie import play
from cropmove.previews.source import Source
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import find_stills

sys.path.insert(0, str(Path(__file__).parent))
from bench_render import make_stills


def reel_of(folder: Path, frames: int, on: int) -> Reel:
    """A push-in from 5600 to 2600 pixels over the stills of a folder."""
    shot = Shot(
        name="bench",
        stills=Stills(source=".", refs=find_stills(".", folder), size=Size(6000, 4000)),
        delivery=Delivery(size=Size(1920, 1080)),
        keys=(
            Key(frame=1, framing=Framing(x=3000, y=2000, width=5600)),
            Key(frame=frames, framing=Framing(x=2700, y=1900, width=2600)),
        ),
        on=on,
        frames=frames,
    )
    row = row_of(Source(shot=shot, course=shot.course()), width=960)
    return Reel(rows=(row,), fps=Fraction(24))


def seconds(reel: Reel, *, whole: bool) -> float:
    """The time that one preview takes."""
    import av

    stills = preview_frames.reduction
    began = time.perf_counter()
    with mock.patch.object(preview_frames, "reduction", (lambda row: 1.0) if whole else stills):
        movie = play(reel, ".mp4", 2)
    took = time.perf_counter() - began
    if len(list(av.open(BytesIO(movie)).decode(video=0))) != reel.length:
        raise SystemExit("the movie is not whole")
    return took


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--frames", type=int, default=48)
    asked.add_argument("--rounds", type=int, default=3)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as at:
        folder = Path(at)
        make_stills(folder, options.frames)
        for name, on in (("a new still each frame", 1), ("on twos", 2)):
            reel = reel_of(folder, options.frames, on)
            playing = float(reel.length / reel.fps)
            seconds(reel, whole=False)
            took = [(seconds(reel, whole=False), seconds(reel, whole=True))
                    for _ in range(options.rounds)]  # fmt: skip
            reduced, whole = (
                playing / statistics.median(column) for column in zip(*took, strict=True)
            )
            print(f"{name}: plays {reduced:.2f} x as long as it takes; read whole {whole:.2f} x")


if __name__ == "__main__":
    main()
