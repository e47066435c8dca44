"""The move as it will play, small and soon."""
