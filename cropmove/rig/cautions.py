"""The usual cautions beside a rig, chosen by what is moved. They replace no local rule."""

from __future__ import annotations

from collections.abc import Iterable

from cropmove.rig.rig import Rig

__all__ = ["ALWAYS", "BEFORE", "CAUTIONS", "DEFERS", "cautions_for", "told_before"]

BEFORE = "Before you start"
"""What stands over the cautions wherever they are told."""

CAUTIONS: dict[str, str] = {
    "lamps": "Lamps get hot: keep paper, film, foam and hands off them, and let them cool before "
    "you move them.",
    "mains": "Mains leads: tape them down out of the way of feet and of whatever moves, and keep "
    "water, even painted water, well away.",
    "raised": "A raised or heavy camera, or anything else that hangs or is lifted, has a second "
    "fixing (a safety wire or strap) before anyone reaches under it; nobody climbs what is not "
    "made for climbing.",
    "fingers": "A set that moves pinches: hands off the edges and the pivot before it is pushed, "
    "and one person alone says go.",
    "blades": "Cut templates away from the hand, on a mat, and put the blade back in its sheath.",
    "fumes": "Spray adhesives and solvents: open a window, no flame or hot lamp near.",
    "shadows": "Shadows and highlights move with a set that turns or slides under still lamps: fix "
    "the lamps to the board, light it softly from all round, or move the camera instead.",
}
"""Each caution by its name. Common practice, no source."""

ALWAYS = ("lamps", "mains", "blades", "fumes")
"""The cautions for any set with paper templates and lamps."""

DEFERS = (
    "These are the usual cautions. Local codes come first, and so do the people licensed for "
    "electrics, rigging and work at height."
)


def cautions_for(rigs: Iterable[Rig]) -> tuple[str, ...]:
    """The cautions that go with things moved by hand, in the order of `CAUTIONS`.

    Examples
    --------
    >>> from cropmove.rig.motion import MOTIONS
    >>> from cropmove.rig.scale import Scale
    >>> board = Rig(name="board", motion=MOTIONS["set turn"], scale=Scale(angular=True, radius=200),
    ...             start=0, end=20)
    >>> any(text.startswith("Shadows") for text in cautions_for([board]))
    True
    """
    motions = [rig.motion for rig in rigs]
    wanted = set(ALWAYS)
    if any(motion.mover == "camera" or motion.way == "up" for motion in motions):
        wanted.add("raised")
    if any(motion.mover == "set" for motion in motions):
        wanted |= {"fingers", "shadows"}
    return tuple(text for name, text in CAUTIONS.items() if name in wanted)


def told_before(rigs: Iterable[Rig]) -> tuple[str, ...]:
    """All that is told before the first setting: the cautions, and to whom they defer."""
    return (*cautions_for(rigs), DEFERS)
