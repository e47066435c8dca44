"""How long the checks of a moving shot of 480 frames take, against importing numpy.

Run it: ``python tests/benchmarks/bench_check.py``. It prints, from the same run, the median time
that Python takes to import numpy in a fresh process (less what it takes to start), the median time
of checking the shot without pixels, and the second over the first: below 1 is what is wanted.

The shot pushes in and pans over 480 frames, holds at both ends, watches a subject and stays clean,
as most shots do; then the same shot with a passed key, whose way is a curve, and one that has
findings, whose remedies are worked out and tried.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

ROUNDS = 9


def importing(statement: str) -> float:
    """Seconds that a fresh Python takes to run a statement."""
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", statement], check=True)
    return time.perf_counter() - began


def timed(job: Callable[[], object]) -> float:
    """Seconds that a job takes."""
    began = time.perf_counter()
    job()
    return time.perf_counter() - began


def shots() -> dict[str, object]:
    """A clean shot, the same through a passed key, and one with findings."""
    from cropmove.geometry import Size
    from cropmove.move.framing import Framing
    from cropmove.move.key import Key
    from cropmove.move.subject import Point, Subject
    from cropmove.shot import Delivery, Shot, Stills

    first = Key(frame=12, framing=Framing(x=2700, y=1900, width=5000))
    passed = Key(frame=240, framing=Framing(x=2950, y=2000, width=4200), stop=False)
    last = Key(frame=468, framing=Framing(x=3200, y=2050, width=3500))
    boat = Subject(
        points=(
            Point(frame=1, x=2600, y=1900, width=400, height=300),
            Point(frame=480, x=3000, y=2050),
        )
    )
    clean = Shot(
        name="bench",
        stills=Stills(size=Size(6000, 4000)),
        delivery=Delivery(size=Size(1920, 1080)),
        keys=(first, last),
        frames=480,
        subjects=(boat,),
    )
    hurried = replace(last, frame=60, ease_in=0)
    return {
        "clean": clean,
        "through a passed key": replace(clean, keys=(first, passed, last)),
        "with findings": replace(clean, keys=(first, hurried)),
    }


def main() -> None:
    """Print the times and their ratios."""
    from cropmove.checks.registry import findings_of

    made = shots()
    found = {name: len(findings_of(shot)) for name, shot in made.items()}
    assert found["clean"] == 0, "the clean shot has findings"
    assert found["with findings"] >= 2, "the other has not"
    numpy, checks = [], {name: [] for name in made}
    for _ in range(ROUNDS):
        numpy.append(importing("import numpy") - importing("pass"))
        for name, shot in made.items():
            checks[name].append(timed(lambda shot=shot: findings_of(shot)))
    print(f"importing numpy: {median(numpy) * 1e3:.1f} ms")
    for name, times in checks.items():
        ratio = median(times) / median(numpy)
        told = f"{found[name]} findings"
        print(f"480 frames, {name} ({told}): {median(times) * 1e3:.1f} ms, ratio {ratio:.2f}")


if __name__ == "__main__":
    main()
