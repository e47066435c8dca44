"""Does a preview take less time than it plays? 24-megapixel JPEG stills, on ones and on twos.

    python tests/benchmarks/bench_preview.py [--frames 48] [--rounds 3]

For each: the first preview, for which large stills are read; a later one, which has the small ones
at hand; the first with every still, however long it takes; and the peer, every still decoded at
its full size. All are made in turn in the same run. Playing time over making time is printed:
above 1 the preview is there before it has been watched; the same as it would be on two processors
that nobody else uses, from the processor time of all threads together; and that time for a frame.
A first, warming round is not counted; every movie is opened again and its frames are counted.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from unittest import mock

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.previews import frames as preview_frames
from cropmove.previews.frames import Reel, ordinal, row_of
from cropmove.previews.kept import Kept
from cropmove.previews.movie import play
from cropmove.previews.source import Source
from cropmove.previews.thinned import every_nth, thinned
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import find_stills

sys.path.insert(0, str(Path(__file__).parent))
from bench_render import make_stills, remember_in


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


@dataclass(frozen=True, slots=True)
class Took:
    """What one preview took, in seconds."""

    clock: float
    processors: float


def took(reel: Reel, kept: Kept | None, *, whole: bool = False) -> Took:
    """The time that one preview takes."""
    import av

    small = preview_frames.reduction
    clock, processors = time.perf_counter(), time.process_time()
    with mock.patch.object(preview_frames, "reduction", (lambda row: 1.0) if whole else small):
        movie = play(reel, ".mp4", 2, kept=kept)
    result = Took(time.perf_counter() - clock, time.process_time() - processors)
    if len(list(av.open(BytesIO(movie)).decode(video=0))) != reel.length:
        raise SystemExit("the movie is not whole")
    return result


def round_of(reel: Reel, folder: Path) -> dict[str, Took]:
    """One of each, in turn."""
    with tempfile.TemporaryDirectory(dir=folder) as first, tempfile.TemporaryDirectory() as later:
        took(reel, Kept(Path(later)))
        return {
            "first": took(thinned(reel, every_nth(reel)), Kept(Path(first))),
            "later": took(reel, Kept(Path(later))),
            "first, every still": took(reel, None),
            "decoded whole": took(reel, None, whole=True),
        }


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--frames", type=int, default=48)
    asked.add_argument("--rounds", type=int, default=3)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as at:
        folder = Path(at)
        remember_in(folder / "cache")
        make_stills(folder, options.frames)
        for name, on in (("on ones", 1), ("on twos", 2)):
            reel = reel_of(folder, options.frames, on)
            took(reel_of(folder, 4, on), None)
            rounds = [round_of(reel, folder) for _ in range(options.rounds)]
            shown = every_nth(reel)
            for kind in rounds[0]:
                clock = statistics.median(one[kind].clock for one in rounds)
                busy = statistics.median(one[kind].processors for one in rounds)
                playing = float(reel.length / reel.fps)
                note = f", every {ordinal(shown)} still" if kind == "first" and shown > 1 else ""
                print(
                    f"{name}, {kind}{note}: plays {playing / clock:.2f} x as long as it takes; "
                    f"{2 * playing / busy:.2f} x if both processors were free; "
                    f"{busy / reel.length * 1e3:.0f} ms of processor time a frame"
                )


if __name__ == "__main__":
    main()
