"""Tapes: a tick for every still at its true place, straight for a rule, bent for an arc or a rim.

A tape shows the exact places, not the rounded readings. It is cut along its edge, where the pointer
runs; where it is longer than the paper, pieces are laid cross on cross.
"""
