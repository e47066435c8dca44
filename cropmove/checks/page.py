"""The page docs/checks.md, made of the registry and the limits: ``python -m cropmove.checks.page``.

Run it from the project's folder, and its output is what the page must say.
"""

from __future__ import annotations

from textwrap import fill

from cropmove.checks.facts import Check
from cropmove.checks.registry import CHECKS
from cropmove.limits import LIMITS, Limit

__all__ = ["page"]

_HEAD = """\
# Checks

`cropmove check SHOT` asks every question of this page and says what would go wrong, in which
frames, by how much, and what to change. Where numbers can mend it the remedy has them; applied,
they make the check pass. `cropmove check --explain ID` prints a check's reason and source.

This page is made from the checks themselves: `python -m cropmove.checks.page > docs/checks.md`.

Levels: a **note** is worth knowing, a **caution** is likely to be seen, a **fault** stops a render
unless it is allowed by name (`--allow ID`). The command ends with 0 where there are no faults, 1
where there is one, 2 for input that cannot be used.

Questions that read the stills' pixels are asked with `--stills`: every still is decoded once, at
a reduced size where its format offers that, and progress is told.
"""

_LIMITS = """\
## Limits

What the checks judge by. `cropmove check --limits` prints them, with a shot file those of that
shot. Any of them can be changed for one shot:

```toml
[limits]
crossing = 5          # seconds
title_safe = 80       # % of the frame
```

| limit | usually | from, to | unit | meaning | source |
|---|---|---|---|---|---|
"""

_JSON = """
## JSON

`cropmove check --json SHOT…` prints a list with an object for each shot file, in the order given:

| field | holds |
|---|---|
| `shot` | the path as given |
| `frames`, `fps`, `stills` | length, frames a second, number of stills; null for a bad file |
| `exit_code` | 0 clean or cautions only, 1 a fault in the move, 2 input that cannot be used |
| `findings` | a list, gravest first |
| `errors` | what is wrong with the file itself: objects of `where`, `value`, `rule` and `remedy` |

Each finding has all of these:

| field | holds |
|---|---|
| `id` | the check's, as on this page; it does not change between versions |
| `level` | `note`, `caution` or `fault` |
| `frames` | runs `[first, last]` of delivered frames, from 1; empty: the whole shot |
| `measured`, `limit` | what was measured and what would do, in `unit`; null where nothing was |
| `unit` | in words |
| `what` | what is wrong, in one sentence |
| `remedy` | what to change, with numbers |
| `figures` | the remedy's numbers, and whatever else was measured, by name |

`cropmove check --limits --json` prints a list of `{"shot", "limits"}`, each limit with `name`,
`value`, `usual`, `unit`, `reason` and `source`.
"""


def page() -> str:
    """The whole page, in Markdown.

    Examples
    --------
    >>> page().splitlines()[0]
    '# Checks'
    """
    checks = "\n".join(_check(check) for check in CHECKS.values())
    limits = "".join(_limit(limit) for limit in LIMITS.values())
    return f"{_HEAD}\n{checks}\n{_LIMITS}{limits}{_JSON}"


def _check(check: Check) -> str:
    asked = "; asked with `--stills`" if check.reads_pixels else ""
    limits = [LIMITS[name] for name in check.limits]
    judged = ", ".join(f"`{limit.name}` = {limit.value:g} {limit.unit}" for limit in limits)
    told = [f"- Source: {check.source}.", *([f"- Judged by: {judged}."] if judged else [])]
    lines = [
        f"### {check.id}",
        "",
        f"*{check.title}* (at most a {check.level}{asked})",
        "",
        fill(check.reason, 100),
        "",
        *(fill(line, 100, subsequent_indent="  ") for line in told),
        "",
    ]
    return "\n".join(lines)


def _limit(limit: Limit) -> str:
    cells = (
        f"`{limit.name}`",
        f"{limit.value:g}",
        f"{limit.low:g}, {limit.high:g}",
        limit.unit,
        limit.reason,
        limit.source,
    )
    return f"| {' | '.join(cells)} |\n"


if __name__ == "__main__":
    print(page(), end="")
