"""The whole job beside its peers, in one run: 24-megapixel JPEG stills in, 1080p frames out.

    python tests/benchmarks/bench_render.py [--rounds 3] [--frames 96] [--save docs/performance.md]

Each pipeline runs in a process of its own, in turn, for several rounds; a table gives the ratios
of the medians. The clock runs from the first decode to the last file written; imports, and the
loading of what was compiled once, are outside it for all alike. Files are kept in memory where the
system has that. A virtual machine gives back what memory it does not use, and may take longer to
get it again than to fill it: frames are written over those of the run before, and memory for the
processes is asked for and let go just before each run.

cropmove decodes a still whole when it reads it for the first time, and later only as far down as
its frames need. So each round renders with nothing remembered, and once more right after that.
What it remembers lies in a folder of the benchmark's own, wherever XDG_CACHE_HOME is gone by
(Linux, macOS).

The peers are straightforward two-thread scripts. OpenCV and libvips crop on whole pixels and
average code values, which is less than the job asks: they jitter by up to half a pixel and darken
fine patterns. Pillow's box is exact, in code values.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import shutil
import statistics
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import groupby
from pathlib import Path

import numpy as np

SIZE = (1920, 1080)
STILL = (6000, 4000)
WIDTHS = (5600.0, 2600.0)
WORKERS = 2
JOBS = {"a new still each frame": 1, "on twos": 2, "one still": 0}
"""Frames a still is held; 0 for one still throughout."""
FIRST, AGAIN = "cropmove", "cropmove again"
"""With stills that were never read before, and with the same stills once more."""

Box = tuple[float, float, float, float]
Work = list[tuple[Path, list[tuple[Box, Path]]]]
"""Stills, and what is to be made of each."""


# ---------------------------------------------------------------- stills and the work


def make_stills(folder: Path, count: int, distinct: int = 4) -> None:
    """Stills that compress like photographs: detail that falls off with its fineness, and grain.

    The pictures come again and again, each time in a file that has a comment of its own.
    """
    import simplejpeg

    rng = np.random.default_rng(24)
    pictures = []
    for _ in range(distinct):
        spectrum = np.fft.rfft2(rng.standard_normal((2000, 3000)))
        fy, fx = np.fft.fftfreq(2000)[:, None], np.fft.rfftfreq(3000)[None]
        soft = np.fft.irfft2(spectrum / np.maximum(np.hypot(fx, fy), 2e-4) ** 1.1, s=(2000, 3000))
        grey = np.kron(soft / soft.std() * 45 + 120, np.ones((2, 2)))
        tint = np.array([1.05, 1.0, 0.9])
        pixels = grey[..., None] * tint + rng.normal(0, 2.5, (4000, 6000, 1))
        codes = np.clip(pixels, 0, 255).astype(np.uint8)
        pictures.append(simplejpeg.encode_jpeg(codes, quality=93, colorsubsampling="420"))
    for number in range(count):
        data = pictures[number % distinct]
        comment = b"\xff\xfe" + struct.pack(">H4s", 6, b"%04d" % number)  # ITU-T T.81, B.2.4.5
        (folder / f"still_{number + 1:03d}.jpg").write_bytes(data[:2] + comment + data[2:])


def shot_text(stills: str, frames: int, held: int, fmt: str = "png", depth: int = 8) -> str:
    """The shot that all pipelines render: a push in that drifts across."""
    return (
        f'[shot]\nstills = "{stills}"\non = {held or 1}\nframes = {frames}\n'
        f'[delivery]\nsize = {list(SIZE)}\nformat = "{fmt}"\ndepth = {depth}\n'
        f"[[key]]\nframe = 1\ncentre = [2900, 1990]\nwidth = {WIDTHS[0]}\n"
        f"[[key]]\nframe = {frames}\ncentre = [3300, 2210]\nwidth = {WIDTHS[1]}\n"
    )


def work_of(shot_file: Path, out: Path) -> Work:
    """The same course for every peer, as boxes."""
    import cropmove

    shot = cropmove.load(shot_file)
    course = shot.course()
    frames = [
        (
            shot.stills.refs[course.still[frame - 1] - 1].path,
            (course[frame].box(course.delivery), out / f"frame.{frame:04d}.png"),
        )
        for frame in range(1, len(course) + 1)
    ]
    return [(p, [item for _, item in group]) for p, group in groupby(frames, key=lambda f: f[0])]


def spread(work: Work, decode: Callable, frame: Callable) -> None:
    """Two threads: on different stills, or on different frames where there is only one."""
    with ThreadPoolExecutor(WORKERS) as pool:
        if len(work) == 1:
            path, items = work[0]
            still = decode(path)
            list(pool.map(lambda item: frame(still, *item), items))
            return

        def one(job: tuple[Path, list[tuple[Box, Path]]]) -> None:
            still = decode(job[0])
            for item in job[1]:
                frame(still, *item)

        list(pool.map(one, work))


# ---------------------------------------------------------------- the pipelines


def run_cropmove(shot_file: Path, out: Path) -> Callable[[], None]:
    import simplejpeg  # noqa: F401

    import cropmove
    from cropmove import jobs
    from cropmove.rendering import deliver, made, orders  # noqa: F401
    from cropmove.rendering.ready import make_ready

    shot = cropmove.load(shot_file)
    make_ready(shot.delivery.encoding, rolled=False)
    for record in out.glob("*.jsonl"):  # or nothing would be left to do
        record.unlink()
    return lambda: jobs.render(shot, out=out, workers=WORKERS, overwrite=True)


def run_pillow(shot_file: Path, out: Path) -> Callable[[], None]:
    from PIL import Image

    def decode(path: Path):
        image = Image.open(path)
        image.load()
        return image

    def frame(still, box: Box, path: Path) -> None:
        still.resize(SIZE, Image.Resampling.LANCZOS, box=box).save(path, compress_level=1)

    work = work_of(shot_file, out)
    return lambda: spread(work, decode, frame)


def run_opencv(shot_file: Path, out: Path) -> Callable[[], None]:
    import cv2

    cv2.setNumThreads(1)

    def frame(still, box: Box, path: Path) -> None:
        left, top, right, bottom = map(round, box)
        small = cv2.resize(still[top:bottom, left:right], SIZE, interpolation=cv2.INTER_AREA)
        cv2.imwrite(str(path), small, [cv2.IMWRITE_PNG_COMPRESSION, 1])

    work = work_of(shot_file, out)
    return lambda: spread(work, lambda path: cv2.imread(str(path)), frame)


def run_libvips(shot_file: Path, out: Path) -> Callable[[], None]:
    os.environ["VIPS_CONCURRENCY"] = "1"
    import pyvips

    pyvips.cache_set_max(0)

    def decode(path: Path):
        # Decoded whole where it serves several frames, streamed where it serves one.
        image = pyvips.Image.new_from_file(str(path), access="sequential")
        return image if held == 1 else image.copy_memory()

    def frame(still, box: Box, path: Path) -> None:
        left, top, right, bottom = map(round, box)
        part = still.crop(left, top, right - left, bottom - top)
        small = part.resize(SIZE[0] / part.width, vscale=SIZE[1] / part.height, kernel="lanczos3")
        small.pngsave(str(path), compression=1)

    work = work_of(shot_file, out)
    held = max(len(items) for _, items in work)
    return lambda: spread(work, decode, frame)


PIPELINES = {
    FIRST: run_cropmove,
    AGAIN: run_cropmove,
    "libvips": run_libvips,
    "OpenCV": run_opencv,
    "Pillow": run_pillow,
}


def alone(name: str, shot_file: str, out: str) -> None:
    """Run one pipeline in this process and print what it took."""
    folder = Path(out)
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.iterdir():
        os.utime(old, (0, 0))
    job = PIPELINES[name](Path(shot_file), folder)
    began = time.perf_counter()
    job()
    seconds = time.perf_counter() - began
    frames = [path for path in folder.iterdir() if path.suffix in (".png", ".tif")]
    made = sum(path.stat().st_mtime > 0 for path in frames)
    peak = _peak_megabytes()
    print(json.dumps({"seconds": seconds, "frames": made, "peak": peak}))


def _peak_megabytes() -> float:
    """Of this process alone: Linux's resource usage also counts the process that started it."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


