"""Things moved by hand: a lens's geometry, and marks on a rule, an arc or a screw. Numbers only."""
