"""What would go wrong, in which frames, and what to change."""
