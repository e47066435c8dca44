"""The move: framings, keys, eases, paths, and the course they make. Numbers only."""
