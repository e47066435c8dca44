"""What stands on the table, where, and how the ferry crosses it.

Lengths are centimetres. x runs right, y up from the water, z away from the camera.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin

import numpy as np
import shapes as s
from noise import Table

Triple = tuple[float, float, float]

NO_COLOUR = (0.5, 0.5, 0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """One thing on the set: its shape, place, turn, sizes, colours, and the box that holds it."""

    kind: int
    at: Triple
    reach: tuple[Triple, Triple]
    sizes: tuple[float, ...] = ()
    turn: float = 0.0
    roll: float = 0.0
    colour: Triple = NO_COLOUR
    second: Triple = NO_COLOUR
    seed: int = 1

    def row(self) -> list[float]:
        """The thing as the numbers that compiled code reads."""
        low, high = self.box()
        sizes = (*self.sizes, *[0.0] * (8 - len(self.sizes)))
        turn, roll = self.turn * pi / 180, self.roll * pi / 180
        return [
            self.kind, *low, *high, *self.at, cos(turn), sin(turn), cos(roll), sin(roll),
            *sizes, *self.colour, *self.second, self.seed, 1,
        ]  # fmt: skip

    def box(self) -> tuple[list[float], list[float]]:
        """The corners of an upright box of the table that holds the thing."""
        (x0, y0, z0), (x1, y1, z1) = self.reach
        corners = np.array([(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)])
        x, y, z = corners.T
        c, d = cos(self.roll * pi / 180), sin(self.roll * pi / 180)
        x, y = c * x - d * y, d * x + c * y
        c, d = cos(self.turn * pi / 180), sin(self.turn * pi / 180)
        x, z = c * x + d * z, -d * x + c * z
        around = np.stack([x, y, z]) + np.array(self.at)[:, None]
        return around.min(1).tolist(), around.max(1).tolist()


def group(things: list[Thing]) -> list[list[float]]:
    """Rows for things that stand together, led by the row of a box that holds them all."""
    low = np.min([thing.box()[0] for thing in things], axis=0)
    high = np.max([thing.box()[1] for thing in things], axis=0)
    lead = [float(s.GROUP), *low, *high, *[0.0] * 22, len(things) + 1.0]
    return [lead, *[thing.row() for thing in things]]


def standing(half: float, high: float, deep: float | None = None) -> tuple[Triple, Triple]:
    """A box round something that stands on its foot: half width, height, half depth."""
    deep = half if deep is None else deep
    return (-half, -0.2, -deep), (half, high, deep)


def hanging(half: float, high: float, deep: float, thread: float) -> tuple[Triple, Triple]:
    """A box round something hung on a thread."""
    return (-half, -high, -deep), (half, thread, deep)


# ---- the set -----------------------------------------------------------------------------------

OCHRE, BRICK, CREAM = (0.56, 0.33, 0.10), (0.42, 0.11, 0.07), (0.66, 0.56, 0.40)
SLATE, SALMON, SAGE, TEAL = (0.13, 0.20, 0.30), (0.58, 0.25, 0.17), (0.24, 0.31, 0.17), (
    0.06, 0.22, 0.22,
)  # fmt: skip
RUST, SOOT, PLUM = (0.33, 0.10, 0.05), (0.085, 0.085, 0.10), (0.16, 0.075, 0.10)
MOSS, FIR = (0.10, 0.15, 0.05), (0.045, 0.12, 0.075)
DECK_HEIGHT = 2.2
TERRACE = 4.2


def house(
    x: float, z: float, foot: float, size: Triple, roof: float, windows: tuple[int, int],
    colour: Triple, tiles: Triple, seed: int, *, gable: bool = False, shop: float = 2.4,
    turn: float = 0.0,
) -> Thing:  # fmt: skip
    """A card house: size is width, height to the eaves, depth; windows are columns and rows."""
    w, h, t = size
    half = 0.5 * max(w, t) + 1.1
    return Thing(
        kind=s.HOUSE, at=(x, foot, z), turn=turn, colour=colour, second=tiles, seed=seed,
        sizes=(w, h, t, roof, windows[0], windows[1], float(gable), shop),
        reach=((-0.5 * w - 0.9, 0.0, -0.5 * t - 0.9), (0.5 * w + 0.9, h + roof + 2.0, half)),
    )  # fmt: skip


def street() -> list[Thing]:
    """Two rows of houses: seven along the quay and four looking over their roofs."""
    d, t = DECK_HEIGHT, TERRACE
    return [
        house(-42.5, 35, d, (7.4, 8.4, 7), 3.6, (2, 2), OCHRE, SOOT, 2, gable=True, turn=5),
        house(-33.3, 34, d, (9.2, 5.6, 6), 3.0, (3, 1), TEAL, RUST, 3, turn=2),
        house(-23.9, 34, d, (6.6, 10.4, 7), 4.2, (2, 3), BRICK, SOOT, 5, gable=True, turn=-2),
        house(-14.7, 35, d, (9.0, 6.8, 6), 3.1, (3, 2), CREAM, PLUM, 6, shop=2.2, turn=3),
        house(-6.1, 34, d, (6.0, 8.8, 7), 3.8, (2, 2), SLATE, RUST, 8, gable=True, turn=-3),
        house(2.1, 35, d, (8.0, 5.9, 6), 3.0, (3, 1), SALMON, SOOT, 9, turn=-1),
        house(10.2, 34, d, (5.2, 4.6, 6), 2.9, (1, 1), SAGE, RUST, 10, gable=True, turn=-6),
        house(-37.5, 46, t, (7.0, 10.2, 6), 3.4, (2, 3), CREAM, RUST, 11, shop=0.6, turn=-4),
        house(-19.2, 47, t, (7.6, 10.8, 6), 3.6, (3, 3), SALMON, PLUM, 13, shop=0.6, gable=True),
        house(-0.8, 47, t, (8.2, 9.4, 6), 3.4, (3, 3), OCHRE, SOOT, 14, shop=0.6, turn=4),
        house(10.6, 48, t, (5.8, 8.6, 6), 3.6, (2, 2), SLATE, PLUM, 17, shop=0.6, gable=True),
    ]


def hills() -> list[Thing]:
    """Three hills of felt, each bluer than the one before it."""
    rows = (
        (58, 16.5, 1, (0.105, 0.135, 0.05), (0.40, 0.40, 0.18)),
        (69, 23.0, 2, (0.085, 0.125, 0.105), (0.25, 0.34, 0.30)),
        (82, 28.0, 4, (0.12, 0.13, 0.19), (0.34, 0.32, 0.42)),
    )
    return [
        Thing(
            kind=s.HILL, at=(0, 0, z), sizes=(high,), seed=seed, colour=felt, second=thread,
            reach=((-90, -0.5, -0.7), (90, 1.08 * high, 0.7)),
        )
        for z, high, seed, felt, thread in rows
    ]  # fmt: skip


def staging(x: float, z: float, half: float, high: float, deep: float, plank: float,
            piles: float, seed: int) -> Thing:  # fmt: skip
    """A staging of planks: half its width, its height, half its depth; its piles this far apart."""
    return Thing(
        kind=s.QUAY, at=(x, 0, z), sizes=(half, high, deep, plank, piles), seed=seed,
        reach=((-half - 0.5, -1, -deep - 0.7), (half + 0.5, high + 0.4, deep + 0.2)),
    )  # fmt: skip


def skerry(x: float, z: float, size: Triple, seed: int) -> Thing:
    """A rock of papier-mâché."""
    a, b, c = size
    return Thing(
        kind=s.ROCK, at=(x, 0, z), sizes=size, colour=(0.20, 0.175, 0.16), seed=seed,
        reach=((-a - 0.9, -1, -c - 0.9), (a + 0.9, b + 0.6, c + 0.9)),
    )  # fmt: skip


def fir(x: float, y: float, z: float, high: float, seed: int) -> Thing:
    """A felt fir."""
    foot = 0.34 * high
    return Thing(
        kind=s.TREE, at=(x, y, z), sizes=(high, foot), colour=FIR, seed=seed, turn=40.0 * seed,
        reach=standing(foot + 0.5, high + 0.2),
    )  # fmt: skip


def woolly(x: float, y: float, z: float, high: float, r: float, colour: Triple, n: int) -> Thing:
    """A tree of woolly balls, of radius r."""
    return Thing(
        kind=s.POMPOM, at=(x, y, z), sizes=(high, r), colour=colour, seed=n, turn=50.0 * n,
        reach=standing(1.7 * r, high + 1.6 * r),
    )  # fmt: skip


def firs() -> list[Thing]:
    """The wood on the far rock."""
    return [
        fir(42.5, 3.4, 44, 9.5, 1), fir(47.0, 3.8, 47, 12.0, 2), fir(52.0, 3.8, 43, 8.5, 3),
        fir(56.0, 3.6, 48, 10.5, 4), fir(36.5, 2.0, 44, 6.5, 5),
    ]  # fmt: skip


def gardens() -> list[Thing]:
    """The trees between the houses."""
    autumn, olive = (0.42, 0.17, 0.035), (0.19, 0.19, 0.05)
    return [
        fir(-30.0, TERRACE, 50, 11.5, 6), fir(-46.5, TERRACE, 50, 12.5, 7),
        fir(-9.8, TERRACE, 51, 11.0, 8),
        woolly(-27.6, DECK_HEIGHT, 39, 6.4, 1.9, autumn, 1),
        woolly(5.4, TERRACE, 46, 6.2, 1.9, autumn, 3),
        woolly(-10.2, DECK_HEIGHT, 40, 5.2, 1.7, olive, 2),
        woolly(14.2, DECK_HEIGHT, 40.5, 4.4, 1.5, olive, 4),
    ]  # fmt: skip


def peg(x: float, y: float, z: float, turn: float, colour: Triple, size: float = 0.8) -> Thing:
    """Somebody on the quay."""
    return Thing(
        kind=s.PEG, at=(x, y, z), sizes=(size,), turn=turn, colour=colour,
        reach=standing(1.15 * size, 3.7 * size),
    )  # fmt: skip


def crate(x: float, y: float, z: float, half: float, turn: float, seed: int) -> Thing:
    """A crate of a half size, turned as somebody left it."""
    return Thing(
        kind=s.CRATE, at=(x, y, z), sizes=(half,), turn=turn, colour=(0.47, 0.30, 0.15), seed=seed,
        reach=standing(half + 0.1, 2 * half + 0.1),
    )  # fmt: skip


def barrel(x: float, y: float, z: float, high: float) -> Thing:
    """A barrel."""
    return Thing(
        kind=s.BARREL, at=(x, y, z), sizes=(high,), turn=31.0 * x,
        reach=standing(0.42 * high, high + 0.1),
    )  # fmt: skip


def post(x: float, y: float, z: float, high: float, r: float) -> Thing:
    """A mooring post of radius r."""
    return Thing(
        kind=s.POST, at=(x, y, z), sizes=(high, r), seed=2, reach=standing(1.4 * r, high + 0.3)
    )


POSTS = (-44.0, -32.0, -20.0, -8.0, 4.0)
POST_Z, POST_HIGH = 25.6, 5.6


def lights_along_quay() -> list[Thing]:
    """Wire lamp posts with strings of glass beads between them."""
    top = DECK_HEIGHT + POST_HIGH
    posts = [
        Thing(kind=s.LAMP, at=(x, DECK_HEIGHT, POST_Z), sizes=(POST_HIGH,),
              reach=((-0.5, 0, -0.9), (1.5, POST_HIGH + 0.6, 0.5)))
        for x in POSTS
    ]  # fmt: skip
    strings = [
        Thing(kind=s.GARLAND, at=(0.5 * (a + b), top, POST_Z),
              sizes=(b - a, 1.3 + 0.2 * (n % 2), 7),
              reach=((-6.1, -2.2, -0.35), (6.1, 0.1, 0.35)))
        for n, (a, b) in enumerate(pairwise(POSTS))
    ]  # fmt: skip
    return [*strings, *posts]


def landing_stage() -> list[Thing]:
    """The corner of a landing stage close to the camera, out of focus."""
    high = 2.7
    return [
        staging(-22.0, -37.0, 9.2, high, 7.0, 1.5, 4.4, 8),
        post(-15.2, high, -32.6, 4.2, 0.72), barrel(-21.4, high, -35.2, 3.3),
        crate(-18.6, high, -33.5, 1.15, 18, 3), crate(-18.4, high + 2.3, -33.3, 0.8, 40, 5),
    ]  # fmt: skip


def quayside_left() -> list[Thing]:
    """People and cargo on the left of the quay."""
    d = DECK_HEIGHT
    return [
        peg(-27.0, d, 26.6, 100, BRICK), peg(-25.2, d, 26.9, 75, TEAL, 0.62),
        crate(-17.2, d, 26.8, 0.75, 12, 2), crate(-15.4, d, 27.2, 0.9, -8, 4),
        crate(-16.3, d + 1.5, 27.0, 0.6, 30, 7), crate(-38.8, d, 26.9, 0.8, 15, 9),
        barrel(-13.4, d, 26.6, 1.9), barrel(-37.0, d, 26.6, 1.9),
    ]  # fmt: skip


def quayside_right() -> list[Thing]:
    """People and cargo on the right of the quay."""
    d = DECK_HEIGHT
    return [
        peg(-3.0, d, 26.2, 60, OCHRE), peg(9.0, d, 27.0, 30, SLATE),
        crate(7.2, d, 27.0, 0.7, 20, 8), barrel(0.6, d, 26.4, 1.9), barrel(2.1, d, 27.2, 1.9),
    ]  # fmt: skip


def light_on_its_rock() -> list[Thing]:
    """The lighthouse."""
    tower = Thing(
        kind=s.LIGHTHOUSE, at=(27.0, 2.5, 26.0), sizes=(12.6, 2.3), turn=8,
        reach=standing(3.0, 17.2),
    )  # fmt: skip
    return [skerry(27.5, 25, (9.8, 3.9, 6.4), 3), tower]


def afloat() -> list[Thing]:
    """What lies at its moorings: two rowing boats and two buoys."""
    rowing = [
        Thing(kind=s.ROWING_BOAT, at=(x, 0.0, z), sizes=(a,), turn=turn, roll=2, colour=colour,
              reach=((-a - 0.3, -0.6, -0.5 * a), (a + 0.3, 0.5 * a, 0.5 * a)))
        for x, z, a, turn, colour in (
            (-27.0, 15.5, 3.6, -14, (0.50, 0.30, 0.06)), (9.5, 21.0, 3.0, 24, (0.09, 0.17, 0.30)),
        )
    ]  # fmt: skip
    buoys = [
        Thing(kind=s.BUOY, at=(x, 0.0, z), sizes=(a,), roll=roll, turn=25,
              colour=(0.55, 0.09, 0.03),
              reach=((-1.3 * a, -a, -1.3 * a), (1.5 + 0.3 * a, 3.6 * a + 0.2, 1.3 * a)))
        for x, z, a, roll in ((20.5, -14.0, 1.15, -7), (-9.5, -22.0, 0.95, 6))
    ]  # fmt: skip
    return [*rowing, *buoys]


def overhead() -> list[Thing]:
    """Moon, clouds and gulls, all on threads."""
    clouds = [
        Thing(kind=s.CLOUD, at=at, sizes=(a, b), seed=n,
              reach=hanging(1.5 * a, 2.2 * b, 2.5 * b, 40))
        for at, a, b, n in (
            ((-38, 35.5, 92), 13, 2.7, 1), ((52, 31.0, 93), 11, 2.3, 4),
            ((-2, 41.0, 95), 8, 1.7, 8),
        )
    ]  # fmt: skip
    gulls = [
        Thing(kind=s.GULL, at=at, sizes=(a,), turn=turn, roll=roll,
              reach=hanging(a, 0.5 * a, a, 30))
        for at, a, turn, roll in (((1.0, 23.2, 22), 2.1, 24, -3), ((8.0, 26.2, 30), 1.8, -15, 2))
    ]  # fmt: skip
    moon = Thing(kind=s.MOON, at=(26, 34.5, 97), sizes=(4.4,), reach=hanging(4.5, 4.5, 0.4, 40))
    return [*gulls, *clouds, moon]


# ---- the ferry ---------------------------------------------------------------------------------

STILLS = 24
START, END = (-17.0, 3.0), (12.5, 0.5)


def progress(still: int) -> float:
    """How far across the ferry is at a still, 0 to 1: away gently, and longer in slowing down.

    Speed climbs as a sine over the first third of the way in time and falls over the rest.
    """
    t, peak = (still - 1) / (STILLS - 1), 0.36
    if t < peak:
        return _gather(t, peak)
    return 1.0 - _gather(1.0 - t, 1.0 - peak)


def _gather(t: float, span: float) -> float:
    """The way covered while speed climbs as a raised cosine from rest to its peak over `span`."""
    return t - span / pi * sin(pi * t / span)


def ferry(still: int) -> Thing:
    """The ferry at a still, riding the swell: up and down, bow up and bow down."""
    p = progress(still)
    beat = 2.0 * pi * (still - 1) / 12.0
    x, z = START[0] + p * (END[0] - START[0]), START[1] + p * (END[1] - START[1])
    return Thing(
        kind=s.BOAT, at=(x, -0.05 + 0.13 * sin(beat), z), turn=7.0 + 8.0 * p,
        roll=1.7 * sin(beat + 1.2),
        reach=((-7.6, -0.9, -3.5), (7.4, 11.2, 3.5)),
    )  # fmt: skip


def table(still: int | None) -> Table:
    """Every thing on the set as rows of numbers, the ferry last; without it where still is None."""
    rows = [row for things in parts_of_set() for row in group(things)]
    return np.array([*rows, ferry(still).row()] if still else rows)


def parts_of_set() -> list[list[Thing]]:
    """The empty set, in groups of things that stand close together."""
    front, back = street()[:7], street()[7:]
    alone = [*afloat(), skerry(17.8, 19.0, (3.0, 1.7, 2.2), 11), *hills()]
    return [
        landing_stage(),
        quayside_left(),
        quayside_right(),
        lights_along_quay(),
        light_on_its_rock(),
        [staging(-19.0, 36.0, 33.5, DECK_HEIGHT, 11.5, 1.15, 5.4, 4)],
        front,
        [staging(-17.0, 48.5, 34.5, TERRACE, 5.5, 1.4, 60, 6), *back, *gardens()],
        [skerry(50.0, 47, (17, 5.2, 8.0), 7), *firs()],
        *[[thing] for thing in alone],
        overhead(),
    ]


def carried(ferry_: Thing, point: Triple) -> Triple:
    """A point of the ferry as a point of the table."""
    x, y, z = point
    c, d = cos(ferry_.roll * pi / 180), sin(ferry_.roll * pi / 180)
    x, y = c * x - d * y, d * x + c * y
    c, d = cos(ferry_.turn * pi / 180), sin(ferry_.turn * pi / 180)
    x, z = c * x + d * z, -d * x + c * z
    return x + ferry_.at[0], y + ferry_.at[1], z + ferry_.at[2]


def lamps(still: int | None) -> Table:
    """The little lamps: place, colour, reach. Posts, shop fronts, lighthouse; the ferry's own."""
    amber, gold = (1.5, 0.80, 0.28), (1.15, 0.55, 0.16)
    rows = [(x + 0.75, DECK_HEIGHT + POST_HIGH - 0.3, POST_Z - 0.2, *amber, 11.0) for x in POSTS]
    rows += [(x, 4.6, 28.4, *gold, 8.0) for x in (-42.0, -33.5, -24.0, -14.6, -6.0, 2.0, 10.0)]
    rows += [(27.0, 16.4, 22.4, 2.2, 1.4, 0.6, 14.0)]
    if still:
        ship = ferry(still)
        rows += [(*carried(ship, (2.55, 7.0, -0.85)), 1.7, 0.95, 0.34, 10.5)]
        rows += [(*carried(ship, (-0.2, 3.4, -2.6)), 0.8, 0.4, 0.13, 6.0)]
    return np.array(rows)
