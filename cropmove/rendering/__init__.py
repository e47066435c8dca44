"""Stills in, frames out."""