# ---------------------------------------------------------------- the table


def remember_in(folder: Path) -> None:
    """Let this process and those it starts keep there what can be made again."""
    os.environ["XDG_CACHE_HOME"] = str(folder)


def forget() -> None:
    """Empty that folder."""
    shutil.rmtree(os.environ["XDG_CACHE_HOME"], ignore_errors=True)


def have_memory(megabytes: int = 1024) -> None:
    """See to it that so much is at hand for the next process."""
    np.ones(megabytes << 20, np.uint8)


def measured(name: str, shot_file: Path, out: Path, frames: int) -> tuple[float, float]:
    """Seconds and peak megabytes of one run, its frames counted."""
    if name != AGAIN:
        forget()
    have_memory()
    done = subprocess.run(
        [sys.executable, __file__, "--alone", name, str(shot_file), str(out)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    told = json.loads(done.stdout.splitlines()[-1])
    if told["frames"] != frames:
        raise SystemExit(f"{name} made {told['frames']} of {frames} frames")
    return told["seconds"], told["peak"]


def deeper(folder: Path, rounds: int, frames: int) -> list[str]:
    """What 16 bits cost, a new still each frame: cropmove beside itself, in turn."""
    shots = {}
    for name, fmt, depth in (
        ("8-bit PNG", "png", 8), ("16-bit PNG", "png", 16), ("16-bit TIFF", "tiff", 16),
    ):  # fmt: skip
        shots[name] = folder / f"{fmt}{depth}.toml"
        shots[name].write_text(shot_text("stills", frames, 1, fmt, depth))
    taken: dict[str, list[float]] = {name: [] for name in shots}
    for _ in range(rounds):
        for name, shot in shots.items():
            taken[name].append(measured(FIRST, shot, folder / "out", frames)[0])
    shutil.rmtree(folder / "out")
    medians = {name: statistics.median(seconds) for name, seconds in taken.items()}
    first, *others = medians
    told = " and ".join(f"{name} {medians[name] / medians[first]:.2f}" for name in others)
    return [f"Against {first} in the same job, a new still each frame: {told} times the time."]


def stages(shot_file: Path) -> dict[str, tuple[float, float]]:
    """Milliseconds of each part of a cropmove frame, over the whole move.

    On one thread with the other idle, and a frame's share with two threads at it, each on pictures
    of its own: they share the memory.
    """
    import cropmove
    from cropmove.formats import Encoding
    from cropmove.rendering.encode import in_pieces
    from cropmove.rendering.frame import frame_of
    from cropmove.rendering.look import look_of
    from cropmove.scratch import Scratch
    from cropmove.stills.read import read_pixels

    shot = cropmove.load(shot_file)
    course, refs = shot.course(), shot.stills.refs
    look, png = look_of(shot.delivery, course), Encoding(format="png")
    framings = [course[frame] for frame in range(1, len(course) + 1, 8)]
    target = shot_file.with_name("stage.png")

    def parts_of(thread: int) -> dict[str, Callable[[int], object]]:
        """The parts of frame i on one thread, with memory of its own."""
        scratch, ref = Scratch(), refs[thread]
        pixels = read_pixels(ref)
        pictures = [frame_of(pixels, framing, look) for framing in framings]
        files = [b"".join(in_pieces(picture, png, scratch)) for picture in pictures]
        own = target.with_stem(f"stage{thread}")

        def decode(_: int) -> None:
            # A still that is new to cropmove, as in the pipeline that the parts stand beside.
            remember_in(Path(tempfile.mkdtemp(dir=shot_file.parent)))
            read_pixels(ref, out=pixels)

        return {
            "decode": decode,
            "resample": lambda i: frame_of(pixels, framings[i], look, scratch=scratch),
            "encode": lambda i: in_pieces(pictures[i], png, scratch),
            "write": lambda i: own.write_bytes(files[i]),
        }

    benches = [parts_of(thread) for thread in range(WORKERS)]

    def seconds(parts: list[Callable[[int], object]]) -> float:
        """Of all frames' parts, each thread doing its own, for one frame of them all."""

        def all_frames(part: Callable[[int], object]) -> None:
            for i in range(len(framings)):
                part(i)

        with ThreadPoolExecutor(len(parts)) as pool:
            began = time.perf_counter()
            list(pool.map(all_frames, parts))
            return (time.perf_counter() - began) / len(framings) / len(parts)

    def each(name: str, threads: int) -> float:
        return 1000 * seconds([bench[name] for bench in benches[:threads]])

    return {name: (each(name, 1), each(name, WORKERS)) for name in benches[0]}


def machine() -> str:
    cpu = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        names = [
            line.split(":")[1].strip()
            for line in info.read_text().splitlines()
            if "model name" in line
        ]
        cpu = names[0] if names else cpu
    return f"{os.cpu_count()} x {cpu}, Python {platform.python_version()}, {platform.system()}"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--rounds", type=int, default=3)
    options.add_argument("--frames", type=int, default=96)
    options.add_argument("--peers", default="libvips,OpenCV,Pillow")
    options.add_argument("--save", type=Path)
    options.add_argument("--alone", nargs=3)
    chosen = options.parse_args()
    if chosen.alone:
        alone(*chosen.alone)
        return
    base = Path("/dev/shm") if Path("/dev/shm").is_dir() else None
    with tempfile.TemporaryDirectory(dir=base) as name:
        remember_in(Path(name) / "cache")
        lines = compare(Path(name), chosen.rounds, chosen.frames, chosen.peers.split(","))
    print("\n".join(lines))
    if chosen.save:
        chosen.save.write_text("\n".join(lines) + "\n")


def row(job: str, frames: int, taken: list[list[tuple[float, float]]]) -> str:
    """A line of the table, from the runs of cropmove and of each peer."""
    ours, *others = [statistics.median(t for t, _ in runs) for runs in taken]
    cells = [
        job,
        *(f"{frames / seconds:.1f}" for seconds in (ours, *others)),
        *(f"{seconds / ours:.2f}" for seconds in others),
        ", ".join(f"{max(peak for _, peak in runs):.0f}" for runs in taken),
    ]
    return "| " + " | ".join(cells) + " |"


def compare(folder: Path, rounds: int, frames: int, peers: list[str]) -> list[str]:
    (folder / "stills").mkdir()
    make_stills(folder / "stills", frames)
    names = [FIRST, *peers]
    lines = [
        f"Measured on {machine()}; medians of {rounds} rounds of {frames} frames, two threads.",
        "",
        "| job | " + " | ".join(f"{n}, frames/s" for n in names) + " | "
        + " | ".join(f"times {n}" for n in peers) + " | peak MB (" + ", ".join(names) + ") |",
        "|---" * (2 * len(names) + 1) + "|",
    ]  # fmt: skip
    pace, parts = {}, []
    for job, held in JOBS.items():
        shot = folder / f"job{held}.toml"
        stills = "stills" if held else "stills/still_001.jpg"
        shot.write_text(shot_text(stills, frames, held))
        told = {FIRST: job, AGAIN: f"{job}, stills read before"} if held else {FIRST: job}
        taken: dict[str, list[tuple[float, float]]] = {n: [] for n in (*told, *peers)}
        for _ in range(rounds):
            for n in taken:
                taken[n].append(measured(n, shot, folder / "out", frames))
            if held == 1:  # in turn with the pipeline they stand beside
                parts.append(stages(shot))
        shutil.rmtree(folder / "out")
        pace[held] = statistics.median(t for t, _ in taken[FIRST]) / frames
        lines += [row(told[ours], frames, [taken[n] for n in (ours, *peers)]) for ours in told]
    lines += ["", *deeper(folder, rounds, frames)]
    lines += ["", "| stage of a frame | ms on one thread | ms a frame on two |", "|---|---|---|"]
    middle = {
        name: [statistics.median(times) for times in zip(*(p[name] for p in parts), strict=True)]
        for name in parts[0]
    }
    lines += [f"| {name} | {one:.1f} | {two:.1f} |" for name, (one, two) in middle.items()]
    alone, together = (sum(times) for times in zip(*middle.values(), strict=True))
    took = pace[1] * 1000
    lines += [
        "",
        f"With a new still each frame the pipeline takes {took:.1f} ms a frame. The parts, each "
        f"run by both threads at once, take {together:.1f}: it keeps {together / took:.2f} of "
        f"their pace, and {alone / WORKERS / took:.2f} of what two threads would have that did "
        "not share the machine's memory.",
    ]
    return lines


if __name__ == "__main__":
    main()
