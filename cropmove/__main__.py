"""``python -m cropmove``."""

from cropmove.cli import main

if __name__ == "__main__":
    main()
