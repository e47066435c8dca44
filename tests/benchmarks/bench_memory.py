"""Does memory grow with the length of a shot? Peak memory of renders of 100 to 10,000 frames.

    python tests/benchmarks/bench_memory.py [--frames 100 1000 10000] [--formats png jpeg]

Eight small stills come again and again under other names (hard links), a new one each frame of a
slow pan. Every render runs in a process of its own. Its peer is a process that does the same for
the fewest frames, in the same run: what is printed beside each peak is how many bytes each further
frame has cost. All frames are counted, and the last one is opened.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

STILL = (1200, 800)
DELIVERED = (320, 180)

WORK = """
import resource, sys
from cropmove import load, render
done = render(load(sys.argv[1]), out=sys.argv[2], workers=2)
assert not done.trouble, done.trouble
unit = 1 if sys.platform == "darwin" else 1024
print(done.made, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit)
"""


def make_stills(folder: Path, count: int, different: int = 8) -> None:
    """Stills of noise on a gradient, `different` pictures under `count` names."""
    y, x = np.mgrid[: STILL[1], : STILL[0]]
    ramp = 40 + 0.08 * x + 0.1 * y
    for number in range(min(count, different)):
        grain = np.random.default_rng(number).normal(0, 12, (STILL[1], STILL[0], 3))
        codes = np.clip(ramp[..., None] + grain, 0, 255).astype(np.uint8)
        Image.fromarray(codes).save(folder / f"still_{number + 1:05}.jpg", quality=88)
    for number in range(different, count):
        source = folder / f"still_{number % different + 1:05}.jpg"
        os.link(source, folder / f"still_{number + 1:05}.jpg")


def shot_text(frames: int, format: str) -> str:
    """A pan over the whole length."""
    return f"""
[shot]
stills = "stills/*.jpg"
fps = 24
[delivery]
size = [{DELIVERED[0]}, {DELIVERED[1]}]
format = "{format}"
[[key]]
frame = 1
centre = [420, 400]
width = 800
[[key]]
frame = {frames}
centre = [780, 400]
width = 800
ease = "even"
"""


def peak(frames: int, format: str) -> int:
    """The peak memory of one render, in bytes."""
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as at:
        folder = Path(at)
        (folder / "stills").mkdir()
        make_stills(folder / "stills", frames)
        shot = folder / "long.toml"
        shot.write_text(shot_text(frames, format))
        command = [sys.executable, "-c", WORK, str(shot), str(folder / "out")]
        own = os.environ | {"XDG_CACHE_HOME": str(folder / "cache")}
        done = subprocess.run(command, check=True, capture_output=True, text=True, env=own)
        told = done.stdout.split()
        suffix = {"png": ".png", "jpeg": ".jpg"}[format]
        written = sorted((folder / "out").glob(f"*{suffix}"))
        if int(told[0]) != frames or len(written) != frames:
            raise SystemExit(f"{told[0]} frames made, {len(written)} there, of {frames}")
        if Image.open(written[-1]).size != DELIVERED:
            raise SystemExit("a frame has another size")
        return int(told[1])


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--frames", type=int, nargs="+", default=[100, 1000, 10_000])
    asked.add_argument("--formats", nargs="+", default=["png", "jpeg"])
    options = asked.parse_args()
    print("| format | frames | peak MB | bytes for each further frame |")
    print("|---|---|---|---|")
    for format in options.formats:
        peak(options.frames[0], format)  # compiles what is not compiled yet; not counted
        least = peak(options.frames[0], format)
        for frames in options.frames:
            most = least if frames == options.frames[0] else peak(frames, format)
            more = (most - least) / (frames - options.frames[0]) if most is not least else 0
            each = f"{more:.0f}" if frames > options.frames[0] else ""
            print(f"| {format} | {frames} | {most / 1e6:.0f} | {each} |", flush=True)


if __name__ == "__main__":
    main()
