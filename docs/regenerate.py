"""Make the pictures and tables in docs anew: ``python docs/regenerate.py``."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

DOCS = Path(__file__).parent


def main() -> None:
    """Run each of the makers, from the repository's root."""
    page = subprocess.run(
        [sys.executable, "-m", "cropmove.checks.page"], check=True, capture_output=True
    )
    (DOCS / "checks.md").write_bytes(page.stdout)
    for script in ("pictures/draw.py", "measure_kernels.py"):
        subprocess.run([sys.executable, str(DOCS / script)], check=True, cwd=DOCS.parent)


if __name__ == "__main__":
    main()
