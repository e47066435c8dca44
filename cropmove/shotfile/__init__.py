"""The shot file: text to `Shot` and back. Comments and order are the user's and stay.

All faults of a file are told at once, each with its place, value, rule and remedy.
"""

from cropmove.shotfile.files import load, place_text, save, source_from
from cropmove.shotfile.survey import Survey, survey_of
from cropmove.shotfile.text import WORDS, dumps, loads

__all__ = [
    "WORDS",
    "Survey",
    "dumps",
    "load",
    "loads",
    "place_text",
    "save",
    "source_from",
    "survey_of",
]
